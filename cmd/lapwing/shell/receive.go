package shell

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"unicode/utf8"

	"lapwing/coverage/job"
)

// Bounds on one file that is dropped. What a folder holds in all is the folder's to
// bound.
const (
	mostFile  = 2 << 30 // bytes: what GNSS logs of many seasons take
	mostName  = 1 << 10 // bytes
	mostDepth = 16      // folders within one another
)

// receive keeps a file that was dropped.
func (s *Shell) receive(w http.ResponseWriter, r *http.Request) {
	name, err := s.Take(r.Context(), r.URL.Query().Get("name"), http.MaxBytesReader(w, r.Body, mostFile))
	if err != nil {
		refuse(w, err)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(map[string]string{"name": name}) // the client may have gone
	s.Changed()
}

// Take keeps a file that was dropped, under the name that it returns. One that is there
// with the same content stays the only one.
func (s *Shell) Take(ctx context.Context, dropped string, body io.Reader) (stored string, err error) {
	if err := checkName(dropped); err != nil {
		return "", err
	}
	err = s.Folder.Receive(ctx, body, func(came fs.File) (string, error) {
		if name, there := s.keeps(dropped, came); there {
			stored = name
			return "", nil
		}
		stored, err = s.Desk.NameFor(dropped)
		return stored, err
	})
	var much *http.MaxBytesError
	if errors.As(err, &much) {
		err = &job.InputError{File: dropped, Found: fmt.Sprintf("found more than %d bytes", much.Limit), Want: "a file of at most 2 GiB"}
	}
	return stored, err
}

// keeps reports whether a file that came is there under its own name, or that with a
// number where there are others.
func (s *Shell) keeps(dropped string, came fs.File) (name string, there bool) {
	own := path.Join("files", dropped)
	if !fs.ValidPath(own) || !strings.HasPrefix(own, "files/") {
		return "", false
	}
	name = own
	for n := 2; ; n++ {
		if _, err := fs.Stat(s.Folder, name); err != nil {
			return "", false
		}
		if s.has(name, came) {
			return name, true
		}
		end := path.Ext(own)
		name = fmt.Sprintf("%s (%d)%s", strings.TrimSuffix(own, end), n, end)
	}
}

// checkName refuses names that no dropped file has.
func checkName(name string) error {
	want := "the name of a file, with the folders it was in"
	switch {
	case name == "":
		return &job.InputError{Found: "found no name", Want: want}
	case len(name) > mostName:
		return &job.InputError{File: name[:40] + "...", Found: "found a name of more than 1 KiB", Want: want}
	case !utf8.ValidString(name) || strings.ContainsRune(name, 0):
		return &job.InputError{Found: "found a name that is no text", Want: want}
	case strings.Count(name, "/") > mostDepth:
		return &job.InputError{File: name, Found: fmt.Sprintf("found a file more than %d folders deep", mostDepth), Want: want}
	}
	return nil
}

// has reports whether a file that is kept has the content of one that came.
func (s *Shell) has(stored string, came fs.File) bool {
	there, err := s.Folder.Open(stored)
	if err != nil {
		return false
	}
	defer there.Close()
	a, err := there.Stat()
	if err != nil || !a.Mode().IsRegular() {
		return false
	}
	b, err := came.Stat()
	if err != nil || a.Size() != b.Size() {
		return false
	}
	again, ok := came.(io.ReadSeeker)
	if !ok {
		return false
	}
	if _, err := again.Seek(0, io.SeekStart); err != nil {
		return false
	}
	return sameBytes(there, came)
}

func sameBytes(a, b io.Reader) bool {
	x, y := make([]byte, 1<<16), make([]byte, 1<<16)
	for {
		n, errA := io.ReadFull(a, x)
		m, errB := io.ReadFull(b, y)
		if !bytes.Equal(x[:n], y[:m]) {
			return false
		}
		if errA != nil || errB != nil {
			return ended(errA) && ended(errB)
		}
	}
}

func ended(err error) bool { return errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) }
