package journal

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
)

// Mend cuts off what stands after the last whole record of a journal, and keeps
// it beside it, in NAME.torn. Damage before that stays as it is. Records are
// handed on as they are read; each may be nil.
func Mend(in Folder, name string, each func(Record)) (Found, error) {
	f, err := in.Open(name)
	if err != nil {
		return Found{}, err
	}
	defer f.Close()
	return mend(in, f, name, each)
}

func mend(in Folder, f File, name string, each func(Record)) (Found, error) {
	found, err := Read(io.NewSectionReader(f, 0, math.MaxInt64), each)
	if err != nil || found.Torn == nil {
		return found, wrap(name, err)
	}
	return found, cutOff(in, f, name, &found)
}

// cutOff cuts a torn end off, which is kept.
func cutOff(in Folder, f File, name string, found *Found) error {
	kept, err := keep(in, io.NewSectionReader(f, found.Torn.Offset, found.Torn.Length), name)
	if err != nil {
		return fmt.Errorf("%s: the torn end cannot be kept: %w", name, err)
	}
	if err := f.Truncate(found.Torn.Offset); err != nil {
		return wrap(name, err)
	}
	found.Kept = kept
	return wrap(name, f.Sync())
}

// keep copies a torn end into a file of its own, which is safe before the end
// is cut off.
func keep(in Folder, torn *io.SectionReader, name string) (kept string, err error) {
	f, kept, err := create(in, name, ".torn")
	if err != nil {
		return "", err
	}
	defer func() {
		if closed := f.Close(); err == nil {
			err = closed
		}
	}()
	buffer := make([]byte, 64<<10)
	for at := int64(0); ; {
		n, err := torn.Read(buffer)
		if _, err := f.WriteAt(buffer[:n], at); err != nil {
			return "", err
		}
		at += int64(n)
		if errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return "", err
		}
	}
	if err := f.Sync(); err != nil {
		return "", err
	}
	return kept, in.Sync()
}

// create makes a file of a name that is not taken: NAME.csv, NAME-2.csv.
func create(in Folder, name, ending string) (File, string, error) {
	for n := 1; ; n++ {
		tried := name + ending
		if n > 1 {
			tried = fmt.Sprintf("%s-%d%s", name, n, ending)
		}
		f, err := in.Create(tried)
		if err == nil || !errors.Is(err, fs.ErrExist) || n == 1000 {
			return f, tried, err
		}
	}
}

func wrap(name string, err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s: %w", name, err)
}
