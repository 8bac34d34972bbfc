package receiver

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"time"

	"go.bug.st/serial"

	"lapwing/geo"
)

// A Port is a serial port and what speaks on it.
type Port struct {
	Name  string
	Baud  int     // at which sentences came; 0 where none did
	Bytes int64   // that came at all, at any rate
	Heard []Heard // sentences by their address, in the order first heard
	// Rate is how many epochs came a second; 0 where sentences hold no position.
	Rate    float64
	Quality geo.Quality // of the last epoch
	Err     error       // why the port could not be read
}

// String returns p in words, on one line.
func (p Port) String() string {
	switch {
	case p.Err != nil:
		return p.Err.Error()
	case p.Baud == 0 && p.Bytes == 0:
		return p.Name + ": silent"
	case p.Baud == 0:
		return p.Name + ": bytes, but no sentence of NMEA 0183 at any baud rate"
	}
	var addresses []string
	for _, h := range p.Heard {
		addresses = append(addresses, h.Address)
	}
	text := fmt.Sprintf("%s: %d baud, %s", p.Name, p.Baud, strings.Join(addresses, " "))
	if p.Rate == 0 {
		return text + "; no position"
	}
	return text + fmt.Sprintf("; %.3g a second, %s", p.Rate, p.Quality)
}

// lookFor is how long a port is listened to once its rate is known: a rate of
// 1 Hz shows by three positions, with 0.2 s to spare. No test holds it closely.
const lookFor = 3200 * time.Millisecond

// Look says what speaks on each serial port of this machine, all of them
// listened to at once for some seconds: at most one round of all baud rates.
// It returns early, with what it has, where ctx ends.
func Look(ctx context.Context) ([]Port, error) {
	names, err := serial.GetPortsList()
	if err != nil {
		return nil, fmt.Errorf("list of serial ports: %w", err)
	}
	return look(ctx, names), nil
}

func look(ctx context.Context, names []string) []Port {
	ports := make([]Port, len(names))
	var all sync.WaitGroup
	for i, name := range names {
		all.Go(func() { ports[i] = lookAt(ctx, name) })
	}
	all.Wait()
	return ports
}

func lookAt(ctx context.Context, name string) Port {
	found := Port{Name: name}
	opened, err := openPort(name, 0, 0)
	if err != nil {
		found.Err = err
		return found
	}
	defer opened.Close()
	l := opened.(*portLink)
	buffer := make([]byte, 32<<10)
	found.Baud, found.Bytes, found.Err = find(ctx, l, bauds, buffer, func(time.Time) {})
	if found.Baud == 0 || found.Err != nil {
		return found
	}
	n := NewNMEA()
	take := func(epochs []Epoch) {
		for _, e := range epochs {
			found.Quality = e.Quality
		}
	}
	for end := time.Now().Add(lookFor); time.Now().Before(end) && ctx.Err() == nil; {
		got, err := l.read(buffer, time.Now().Add(nap))
		if err != nil {
			found.Err = err
			break
		}
		take(n.Feed(buffer[:got], time.Now()))
	}
	take(n.Break())
	found.Heard, found.Bytes = n.Heard(), found.Bytes+n.Counts().Bytes
	if step := n.Interval(); step > 0 && n.Counts().Epochs > 0 {
		found.Rate = float64(time.Second) / float64(step)
	}
	return found
}
