package journal

import (
	"bufio"
	"errors"
	"fmt"
	"io"
)

// A Damage is a piece of a journal that holds no record, though a record
// follows it: a disk gone bad, or another hand.
type Damage struct {
	Offset int64 // where it begins, in bytes from the beginning of the file
	Length int64
}

func (d *Damage) Error() string {
	return fmt.Sprintf("damaged at byte %d: found %d bytes that are no record, want a record", d.Offset, d.Length)
}

// A Torn is the end of a journal after its last whole record: what a power cut
// leaves, or what has not come yet.
type Torn struct {
	Offset int64 // where the last whole record ends
	Length int64
}

func (t *Torn) Error() string {
	return fmt.Sprintf("torn at byte %d: found %d bytes after the last whole record, want its end", t.Offset, t.Length)
}

// A Reader reads records from an offset on, at which the file or a record
// begins.
type Reader struct {
	in      *bufio.Reader
	decoder decoder
	at      int64 // of the next byte
	whole   int64 // the end of the last whole line
	found   *Record
	err     error // once the end is reached
}

// NewReader reads what follows an offset of a journal; from 0 on that begins
// with the header.
func NewReader(r io.Reader, offset int64) *Reader {
	return &Reader{in: bufio.NewReaderSize(r, 64<<10), at: offset, whole: offset}
}

// Next returns the next record. Its error is a [*Damage] where a piece was
// left out, after which Next goes on; a [*Torn] where the end is no record,
// once; io.EOF after that; or the one of the reader below.
func (r *Reader) Next() (Record, error) {
	if found := r.found; found != nil {
		r.found = nil
		return *found, nil
	}
	if r.err != nil {
		return Record{}, r.err
	}
	begun := r.whole
	for {
		start := r.at
		line, err := r.line()
		if err != nil && !errors.Is(err, io.EOF) {
			r.err = err
			return Record{}, err
		}
		if err != nil {
			r.err = io.EOF
			if r.at > begun {
				return Record{}, &Torn{begun, r.at - begun}
			}
			return Record{}, io.EOF
		}
		if start == 0 && string(line) == Header {
			begun, r.whole = r.at, r.at
			continue
		}
		record, ok := r.decoder.record(line)
		if !ok {
			continue
		}
		r.whole = r.at
		if start > begun {
			r.found = &record
			return Record{}, &Damage{begun, start - begun}
		}
		return record, nil
	}
}

// Offset is where the last whole record ends: there is where to go on.
func (r *Reader) Offset() int64 { return r.whole }

// line returns the next line with its end, and nil for one that is too long.
// At the end of all its error is io.EOF.
func (r *Reader) line() ([]byte, error) {
	line, err := r.in.ReadSlice('\n')
	r.at += int64(len(line))
	for errors.Is(err, bufio.ErrBufferFull) {
		line, err = r.in.ReadSlice('\n')
		r.at += int64(len(line))
		line = nil
	}
	return line, err
}

// A Found is what reading a whole journal found.
type Found struct {
	Records int
	Size    int64 // where the last whole record, or the header, ends
	Damage  []*Damage
	Torn    *Torn // nil where the journal ends with a whole record
	// Kept is the file in which the torn end is kept, once it has been cut off;
	// otherwise "".
	Kept string
	// Machine is the name in the last whole record.
	Machine string
}

// Warnings say in words what is wrong, each on one line and with its place.
func (f *Found) Warnings() []string {
	var all []string
	for _, d := range f.Damage {
		all = append(all, d.Error()+"; left out")
	}
	if f.Torn != nil {
		text := f.Torn.Error()
		if f.Kept != "" {
			text += "; cut off, and kept in " + f.Kept
		} else {
			text += "; left out"
		}
		all = append(all, text)
	}
	return all
}

// Read reads a journal to its end and hands each record on, in order; each may
// be nil. Damage and a torn end are no error.
func Read(in io.Reader, each func(Record)) (Found, error) {
	var found Found
	r := NewReader(in, 0)
	for {
		record, err := r.Next()
		var damage *Damage
		switch {
		case err == nil:
			found.Records++
			found.Machine = record.Machine
			if each != nil {
				each(record)
			}
		case errors.As(err, &damage):
			found.Damage = append(found.Damage, damage)
		case errors.As(err, &found.Torn):
		case errors.Is(err, io.EOF):
			found.Size = r.Offset()
			return found, nil
		default:
			return found, err
		}
	}
}
