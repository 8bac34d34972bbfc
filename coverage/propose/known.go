package propose

import (
	"fmt"
	"io/fs"
	"path"
	"strings"
	"sync"
)

// Known remembers what files turned out to be, so that one that has not changed is not
// read again. Its zero value knows nothing. It holds for one set of formats, and one
// season at a time may use it.
type Known struct {
	mu     sync.Mutex
	files  map[string]known
	survey int // counts the surveys
}

type known struct {
	sign   string
	looked looked
	survey int // the last that asked
}

// seen is what a file turned out to be before, if it is as it was then.
func (k *Known) seen(path, sign string) (looked, bool) {
	if sign == "" {
		return looked{}, false
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	before, is := k.files[path]
	if !is || before.sign != sign {
		return looked{}, false
	}
	before.survey = k.survey
	k.files[path] = before
	return before.looked, true
}

func (k *Known) keep(path, sign string, l looked) {
	if sign == "" || l.err != nil {
		return
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.files == nil {
		k.files = map[string]known{}
	}
	k.files[path] = known{sign, l, k.survey}
}

// forget drops what the last survey did not ask for.
func (k *Known) forget() {
	if k == nil {
		return
	}
	for path, f := range k.files {
		if f.survey != k.survey {
			delete(k.files, path)
		}
	}
	k.survey++
}

// sign tells one state of a file from another: its size and its time, of a folder those
// of all in it, of a file of shapes those of the files that belong to it. "" where that
// cannot be told.
func (s *Season) sign(p string) string {
	info, err := s.in.Stat(p)
	if err != nil {
		return ""
	}
	line := func(name string, info fs.FileInfo) string {
		return fmt.Sprintln(name, info.Size(), info.ModTime().UnixNano(), info.Mode())
	}
	dir := p
	if !info.IsDir() {
		if !strings.EqualFold(path.Ext(p), ".shp") {
			return line("", info)
		}
		dir = path.Dir(s.in.Abs(p))
	}
	fsys, name, err := s.in.In(dir)
	if err != nil {
		return ""
	}
	var b strings.Builder
	err = fs.WalkDir(fsys, name, func(at string, e fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case e.IsDir() && at != name && !info.IsDir():
			return fs.SkipDir
		case e.IsDir() || !info.IsDir() && stemOf(at) != stemOf(s.in.Abs(p)):
			return nil
		}
		its, err := e.Info()
		if err == nil {
			b.WriteString(line(at, its))
		}
		return err
	})
	if err != nil {
		return ""
	}
	return b.String()
}
