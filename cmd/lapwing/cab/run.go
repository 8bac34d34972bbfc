// Package cab is one live run: receivers are heard, their fixes kept in journals and told to
// the engine, and pages and programs are answered over HTTP, until the input ends or the run
// is told to stop; then it writes what assess writes.
//
//	Open    the job, the earlier journals, the engine, the door, a journal for each machine
//	Run     listen, and at the end write the answer
//	Close   give back what is open
package cab

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/output"
	"lapwing/cmd/lapwing/serve"
	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/live"
	"lapwing/geo"
	"lapwing/geo/format"
	"lapwing/geo/gnsslog"
	"lapwing/geo/journal"
	"lapwing/geo/receiver"
	cabpage "lapwing/report/cab"
)

// A Cab is one run. The goroutine of [Cab.Run] owns all of it:
//
//	receivers --heard--> journal, engine --> watchers are woken
//	pages and programs --asks--> the same goroutine answers
//	the engine's question --> a goroutine --answers--> the engine
type Cab struct {
	opt    Options
	stderr io.Writer
	stdin  io.Reader

	door    *serve.Door
	root    *os.Root // of the journals
	out     *output.Dir
	job     *job.Live
	earlier map[string][]string
	engine  *live.Engine
	sources []*cabSource

	crew    cabCrew
	written []written // by this cab, before this run

	heard      chan heard
	asks       chan func()
	background sync.WaitGroup // of all that may still hand something on
	took       latencies
	refused    int
	changed    waker

	answers    int      // how many the engine has taken
	unanswered string   // why the last lift has no exact answer; "" while it has
	last       []byte   // last.json as of the last lift that has one
	verdict    []string // what it says in words: a headline, and what stands under it
	ground     cabpage.Ground
	ammonia    bool   // the job has anhydrous ammonia
	open       string // a warning that others can read along; "" where they cannot
}

// A cabSource is one receiver and what is kept of it.
type cabSource struct {
	address  receiver.Address
	machine  string
	path     string // of the journal
	journal  *journal.Journal
	status   receiver.Status
	heard    time.Time   // when its last epoch came
	until    geo.Instant // the time of its last record
	extent   live.Extent // of all its places
	identity string      // of the journal; "" before it has a record that is safe
	waiting  string      // what was said of a journal that cannot be written; "" while it can

	down     bool   // the page says that the bar works
	sections string // that the page says are open; "" for the whole bar
}

// heard is a message of a source: an epoch, or how well it is heard, or that it has ended.
type heard struct {
	source int
	epoch  *receiver.Epoch
	status *receiver.Status
	ended  bool
	err    error
}

// answered is the answer to a question of the engine, and what is made of it: last.json, the
// verdict in words, and the ground to draw.
type answered struct {
	answer  *live.Answer
	last    []byte
	verdict []string
	strips  []cabpage.Strip
	err     error
}

// Run listens until all sources have ended or ctx is done, and then writes the answer. It
// fails with an error of the input where a source cannot be read or the answer not written.
func (k *Cab) Run(ctx context.Context) error {
	assets, err := k.pageAssets()
	if err != nil {
		return err
	}
	serving, stop := context.WithCancel(context.WithoutCancel(ctx))
	served := make(chan error, 1)
	go func() { served <- k.door.Serve(serving, k.door.Guard(assets, k.handler())) }()
	err = k.listen(ctx, served)
	if err == nil {
		err = k.finish(context.WithoutCancel(ctx))
	}
	stop()
	if wrong := <-served; err == nil && wrong != nil && !errors.Is(wrong, context.Canceled) {
		err = wrong
	}
	return err
}

// listen is the loop of the goroutine that owns the cab: it takes what sources, pages, other
// cabs and answers hand to it, one after the other.
func (k *Cab) listen(ctx context.Context, served chan error) error {
	hearing, hush := context.WithCancel(ctx)
	defer hush()
	for i := range k.sources {
		k.background.Go(func() { k.hear(hearing, i) })
	}
	for _, c := range k.crew.copies {
		k.background.Go(func() { k.recall(c) })
	}
	for _, s := range k.crew.sharers {
		k.background.Go(func() { k.follow(hearing, s) })
	}
	defer func() {
		hush()
		k.crew.ended = true
		gone := make(chan struct{})
		go func() { k.background.Wait(); close(gone) }()
		for {
			select {
			case <-k.heard: // a fix that comes after the end is not written
			case do := <-k.asks: // a piece of another cab's journal is kept even now
				do()
			case <-gone:
				return
			}
		}
	}()
	answers := make(chan answered, 1)
	asking := false
	for open := len(k.sources); open > 0; {
		if !asking && (k.engine.Due() || k.engine.Late() && time.Since(k.crew.answered) > lateEvery) {
			asking = true
			go func(q *live.Question, frame geo.Frame, others []string) { answers <- k.answer(q, &frame, others) }(k.engine.Ask(), k.engine.Land().Frame, k.others())
		}
		select {
		case h := <-k.heard:
			if h.ended {
				open--
				if h.err != nil && ctx.Err() == nil {
					return wrongSource(k.sources[h.source].address, h.err)
				}
			}
			k.take(h)
		case a := <-answers:
			asking = false
			k.crew.answered = time.Now()
			k.takeAnswer(a)
		case do := <-k.asks:
			do()
		case err := <-served:
			served <- err
			return err
		case <-ctx.Done():
			return nil
		}
	}
	return nil
}

// takeAnswer goes on with an answer; without one, the answer before it stands and the page
// says why.
func (k *Cab) takeAnswer(a answered) {
	defer k.changed.wake()
	if errors.Is(a.err, live.ErrNoFix) {
		return
	}
	if a.err != nil {
		if unanswered := a.err.Error(); unanswered != k.unanswered {
			k.unanswered = unanswered
			fmt.Fprintf(k.stderr, "cab: no exact answer, the one before it stands: %s\n", unanswered)
		}
		return
	}
	k.unanswered = ""
	k.engine.Take(a.answer)
	k.last, k.verdict = a.last, a.verdict
	k.ground.Take(a.strips)
	k.answers++
}

// lateEvery is how long the exact answer waits for more ground of other cabs, which comes at
// any time and not at this cab's lifts. The ground itself is on the page and beside the bar at
// once. Judgement.
const lateEvery = 10 * time.Second

// wrongSource is the error for a log that cannot be played, or a standard input that cannot
// be read.
func wrongSource(a receiver.Address, err error) error {
	var wrong *job.InputError
	if errors.As(err, &wrong) || disk.IsOfFiles(err) {
		return err
	}
	return &job.InputError{Where: "--receiver", File: a.Place, Found: err.Error(), Want: "a source that can be read"}
}

// hear listens to one source.
func (k *Cab) hear(ctx context.Context, source int) {
	send := func(h heard) {
		h.source = source
		select {
		case k.heard <- h:
		case <-ctx.Done():
		}
	}
	s := k.sources[source]
	var last receiver.Status
	err := receiver.Run(ctx, s.address, receiver.Options{Stdin: k.stdin, OpenLog: func(path string) (receiver.Log, error) { return k.openLog(path, source) }},
		receiver.Listener{Epoch: func(e receiver.Epoch) { send(heard{epoch: &e}) }, Status: func(st receiver.Status) { last = st; send(heard{status: &st}) }})
	k.onLast(func() { s.status = last }) // so that its count of refused sentences is complete
	send(heard{ended: true, err: err})
}

// take takes a message of a source: an epoch goes into its journal, and then to the engine.
func (k *Cab) take(h heard) {
	s := k.sources[h.source]
	switch {
	case h.status != nil:
		if was := &s.status; !h.status.Open && (was.Open || was.Ended != h.status.Ended || reasonFor(was.Err) != reasonFor(h.status.Err)) {
			fmt.Fprintf(k.stderr, "cab: %s: %s\n", s.machine, h.status) // the page tells each second of a silence
		}
		s.status = *h.status
	case h.epoch != nil:
		s.heard = h.epoch.Arrived
		r := s.record(h.epoch, k.opt.Bar)
		if err := k.write(s, r); err != nil {
			k.refused++
			return
		}
		s.until = max(s.until, r.Time)
		s.extent.Add(r.At)
		k.engine.Step(h.source, r)
		k.took.add(time.Since(h.epoch.Arrived))
	}
	k.changed.wake()
}

// reasonFor is what an error says; "" for none.
func reasonFor(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}

// record is what is kept of an epoch.
func (s *cabSource) record(e *receiver.Epoch, bar string) journal.Record {
	r := journal.Record{Fix: e.Fix, Machine: s.machine}
	r.Row = 0
	switch bar {
	case "logged":
		r.Working, r.Sections = e.Working, e.Sections
	case "page":
		r.Working, r.Sections = "0", s.sections
		if s.down {
			r.Working = "1"
		}
	}
	return r
}

// write appends a record to its journal. Where the disk is full the journal keeps the record
// and writes it once there is room, which is no error. The error is that of a record which no
// journal can hold.
func (k *Cab) write(s *cabSource, r journal.Record) error {
	err := s.journal.Append(r)
	var waits *journal.WaitingError
	switch {
	case errors.As(err, &waits):
		if s.waiting == "" {
			fmt.Fprintf(k.stderr, "cab: %s: the journal cannot be written (%s); what comes waits in memory\n", s.path, disk.Reason(waits.Err))
		}
		s.waiting = disk.Reason(waits.Err)
	case err != nil:
		return err
	case s.waiting != "":
		s.waiting = ""
		fmt.Fprintf(k.stderr, "cab: %s: the journal is written again, and nothing is left waiting\n", s.path)
	}
	return nil
}

// openLog opens a log to be played.
func (k *Cab) openLog(path string, source int) (receiver.Log, error) {
	in := disk.Inputs(k.stdin, path)
	f, err := in.Files.Open(path)
	if err != nil {
		return nil, &job.InputError{Where: "--receiver", File: path, Found: err.Error(), Want: "a log of fixes", Reason: err}
	}
	defer f.Close()
	read, err := in.Formats.Log(format.Input{Name: path, From: f, Beside: in.Beside(path, format.MostOfLog)}, gnsslog.Options{Keep: k.job.Keeps})
	if err != nil {
		return nil, spec.AsInput(err)
	}
	records, warnings, err := live.Replay(path, read, k.engine.Machine(source))
	if err != nil {
		return nil, spec.AsInput(err)
	}
	for _, w := range field.Once(warnings) {
		fmt.Fprintln(k.stderr, "warning:", w)
	}
	return &played{records: records}, nil
}

// played is a log being played.
type played struct{ records []journal.Record }

func (p *played) Next() (receiver.Epoch, error) {
	if len(p.records) == 0 {
		return receiver.Epoch{}, io.EOF
	}
	r := p.records[0]
	p.records = p.records[1:]
	return receiver.Epoch{Fix: r.Fix, Working: r.Working, Sections: r.Sections}, nil
}

func (p *played) Close() error { return nil }

// Close closes all that is open. After it, what the journals hold is on the disk.
func (k *Cab) Close() {
	empty := k.crew.introduced && len(k.crew.copies) == 0
	for _, s := range k.sources {
		if s.journal == nil {
			continue
		}
		empty = empty && s.journal.Status().Records == 0
		if err := s.journal.Close(); err != nil {
			fmt.Fprintf(k.stderr, "cab: %s: %v\n", s.path, err)
		}
		if s.journal.Status().Records == 0 {
			_ = k.root.Remove(s.journal.Name()) // it holds no record, and was made by this run
		}
		s.journal = nil
	}
	if empty {
		_ = k.root.Remove(thisCabFile) // no other cab can know its name yet
	}
	k.closeCopies()
	if k.root != nil {
		k.root.Close()
	}
	if k.out != nil {
		k.out.Discard()
	}
	if k.door != nil {
		k.door.Close()
	}
}

// on carries out something in the goroutine that owns the cab. It is false where the run, or
// ctx, has ended first.
func (k *Cab) on(ctx context.Context, do func()) bool {
	done := make(chan struct{})
	select {
	case k.asks <- func() { do(); close(done) }:
	case <-ctx.Done():
		return false
	}
	select {
	case <-done:
		return true
	case <-ctx.Done():
		return false
	}
}

// latencies count how long fixes took, in classes each a twentieth wider than the one
// before, so that they take the same memory after a day as after a minute.
type latencies struct {
	classes [400]int
	count   int
	most    time.Duration
}

// classOf is the class of a time, from 1 µs on.
func classOf(d time.Duration) int {
	class, upTo := 0, time.Microsecond
	for d > upTo && class < len(latencies{}.classes)-1 {
		class++
		upTo += max(upTo/20, 1)
	}
	return class
}

func (l *latencies) add(d time.Duration) {
	l.classes[classOf(d)]++
	l.count++
	l.most = max(l.most, d)
}

// at is the time that a share of the fixes took at most.
func (l *latencies) at(share float64) time.Duration {
	upTo, rest := time.Microsecond, int(share*float64(l.count))
	for _, n := range l.classes {
		if rest -= n; rest < 0 {
			return min(upTo, l.most)
		}
		upTo += max(upTo/20, 1)
	}
	return l.most
}

// sourceOf is the source of the machine that an order names, or -1. An order need not name it
// where there is one machine only.
func (k *Cab) sourceOf(machine string) int {
	if machine == "" && len(k.sources) == 1 {
		return 0
	}
	return slices.IndexFunc(k.sources, func(s *cabSource) bool { return strings.EqualFold(s.machine, machine) })
}

// machineNames are the names of all machines whose receivers are heard, in the order of the
// call.
func (k *Cab) machineNames() (names []string) {
	for _, s := range k.sources {
		names = append(names, s.machine)
	}
	return names
}
