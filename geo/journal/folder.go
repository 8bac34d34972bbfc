package journal

import (
	"os"
	"runtime"
)

// A Folder holds the files of journals. [In] is one on a disk; tests have some
// that fail.
type Folder interface {
	// Create makes a file that is not there yet, otherwise the error is
	// fs.ErrExist.
	Create(name string) (File, error)
	// Open opens a file to read and write.
	Open(name string) (File, error)
	// Sync makes sure that created files are found after a power cut.
	Sync() error
}

// A File is one that is open. What is written is safe from a power cut after
// Sync.
type File interface {
	ReadAt(p []byte, offset int64) (int, error)
	WriteAt(p []byte, offset int64) (int, error)
	Size() (int64, error)
	Truncate(size int64) error
	Sync() error
	Close() error
}

// In is a folder on a disk.
func In(root *os.Root) Folder { return folder{root} }

type folder struct{ root *os.Root }

func (d folder) Create(name string) (File, error) { return d.open(name, os.O_CREATE|os.O_EXCL) }
func (d folder) Open(name string) (File, error)   { return d.open(name, 0) }

func (d folder) open(name string, how int) (File, error) {
	f, err := d.root.OpenFile(name, os.O_RDWR|how, 0o644)
	if err != nil {
		return nil, err
	}
	return file{f}, nil
}

func (d folder) Sync() error {
	if runtime.GOOS == "windows" { // which keeps names without being asked, and refuses to be
		return nil
	}
	f, err := d.root.Open(".")
	if err != nil {
		return err
	}
	defer f.Close()
	return f.Sync()
}

type file struct{ *os.File }

func (f file) Size() (int64, error) {
	about, err := f.Stat()
	if err != nil {
		return 0, err
	}
	return about.Size(), nil
}
