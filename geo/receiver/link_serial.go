package receiver

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"go.bug.st/serial"
)

func mode(baud int) *serial.Mode { return &serial.Mode{BaudRate: baud, DataBits: 8} }

// bauds are the rates tried where none is given, those that receivers are
// mostly set to first. Judgement.
var bauds = []int{115200, 38400, 9600, 4800, 57600, 19200, 230400, 460800}

const (
	// tryFor is how long a rate is tried: a receiver at 1 Hz has sent a sentence by then.
	// TestSerialFindsBaudOfASlowReceiver fails where it is halved. Above 1 s it is judgement:
	// all rates together take eight times as long, and no test is meant to notice more.
	tryFor = 1300 * time.Millisecond
	// garbage is how many bytes without a sentence among them show that a rate
	// is wrong: more than two of the longest sentences in use. garbageFor is how
	// long they must have come where the rate was right before. Judgement; no test holds
	// either closely.
	garbage    = 400
	garbageFor = 5 * time.Second
)

// A portLink is a serial port that is open. It is closed only by the goroutine
// that reads it.
type portLink struct {
	serial.Port
	name string
	baud int // as given; 0: to be found
	last int // found before
}

// openPort opens a port at the rate given, else at the one found before.
func openPort(name string, baud, last int) (link, error) {
	first := baud
	if first == 0 {
		first = last
	}
	if first == 0 {
		first = bauds[0]
	}
	p, err := serial.Open(name, mode(first))
	if err != nil {
		return nil, portError(name, err)
	}
	return &portLink{Port: p, name: name, baud: baud, last: last}, nil
}

// portError says what is wrong with a port, and what helps.
func portError(name string, err error) error {
	var wrong *serial.PortError
	if errors.As(err, &wrong) && wrong.Code() == serial.PermissionDenied {
		return fmt.Errorf("%s: permission denied; on Linux the user must be in the port's group, mostly dialout", name)
	}
	return fmt.Errorf("%s: %w", name, err)
}

func (l *portLink) read(p []byte, until time.Time) (int, error) {
	if err := l.SetReadTimeout(max(time.Millisecond, time.Until(until))); err != nil {
		return 0, portError(l.name, err)
	}
	n, err := l.Read(p)
	if err != nil {
		err = portError(l.name, err)
	}
	return n, err
}

// findBaud sets the port to its rate: the one given, or the first at which a
// sentence comes.
func (r *run) findBaud(ctx context.Context, l *portLink) error {
	if l.baud != 0 {
		r.baud = l.baud
		return nil
	}
	r.baud = 0
	r.say()
	tries := bauds
	if l.last != 0 {
		tries = append([]int{l.last}, bauds...)
	}
	baud, _, err := find(ctx, l, tries, r.buffer, r.tick)
	r.baud = baud
	if err == nil && baud == 0 && ctx.Err() == nil {
		err = fmt.Errorf("%s: found no sentence at any rate from %d to %d baud", l.name, slices.Min(bauds), slices.Max(bauds))
	}
	return err
}

// find tries rates until a sentence comes; 0 if none does at any. bytes is how
// many came at all.
func find(ctx context.Context, l *portLink, tries []int, buffer []byte, tick func(time.Time)) (baud int, bytes int64, err error) {
	for _, baud := range tries {
		if l.SetMode(mode(baud)) != nil {
			continue // not a rate of this port
		}
		l.ResetInputBuffer()
		n := NewNMEA()
		for end := time.Now().Add(tryFor); time.Now().Before(end) && n.Counts().Bytes <= garbage && ctx.Err() == nil; {
			got, err := l.read(buffer, time.Now().Add(nap))
			bytes += int64(got)
			now := time.Now()
			n.Feed(buffer[:got], now)
			tick(now)
			switch {
			case n.Counts().Sentences > 0:
				return baud, bytes, nil
			case err != nil:
				return 0, bytes, err
			}
		}
	}
	return 0, bytes, nil
}
