// Package source opens the files that people name, through io/fs.
//
// A path is what a person writes: relative or absolute, as the operating
// system has it, or "-" for standard input. The code that makes [Files] says which
// file system they are in and what of it a path means: the whole disk for a
// command, one folder for a server, memory for a page. So nothing that reads
// files needs to know of an operating system.
package source

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"path/filepath"
	"strings"

	"lapwing/geo"
)

// Standard is the path of standard input.
const Standard = "-"

// A Reason is why a file cannot be opened, in the words of a message.
type Reason string

// Error is the reason itself.
func (r Reason) Error() string { return string(r) }

// The reasons that [Files.Open] gives.
const (
	ErrMissing    Reason = "no such file"
	ErrDirectory  Reason = "a directory"
	ErrForbidden  Reason = "a file that may not be read"
	ErrUnreadable Reason = "a file that cannot be opened"
	ErrPipe       Reason = "a pipe, which is read only where the call names it"
	ErrDevice     Reason = "a device"
	ErrNoFile     Reason = "no file of a disk" // a socket, or what a system makes up
)

// Shown is how a path stands in messages.
func Shown(path string) string {
	if path == Standard {
		return "standard input"
	}
	return path
}

// Stem is the name of a file without its folder and endings.
func Stem(path string) string {
	if path == Standard {
		return Shown(path)
	}
	base := filepath.Base(path)
	name := strings.TrimSuffix(base, ".gz")
	if name = strings.TrimSuffix(name, filepath.Ext(name)); name != "" {
		return name
	}
	return base
}

// Files are the files that paths lead to. The zero Files has none.
type Files struct {
	FS fs.FS
	// Name returns the name in FS of what a path means. nil: the path is a
	// name, with "." and ".." in it perhaps, but none that lead out of FS.
	Name func(path string) (string, error)
	// Stdin is what the path "-" means; nil is empty.
	Stdin io.Reader
	// Called reports whether a path was named by the person who called. A pipe there is read
	// as standard input is: the person has something written into it. One that turns up
	// elsewhere would be waited for without end. nil: the call named none.
	Called func(path string) bool
}

// name returns the name in FS of what a path means.
func (f Files) name(at string) (string, error) {
	switch {
	case f.FS == nil:
		return "", ErrMissing
	case f.Name != nil:
		return f.Name(at)
	}
	name := path.Clean(filepath.ToSlash(at))
	if !fs.ValidPath(name) {
		return "", ErrMissing
	}
	return name, nil
}

// In returns the file system and the name in it of what a path means, for
// readers of folders.
func (f Files) In(path string) (fs.FS, string, error) {
	name, err := f.name(path)
	return f.FS, name, err
}

// Abs returns the name of what a path means in the file system as a whole,
// with slashes; the path itself where it means nothing.
func (f Files) Abs(path string) string {
	name, err := f.name(path)
	if err != nil {
		return path
	}
	return name
}

// Stat says what a path leads to.
func (f Files) Stat(path string) (fs.FileInfo, error) {
	name, err := f.name(path)
	if err != nil {
		return nil, err
	}
	return fs.Stat(f.FS, name)
}

// Open opens the file at a path; "-" is standard input. An error is a [Reason].
func (f Files) Open(path string) (io.ReadCloser, error) {
	if path == Standard {
		if f.Stdin == nil {
			return io.NopCloser(strings.NewReader("")), nil
		}
		return io.NopCloser(f.Stdin), nil
	}
	name, err := f.name(path)
	if err != nil {
		return nil, reason(err)
	}
	if why := f.unfit(path, name); why != "" {
		return nil, why
	}
	file, err := f.FS.Open(name)
	if err != nil {
		return nil, reason(err)
	}
	return file, nil
}

// unfit says why what is at a path, of that name, is not opened: to open it may
// be to wait for it, and it may have no end. "" where it may be opened, or is
// not there.
func (f Files) unfit(path, name string) Reason {
	info, err := fs.Stat(f.FS, name)
	if err != nil {
		return ""
	}
	switch mode := info.Mode(); {
	case mode.IsRegular(), mode&fs.ModeNamedPipe != 0 && f.called(path):
		return ""
	case mode.IsDir():
		return ErrDirectory
	case mode&fs.ModeNamedPipe != 0:
		return ErrPipe
	case mode&fs.ModeDevice != 0:
		return ErrDevice
	}
	return ErrNoFile
}

func (f Files) called(path string) bool { return f.Called != nil && f.Called(path) }

// Once reports whether what is at a path can be read only once: standard input,
// or a pipe.
func (f Files) Once(path string) bool {
	if path == Standard {
		return true
	}
	info, err := f.Stat(path)
	return err == nil && info.Mode()&fs.ModeNamedPipe != 0 && f.called(path)
}

// Check returns the [Reason] why the file at a path cannot be opened, nil where
// it can be. It leaves alone what can be read only once.
func (f Files) Check(path string) error {
	if f.Once(path) {
		return nil
	}
	file, err := f.Open(path)
	if err != nil {
		return err
	}
	return file.Close()
}

func reason(err error) Reason {
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, ErrMissing):
		return ErrMissing
	case errors.Is(err, fs.ErrPermission):
		return ErrForbidden
	}
	return ErrUnreadable
}

// Beside returns what finds the files beside the one at a path that have
// another ending, such as ".dbf", in lower or upper case. It gives nothing
// where there is none, and a [*geo.Fault] past most bytes. It is nil for
// standard input.
func (f Files) Beside(at string, most int64) func(ending string) ([]byte, error) {
	if at == Standard {
		return nil
	}
	stem := strings.TrimSuffix(at, filepath.Ext(at))
	return func(ending string) ([]byte, error) {
		for _, path := range []string{stem + ending, stem + strings.ToUpper(ending)} {
			file, err := f.Open(path)
			if errors.Is(err, ErrMissing) {
				continue
			}
			if err != nil {
				return nil, fmt.Errorf("%s: %w", path, err)
			}
			defer file.Close()
			data, err := io.ReadAll(io.LimitReader(file, most+1))
			if int64(len(data)) > most {
				return nil, &geo.Fault{Where: ending, Found: fmt.Sprintf("more than %d MiB", most>>20), Want: "a smaller file"}
			}
			return data, err
		}
		return nil, nil
	}
}
