package journal

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode"
)

// Options say how a journal is kept. The zero value is right for a cab.
type Options struct {
	// Sync is how often what was appended is synced: a power cut loses no more
	// than that. Zero means one second, less than zero: only when asked.
	Sync time.Duration
	// Waiting is how many bytes of records are kept in memory while they cannot
	// be written. Zero means 64 MiB, which is more than 12 hours at 10 Hz.
	Waiting int
}

const (
	usualSync    = time.Second
	usualWaiting = 64 << 20
)

// A Journal is one file, of one machine and start, to which records are
// appended. Its methods may be called by several goroutines.
type Journal struct {
	file    File
	name    string
	machine string
	field   string // the machine as it stands in a line
	waiting int

	stop    chan struct{}
	stopped chan struct{} // nil where only Sync syncs
	syncing sync.Mutex    // held for one sync at a time

	mu       sync.Mutex
	buffer   []byte  // what is not synced yet, from offset synced on
	ends     []int64 // where its records end in the file
	synced   int64   // where a record ends, or the header
	written  int64   // what is in the file
	records  int
	lost     int
	notWrote error // why something is not written
	notSafe  error // why the last sync failed; nil after one that did not
	closed   bool
}

// A WaitingError says that records are not safe yet, and wait in memory: they
// are written, in order, when there is room. It is told for every record that
// waits.
type WaitingError struct {
	Name    string
	Err     error // such as syscall.ENOSPC
	Records int   // that are not in the file, or not known to be
	Lost    int   // for which there was no room in memory either
}

func (e *WaitingError) Error() string {
	text := fmt.Sprintf("%s: %v; %d records wait in memory", e.Name, e.Err, e.Records)
	if e.Lost > 0 {
		text += fmt.Sprintf(", %d are lost", e.Lost)
	}
	return text
}

func (e *WaitingError) Unwrap() error { return e.Err }

// Create begins a journal of a machine in a file that was not there before. Its
// name holds the machine and the start: drill-A-20260504T140311Z.csv. Where the
// file could be made but not written, there are both a journal, whose header
// waits, and a [*WaitingError].
func Create(in Folder, machine string, start time.Time, opt Options) (*Journal, error) {
	if err := checkMachine(machine); err != nil {
		return nil, err
	}
	f, name, err := create(in, fileName(machine, start), ".csv")
	if err != nil {
		return nil, err
	}
	if err := in.Sync(); err != nil {
		f.Close()
		return nil, wrap(name, err)
	}
	j := begin(f, name, machine, 0, opt)
	j.buffer = append(j.buffer, Header...)
	err = j.Sync()
	j.run(opt)
	return j, err
}

// Open goes on with a journal, which is mended first. Records that it holds
// are handed on; each may be nil. An empty file becomes a journal of the machine.
func Open(in Folder, name, machine string, opt Options, each func(Record)) (*Journal, Found, error) {
	if err := checkMachine(machine); err != nil {
		return nil, Found{}, err
	}
	f, err := in.Open(name)
	if err != nil {
		return nil, Found{}, err
	}
	found, err := mend(in, f, name, each)
	if err == nil && found.Records > 0 && found.Machine != machine {
		err = fmt.Errorf("%s: found a journal of %q, want one of %q", name, found.Machine, machine)
	}
	if err != nil {
		f.Close()
		return nil, found, err
	}
	j := begin(f, name, machine, found.Size, opt)
	if found.Size == 0 {
		j.buffer = append(j.buffer, Header...)
	}
	j.records = found.Records
	err = j.Sync()
	j.run(opt)
	return j, found, err
}

func begin(f File, name, machine string, size int64, opt Options) *Journal {
	j := &Journal{file: f, name: name, machine: machine, field: quoted(machine), waiting: opt.Waiting, synced: size, written: size,
		stop: make(chan struct{})}
	if j.waiting == 0 {
		j.waiting = usualWaiting
	}
	return j
}

// fileName is a name that every file system takes.
func fileName(machine string, start time.Time) string {
	safe := strings.Map(func(c rune) rune {
		if unicode.IsLetter(c) || unicode.IsDigit(c) {
			return c
		}
		return '-'
	}, machine)
	const most = 60 // runes; of at most four bytes each
	if runes := []rune(safe); len(runes) > most {
		safe = string(runes[:most])
	}
	return strings.Trim(safe+"-"+start.UTC().Format("20060102T150405Z"), "-")
}

// run syncs by itself from now on.
func (j *Journal) run(opt Options) {
	if opt.Sync < 0 {
		return
	}
	every := opt.Sync
	if every == 0 {
		every = usualSync
	}
	j.stopped = make(chan struct{})
	go func() {
		defer close(j.stopped)
		clock := time.NewTicker(every)
		defer clock.Stop()
		for {
			select {
			case <-j.stop:
				return
			case <-clock.C:
				j.Sync() // the next Append tells what is wrong
			}
		}
	}()
}

// Name is the name of the file.
func (j *Journal) Name() string { return j.name }

// Append returns once a record is written: from then on a killed process does
// not lose it, and after the next sync a power cut does not. Its error is a [*WaitingError] while records wait for room; any
// other says that the record cannot stand in this journal.
func (j *Journal) Append(r Record) error {
	if err := r.check(); err != nil {
		return err
	}
	if r.Machine != j.machine {
		return fmt.Errorf("%s: found a record of %q, want one of %q", j.name, r.Machine, j.machine)
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.closed {
		return errors.New(j.name + ": the journal is closed")
	}
	before := len(j.buffer)
	j.buffer = encode(j.buffer, &r, j.field)
	if len(j.buffer) > j.waiting {
		j.buffer = j.buffer[:before]
		j.lost++
		if j.notSafe == nil {
			j.notSafe = errNotSynced
		}
	} else {
		j.ends = append(j.ends, j.synced+int64(len(j.buffer)))
		j.records++
	}
	j.write()
	return j.trouble()
}

// errNotSynced is for a journal whose caller does not sync it.
var errNotSynced = errors.New("more was appended than may wait for a sync")

// write writes what is not in the file. A write that breaks off goes on where
// it was.
func (j *Journal) write() {
	j.notWrote = nil
	for end := j.synced + int64(len(j.buffer)); j.written < end && j.notWrote == nil; {
		n, err := j.file.WriteAt(j.buffer[j.written-j.synced:], j.written)
		j.written += int64(n)
		if err == nil && n == 0 {
			err = io.ErrShortWrite
		}
		j.notWrote = err
	}
}

// trouble is what keeps records waiting; nil if none do.
func (j *Journal) trouble() error {
	err, safe := j.notWrote, j.written
	if err == nil {
		err, safe = j.notSafe, j.synced
	}
	if err == nil {
		return nil
	}
	done, exact := slices.BinarySearch(j.ends, safe)
	if exact {
		done++
	}
	return &WaitingError{j.name, err, len(j.ends) - done, j.lost}
}

// Sync writes what waits, and returns once all that was appended is safe from
// a power cut. What could not be synced is written again later: a disk may
// have dropped it.
func (j *Journal) Sync() error {
	j.mu.Lock()
	closed := j.closed
	j.mu.Unlock()
	if closed {
		return errors.New(j.name + ": the journal is closed")
	}
	return j.sync()
}

func (j *Journal) sync() error {
	j.syncing.Lock()
	defer j.syncing.Unlock()
	j.mu.Lock()
	defer j.mu.Unlock()
	j.write()
	written := j.written
	if written == j.synced && j.notSafe == nil {
		return j.trouble()
	}
	j.mu.Unlock()
	err := j.file.Sync()
	j.mu.Lock()
	if j.notSafe = err; err != nil {
		j.written = j.synced
		return j.trouble()
	}
	j.safe(written)
	return j.trouble()
}

// safe drops what is safe from memory, up to the last record that is whole.
func (j *Journal) safe(written int64) {
	whole := int64(bytes.LastIndexByte(j.buffer[:written-j.synced], '\n') + 1)
	rest := j.buffer[whole:]
	if cap(j.buffer) > 4*usualBuffer && len(rest) < usualBuffer {
		j.buffer = append(make([]byte, 0, usualBuffer), rest...)
	} else {
		j.buffer = j.buffer[:copy(j.buffer, rest)]
	}
	j.synced += whole
	done := 0
	for done < len(j.ends) && j.ends[done] <= j.synced {
		done++
	}
	j.ends = j.ends[:copy(j.ends, j.ends[done:])]
}

// usualBuffer is more than a cab appends between two syncs; what a full disk
// made larger is given back.
const usualBuffer = 256 << 10

// A Status is how a journal is doing.
type Status struct {
	Name    string
	Records int   // appended, those that wait too; with those found when it was opened
	Size    int64 // bytes appended, those that wait too
	Synced  int64 // bytes that are safe, up to the end of a record; they never change
	Waiting int   // records that are not in the file, or not known to be
	Lost    int   // records for which there was no room in memory
	Err     error // a [*WaitingError]; nil while all is well
}

// Status says how the journal is doing.
func (j *Journal) Status() Status {
	j.mu.Lock()
	defer j.mu.Unlock()
	s := Status{Name: j.name, Records: j.records, Size: j.synced + int64(len(j.buffer)), Synced: j.synced, Lost: j.lost, Err: j.trouble()}
	var waiting *WaitingError
	if errors.As(s.Err, &waiting) {
		s.Waiting = waiting.Records
	}
	return s
}

// Range reads what is safe from an offset on, as of now: up to Synced. The journal must stay open.
func (j *Journal) Range(offset int64) *io.SectionReader {
	j.mu.Lock()
	defer j.mu.Unlock()
	return io.NewSectionReader(j.file, offset, max(0, j.synced-offset))
}

// Close syncs and closes the journal; its error says what is not on the disk.
func (j *Journal) Close() error {
	j.mu.Lock()
	closed := j.closed
	j.closed = true
	j.mu.Unlock()
	if closed {
		return nil
	}
	close(j.stop)
	if j.stopped != nil {
		<-j.stopped
	}
	return errors.Join(j.sync(), j.file.Close())
}
