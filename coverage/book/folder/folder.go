// Package folder keeps what is in files in a folder, each once and by its hash:
//
//	book.files/3f/3f9c2e...d1.gz
//
// They are packed by gzip, and can be had back without this program.
package folder

import (
	"compress/gzip"
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"lapwing/coverage/book"
)

// A Folder is a tables.Shelf in a folder, which is made when something is added.
type Folder struct{ dir string }

// New returns the shelf in a folder.
func New(dir string) *Folder { return &Folder{dir} }

// NameOf is the name of the file of a hash on any shelf, with slashes. It fails with
// [book.ErrNotFound] for a text that is no hash.
func NameOf(sha256 string) (string, error) {
	if len(sha256) < 3 || strings.ContainsAny(sha256, "/.") || !filepath.IsLocal(sha256) || filepath.Base(sha256) != sha256 {
		return "", book.ErrNotFound
	}
	return sha256[:2] + "/" + sha256 + ".gz", nil
}

// pathOf is where the file of a hash is.
func (f *Folder) pathOf(sha256 string) (string, error) {
	name, err := NameOf(sha256)
	return filepath.Join(f.dir, filepath.FromSlash(name)), err
}

// Has reports whether the file of a hash is there.
func (f *Folder) Has(_ context.Context, sha256 string) (bool, error) {
	path, err := f.pathOf(sha256)
	if err != nil {
		return false, err
	}
	_, err = os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	return err == nil, err
}

// Add keeps what from gives. The file gets its name once all of it is on the disk.
func (f *Folder) Add(ctx context.Context, sha256 string, from io.Reader) (err error) {
	path, err := f.pathOf(sha256)
	if err != nil {
		return err
	}
	defer func() {
		if isFull(err) {
			err = &book.DiskError{Err: err}
		}
	}()
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return err
	}
	removeAbandoned(filepath.Dir(path))
	to, err := os.CreateTemp(filepath.Dir(path), adding+"*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			to.Close()
			os.Remove(to.Name())
		}
	}()
	packed := gzip.NewWriter(to)
	if _, err := io.Copy(packed, &stopped{ctx, from}); err != nil {
		return err
	}
	if err := packed.Close(); err != nil {
		return err
	}
	if err := to.Sync(); err != nil {
		return err
	}
	if err := to.Close(); err != nil {
		return err
	}
	if err := os.Rename(to.Name(), path); err != nil {
		return err
	}
	syncDir(filepath.Dir(path))
	return nil
}

// adding is how names of files begin while they come, in the folder that they are for.
const adding = ".adding-"

// abandoned is how long after its last byte a file that came is nobody's: of one that is
// sent, something comes every few seconds.
const abandoned = 24 * time.Hour

// removeAbandoned takes away what killed processes left in a folder.
func removeAbandoned(dir string) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return // what comes cannot be put there either, which says why
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), adding) {
			continue
		}
		if info, err := e.Info(); err == nil && time.Since(info.ModTime()) > abandoned {
			_ = os.Remove(filepath.Join(dir, e.Name())) // another process may have done so
		}
	}
}

// syncDir has the names in a folder written to the disk. Some systems cannot.
func syncDir(dir string) {
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync()
		d.Close()
	}
}

// A stopped reader ends with its context.
type stopped struct {
	ctx  context.Context
	from io.Reader
}

func (s *stopped) Read(p []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.from.Read(p)
}

// Open opens the file of a hash; [book.ErrNotFound] where it is not there.
func (f *Folder) Open(_ context.Context, sha256 string) (io.ReadCloser, error) {
	path, err := f.pathOf(sha256)
	if err != nil {
		return nil, err
	}
	file, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, book.ErrNotFound
	}
	if err != nil {
		return nil, err
	}
	return Unpacked(file)
}

// Unpacked reads a packed file; to close it closes the file.
func Unpacked(packed io.ReadCloser) (io.ReadCloser, error) {
	unpacked, err := gzip.NewReader(packed)
	if err != nil {
		return nil, errors.Join(err, packed.Close())
	}
	return &opened{unpacked, packed}, nil
}

// An opened file is read unpacked.
type opened struct {
	*gzip.Reader
	packed io.Closer
}

// Close closes the file.
func (o *opened) Close() error { return o.packed.Close() }
