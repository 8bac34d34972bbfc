package journal

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"
)

// A Piece is a stretch of a journal that is kept elsewhere: whole records, as their
// lines stand there.
type Piece struct {
	Offset  int64 // where it begins in the journal; a record ends there, or the header
	Lines   []byte
	Records []Record
}

// Cut takes what came of a journal of a machine from an offset on apart: as many whole
// records as it begins with. What follows the last line's end is none yet, and no error;
// a line that is no record of the machine is a [*Damage], and ends the piece.
func Cut(data []byte, offset int64, machine string) (Piece, error) {
	p := Piece{Offset: offset}
	var d decoder
	at := 0
	for {
		end := bytes.IndexByte(data[at:], '\n') + 1
		if end == 0 {
			break
		}
		r, ok := d.record(data[at : at+end])
		if !ok || r.Machine != machine {
			p.Lines = data[:at]
			return p, &Damage{offset + int64(at), int64(end)}
		}
		p.Records = append(p.Records, r)
		at += end
	}
	p.Lines = data[:at]
	return p, nil
}

// ErrNoRoom says that a piece was not taken, for want of room on the disk and in memory.
var ErrNoRoom = errors.New("no room for more that waits")

// A SplitError says that a piece does not begin where a journal ends.
type SplitError struct {
	Name        string
	Found, Want int64 // offsets
}

func (e *SplitError) Error() string {
	return fmt.Sprintf("%s: found a piece from byte %d on, want one from byte %d on", e.Name, e.Found, e.Want)
}

// OpenCopy goes on with the copy of a journal that is kept elsewhere, as [Open] goes on with
// a journal; an empty file becomes one. But it keeps the copy only as far as it is whole:
// what follows the first damage is cut off and kept beside it, as a torn end is, since it
// comes again.
func OpenCopy(in Folder, name, machine string, opt Options, each func(Record)) (*Journal, Found, error) {
	var found Found
	if err := checkMachine(machine); err != nil {
		return nil, found, err
	}
	f, err := in.Open(name)
	if err != nil {
		return nil, found, err
	}
	j, err := openCopy(in, f, name, machine, opt, &found, each)
	if j == nil {
		f.Close()
	}
	return j, found, err
}

func openCopy(in Folder, f File, name, machine string, opt Options, found *Found, each func(Record)) (*Journal, error) {
	r := NewReader(io.NewSectionReader(f, 0, math.MaxInt64), 0)
	var damage *Damage
	for found.Torn == nil {
		record, err := r.Next()
		switch {
		case err == nil && record.Machine != machine:
			return nil, fmt.Errorf("%s: found a journal of %q, want one of %q", name, record.Machine, machine)
		case err == nil:
			found.Records, found.Machine = found.Records+1, machine
			if each != nil {
				each(record)
			}
			continue
		case errors.As(err, &damage):
			found.Torn = &Torn{Offset: damage.Offset}
		case errors.As(err, &found.Torn):
		case !errors.Is(err, io.EOF):
			return nil, wrap(name, err)
		}
		break
	}
	found.Size = r.Offset()
	if found.Torn != nil {
		size, err := f.Size()
		if err != nil {
			return nil, wrap(name, err)
		}
		found.Size, found.Torn.Length = found.Torn.Offset, size-found.Torn.Offset
		if err := cutOff(in, f, name, found); err != nil {
			return nil, err
		}
	}
	j := begin(f, name, machine, found.Size, opt)
	if found.Size == 0 {
		j.buffer = append(j.buffer, Header...)
	}
	j.records = found.Records
	err := j.Sync()
	j.run(opt)
	return j, err
}

// Take appends a piece of the same journal that is kept elsewhere, byte for byte. It
// begins where the journal ends, otherwise the error is a [*SplitError]; other errors
// are those of [Journal.Append], but that no record of a piece is lost: where there is no
// room for all of it in memory either, none is taken, and the error is [ErrNoRoom].
func (j *Journal) Take(p Piece) error {
	for i := range p.Records {
		if p.Records[i].Machine != j.machine {
			return fmt.Errorf("%s: found a record of %q, want one of %q", j.name, p.Records[i].Machine, j.machine)
		}
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	end := j.synced + int64(len(j.buffer))
	switch {
	case j.closed:
		return errors.New(j.name + ": the journal is closed")
	case p.Offset != end:
		return &SplitError{j.name, p.Offset, end}
	case len(j.buffer)+len(p.Lines) > j.waiting:
		return fmt.Errorf("%s: %w", j.name, ErrNoRoom)
	}
	j.buffer = append(j.buffer, p.Lines...)
	for from := 0; from < len(p.Lines); {
		from += bytes.IndexByte(p.Lines[from:], '\n') + 1
		j.ends = append(j.ends, end+int64(from))
	}
	j.records += len(p.Records)
	j.write()
	return j.trouble()
}

// Tail returns the last bytes that were appended, so many at most, and the offset of
// their end. By these bytes a cab that goes on with a copy tells that it is of the same
// journal.
func (j *Journal) Tail(most int) ([]byte, int64, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	end := j.synced + int64(len(j.buffer))
	tail := make([]byte, min(int64(most), end))
	from := end - int64(len(tail))
	if from < j.synced {
		n := min(int64(len(tail)), j.synced-from)
		if _, err := j.file.ReadAt(tail[:n], from); err != nil && !errors.Is(err, io.EOF) {
			return nil, end, wrap(j.name, err)
		}
	}
	copy(tail[max(0, j.synced-from):], j.buffer[max(0, from-j.synced):])
	return tail, end, nil
}

// Identity tells journals apart by how they begin: by the first record, whose time and
// place no other has. It is "" for what does not begin with a header and a whole record.
func Identity(begins io.Reader) string {
	head, _ := io.ReadAll(io.LimitReader(begins, int64(len(Header))+mostLine))
	line, found := bytes.CutPrefix(head, []byte(Header))
	end := bytes.IndexByte(line, '\n') + 1
	var d decoder
	if !found || end == 0 {
		return ""
	}
	if _, ok := d.record(line[:end]); !ok {
		return ""
	}
	sum := sha256.Sum256(line[:end])
	return hex.EncodeToString(sum[:8])
}

// mostLine is more than any line of a record has: its name and sections, and 300 bytes.
const mostLine = maxSections + 2*maxName + 300
