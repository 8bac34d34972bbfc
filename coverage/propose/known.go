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

// signBeside tells one state of the files that belong to a table from another.
func (s *Season) signBeside(stem string, line func(string, fs.FileInfo) string) (sign string) {
	for _, end := range besideTables {
		for _, name := range []string{stem + end, stem + strings.ToUpper(end)} {
			if info, err := s.in.Stat(name); err == nil {
				sign += line(name, info)
			}
		}
	}
	return sign
}

// sign tells one state of a file from another: its size and its time, of a folder those
// of all in it, of a file of shapes or a table those of the files that belong to it. ""
// where that cannot be told.
func (s *Season) sign(p string) string {
	info, err := s.in.Stat(p)
	if err != nil {
		return ""
	}
	line := func(name string, info fs.FileInfo) string {
		return fmt.Sprintln(name, info.Size(), info.ModTime().UnixNano(), info.Mode())
	}
	dir := p
	switch end := strings.ToLower(path.Ext(p)); {
	case info.IsDir():
	case end == ".shp":
		dir = path.Dir(s.in.Abs(p))
	case end == ".csv" || end == ".txt":
		return line("", info) + s.signBeside(strings.TrimSuffix(p, path.Ext(p)), line)
	default:
		return line("", info)
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
