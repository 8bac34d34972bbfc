package receiver

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"lapwing/geo"
)

// Options say what a source needs that its address does not hold.
type Options struct {
	// Stdin is read for the address "-". Where it can wait with a deadline, or
	// has a file descriptor to wait for, Run ends with its context; otherwise
	// one read that waits for bytes outlives it.
	Stdin io.Reader
	// OpenLog opens the log of a file: address.
	OpenLog func(path string) (Log, error)
}

// A Listener is told what a source says, by the goroutine of [Run] and in
// order. Either function may be nil.
type Listener struct {
	Epoch  func(Epoch)
	Status func(Status)
}

// A Status is how a source is doing.
type Status struct {
	Open  bool  // the port or connection stands
	Baud  int   // of a serial port; 0 while it is being found
	Err   error // why it is not open
	Ended bool  // the source has said all it has
	// Silence is how long no epoch has come, to the nearest second, so that three
	// are told within three; 0 while they come, and up to firstSilence.
	Silence time.Duration
	Reason  Reason // of the silence
	Counts  Counts
}

// A Reason is why no epoch comes.
type Reason uint8

// The reasons for a silence.
const (
	NotOpen         Reason = iota // Err says why
	NoBytes                       // no bytes come
	NoSentences                   // bytes come, but no sentence
	NoPosition                    // the receiver says that it has no position
	NoSuchSentences               // sentences come, but none with a position
	FindingBaud                   // the speed of the port is not known yet
)

var reasonWords = [...]string{
	NotOpen:         "not open",
	NoBytes:         "no bytes come",
	NoSentences:     "bytes come, but no sentence",
	NoPosition:      "the receiver has no position",
	NoSuchSentences: "no sentence with a position comes: switch on GGA or RMC",
	FindingBaud:     "finding the baud rate",
}

// String returns s in words: "no signal for 3 s: no bytes come".
func (s Status) String() string {
	switch {
	case s.Ended:
		return "ended"
	case s.Silence == 0 && s.Open:
		return "open"
	case s.Silence == 0 && s.Err == nil:
		return "opening"
	case s.Silence == 0:
		return s.Err.Error()
	}
	reason := reasonWords[s.Reason]
	if s.Reason == NotOpen && s.Err != nil {
		reason = s.Err.Error()
	}
	return fmt.Sprintf("no signal for %d s: %s", int(s.Silence/time.Second), reason)
}

const (
	// firstSilence is when a silence is first told: a receiver at 1 Hz is late
	// by half a second at times. TestSilence fails where it is doubled.
	firstSilence = 2 * time.Second
	// nap bounds each wait, so that a source sees that its context has ended. Judgement:
	// a tenth of a second is at once; no test holds it closely.
	nap = 100 * time.Millisecond
	// firstPause and longestPause are the waits before a source is opened again.
	// Judgement: who plugs a cable in waits two seconds and no more. No test holds either
	// closely.
	firstPause   = 250 * time.Millisecond
	longestPause = 2 * time.Second
	// deadAfter is how long a connection over the network may be silent
	// before it is opened again: one whose other end has lost its power never
	// ends by itself. Judgement; no test fails where it is halved or doubled.
	deadAfter = 10 * time.Second
)

// A link is one port or connection that is open.
type link interface {
	// read returns the bytes that come by a time, as soon as there are any; 0 and
	// no error where none came.
	read(p []byte, until time.Time) (int, error)
	Close() error
}

// A decoder is [NMEA] or [GPSD].
type decoder interface {
	Feed(data []byte, now time.Time) []Epoch
	Tick(now time.Time) []Epoch
	Due() (time.Time, bool)
	Break() []Epoch
	Counts() Counts
}

// Run listens to the source at an address, and opens it again whenever it
// breaks off, until ctx ends; standard input and a log end by themselves. Then
// it returns nil, and no goroutine of it goes on. Only standard input and a log can
// fail for good.
func Run(ctx context.Context, at Address, opt Options, to Listener) error {
	r := &run{at: at, opt: opt, to: to, buffer: make([]byte, 64<<10), heard: time.Now()}
	r.decoder = NewNMEA()
	if at.Kind == Gpsd {
		r.decoder = NewGPSD()
	}
	var err error
	switch at.Kind {
	case File:
		err = r.play(ctx)
	case Stdin:
		err = r.once(ctx)
	default:
		r.always(ctx)
	}
	r.status.Open, r.status.Ended, r.status.Silence, r.status.Err = false, true, 0, err
	r.say()
	return err
}

// A run is one source being listened to.
type run struct {
	at      Address
	opt     Options
	to      Listener
	decoder decoder
	buffer  []byte
	status  Status
	heard   time.Time   // when the newest epoch came, or the run began
	before  Counts      // as of then, or of when the link was opened
	baud    int         // of a serial port, as far as it is known
	played  Counts      // of a log
	newest  geo.Instant // of the epochs of datagrams; 0 before the first
	stale   int         // epochs of datagrams that were left out
}

// always opens the source whenever it is not open.
func (r *run) always(ctx context.Context) {
	pause := firstPause
	for ctx.Err() == nil {
		err := r.session(ctx, &pause)
		if ctx.Err() != nil {
			return
		}
		if r.status.Open || r.status.Err == nil || r.status.Err.Error() != err.Error() {
			r.status.Open, r.status.Err = false, err
			r.say()
		}
		for again := time.Now().Add(pause); time.Now().Before(again) && ctx.Err() == nil; {
			r.sleep(ctx, min(nap, time.Until(again)))
		}
		pause = min(2*pause, longestPause)
	}
}

// session opens the source and listens until it breaks off.
func (r *run) session(ctx context.Context, pause *time.Duration) error {
	l, err := r.open(ctx)
	if err != nil {
		return err
	}
	defer l.Close()
	r.status.Open, r.status.Err = true, nil
	r.before = r.decoder.Counts()
	if p, ok := l.(*portLink); ok {
		if err := r.findBaud(ctx, p); err != nil || ctx.Err() != nil {
			return err
		}
	}
	r.say()
	sentences := r.decoder.Counts().Sentences
	err = r.listen(ctx, l)
	if r.decoder.Counts().Sentences > sentences {
		*pause = firstPause
	}
	r.tell(r.decoder.Break(), time.Now())
	if errors.Is(err, io.EOF) {
		err = fmt.Errorf("%s: the other side closed the connection", r.at.Place)
	}
	return err
}

// open waits for the source to open, while the silence is told.
func (r *run) open(ctx context.Context) (link, error) {
	type opened struct {
		link link
		err  error
	}
	done := make(chan opened, 1)
	go func() {
		l, err := r.dial(ctx)
		done <- opened{l, err}
	}()
	clock := time.NewTicker(nap)
	defer clock.Stop()
	for {
		select {
		case o := <-done: // soon after ctx has ended, too
			return o.link, o.err
		case now := <-clock.C:
			r.tick(now)
		}
	}
}

func (r *run) dial(ctx context.Context) (link, error) {
	switch r.at.Kind {
	case Serial:
		return openPort(r.at.Place, r.at.Baud, r.baud)
	case TCP:
		return dialTCP(ctx, r.at.Place, "")
	case Gpsd:
		return dialTCP(ctx, r.at.Place, gpsdWatch)
	case UDP:
		return listenUDP(ctx, r.at.Place)
	}
	return nil, fmt.Errorf("%s: found a source of the kind %s, want one that can be opened", r.at.Place, r.at.Kind)
}

// listen takes what comes until the link breaks off or ctx ends.
func (r *run) listen(ctx context.Context, l link) error {
	was := r.decoder.Counts() // as of the newest sentence
	sentence, byteAt := time.Now(), time.Now()
	for ctx.Err() == nil {
		now := time.Now()
		until := now.Add(nap)
		if due, ok := r.decoder.Due(); ok && due.Before(until) {
			until = due
			if soonest := now.Add(time.Millisecond); until.Before(soonest) {
				until = soonest // what has come already is taken first
			}
		}
		n, err := l.read(r.buffer, until)
		now = time.Now()
		r.tell(r.decoder.Feed(r.buffer[:n], now), now)
		if err != nil {
			return err
		}
		r.tick(now)
		if n > 0 {
			byteAt = now
		}
		counts := r.decoder.Counts()
		if counts.Sentences > was.Sentences {
			was, sentence = counts, now
		}
		switch {
		case (r.at.Kind == TCP || r.at.Kind == Gpsd) && now.Sub(byteAt) > deadAfter:
			return fmt.Errorf("%s: no bytes came for %d s", r.at.Place, int(deadAfter/time.Second))
		case r.at.Kind == Serial && r.at.Baud == 0 && now.Sub(sentence) > garbageFor && counts.Bytes-was.Bytes > garbage:
			r.baud = 0
			return fmt.Errorf("%s: bytes come, but no sentence any more", r.at.Place)
		}
	}
	return nil
}

// once listens to standard input until it ends.
func (r *run) once(ctx context.Context) error {
	if r.opt.Stdin == nil {
		return errors.New("-: found no standard input, want one")
	}
	l := newStdinLink(r.opt.Stdin)
	if aside, ok := l.(*asideLink); ok {
		defer aside.Close() // the others are the caller's to close
	}
	r.status.Open = true
	r.say()
	err := r.listen(ctx, l)
	r.tell(r.decoder.Break(), time.Now())
	if errors.Is(err, io.EOF) {
		return nil
	}
	return err
}

// reordered is how far a datagram may come behind a newer one. A receiver that learns how
// many leap seconds there were sets its clock back by more, up to 18 s (GPS time less UTC
// since 2017; from memory), and is believed. Judgement: networks mix datagrams up by
// milliseconds; no test fails where it is halved or doubled.
const reordered = 2 * time.Second

// inOrder drops the epochs of datagrams that came again or after a newer one.
func (r *run) inOrder(epochs []Epoch) []Epoch {
	kept := epochs[:0]
	for _, e := range epochs {
		if behind := r.newest.Sub(e.Time); r.newest != 0 && behind >= 0 && behind <= reordered {
			r.stale++
			continue
		}
		r.newest = e.Time
		kept = append(kept, e)
	}
	return kept
}

// tell passes epochs on.
func (r *run) tell(epochs []Epoch, now time.Time) {
	if r.at.Kind == UDP {
		epochs = r.inOrder(epochs)
	}
	if len(epochs) == 0 {
		return
	}
	r.heard, r.before = now, r.decoder.Counts()
	if r.status.Silence != 0 {
		r.status.Silence = 0
		r.say()
	}
	for _, e := range epochs {
		if r.to.Epoch != nil {
			r.to.Epoch(e)
		}
	}
}

// tick tells a silence, each second.
func (r *run) tick(now time.Time) {
	silence := now.Sub(r.heard)
	if silence < firstSilence || silence.Round(time.Second) == r.status.Silence {
		return
	}
	r.status.Silence = silence.Round(time.Second)
	r.say()
}

// say tells the status as of now.
func (r *run) say() {
	counts := r.decoder.Counts()
	if r.at.Kind == File {
		counts = r.played
	}
	counts.OutOfOrder = r.stale
	r.status.Counts, r.status.Baud = counts, r.baud
	switch {
	case !r.status.Open:
		r.status.Reason = NotOpen
	case r.at.Kind == Serial && r.baud == 0:
		r.status.Reason = FindingBaud
	case counts.Bytes == r.before.Bytes:
		r.status.Reason = NoBytes
	case counts.Sentences == r.before.Sentences:
		r.status.Reason = NoSentences
	case counts.NoFix > r.before.NoFix:
		r.status.Reason = NoPosition
	default:
		r.status.Reason = NoSuchSentences
	}
	if r.to.Status != nil {
		r.to.Status(r.status)
	}
}

// sleep waits, at most until ctx ends, and lets the silence be told.
func (r *run) sleep(ctx context.Context, d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
	case now := <-timer.C:
		r.tick(now)
	}
}
