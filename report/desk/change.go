package desk

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strconv"

	"lapwing/coverage/book"
	"lapwing/report"
	"lapwing/report/desk/pages"
	"lapwing/report/desk/store"
)

// notes are what desk.json keeps. Any of it may be missing.
type notes struct {
	Generator string            `json:"generator"`
	Units     string            `json:"units,omitempty"` // us or metric; "" while nobody has said
	Usual     string            `json:"usual,omitempty"` // the units of where the first fields lie
	Wrote     map[string]string `json:"wrote,omitempty"` // the job files that the desk wrote, by the hash of what it wrote last
	Ground    map[string]string `json:"ground,omitempty"`
	Placed    map[string]string `json:"placed,omitempty"`   // the job that a person put a log to; "" for none
	Answered  map[string]string `json:"answered,omitempty"` // questions that no file keeps, by their id
	Seen      map[string]int64  `json:"seen,omitempty"`     // the dropped files that were looked at, by their size
	From      map[string]string `json:"from,omitempty"`     // of dropped files that a watched folder had: where they lie there, as a hash
}

const generator = "lapwing"

// notesIn reads desk.json, and reports whether there is one. What cannot be read counts
// as not there, for no file hangs on it.
func notesIn(files fs.FS) (n notes, found bool) {
	const most = 16 << 20
	if f, err := files.Open(notesFile); err == nil {
		data, err := io.ReadAll(io.LimitReader(f, most))
		f.Close()
		if found = err == nil && json.Unmarshal(data, &n) == nil && n.Generator == generator; !found {
			n = notes{}
		}
	}
	n.Generator = generator
	for _, m := range []*map[string]string{&n.Wrote, &n.Ground, &n.Placed, &n.Answered, &n.From} {
		if *m == nil {
			*m = map[string]string{}
		}
	}
	if n.Seen == nil {
		n.Seen = map[string]int64{}
	}
	return n, found
}

// text is the notes as desk.json has them.
func (n *notes) text() []byte {
	text, _ := json.MarshalIndent(n, "", "  ") // of texts and numbers alone
	return append(text, '\n')
}

// A change is what one message does to the files of the desk.
type change struct {
	what   string // in words, for undo: "the width of drill A"
	put    map[string][]byte
	stream []report.File // that are too large to hold
	remove []string
	// came are files that are there already and go with the change when it is undone:
	// those that were dropped.
	came []string
}

func (c *change) set(name string, text []byte) {
	if c.put == nil {
		c.put = map[string][]byte{}
	}
	c.put[name] = text
}

// A step is a change as history keeps it.
type step struct {
	What string   `json:"what"`
	Was  []string `json:"was"`  // that it replaced or took away; they stand beside it
	Made []string `json:"made"` // that were not there before
}

// Names in history.
const (
	stepFile = "change.json"
	wasDir   = "was"
	undone   = historyDir + "/undone"
)

// mostSteps is how many changes can be taken back.
const mostSteps = 200

// commit does a change, with all that takes it back, as one set. What was there before
// stands in history until the change is forgotten.
func (a *ask) commit(c change) error {
	for name, text := range c.put {
		if a.holds(name, text) {
			delete(c.put, name)
		}
	}
	for name, text := range c.put {
		// A job stays a person's where a person has changed it, whatever it is told since.
		if _, err := fs.Stat(a.store, name); isJob(name) && (err != nil || a.byDesk(name)) {
			a.book.Wrote[name] = hashOf(text)
		}
	}
	for _, name := range c.remove {
		delete(a.book.Wrote, name)
		delete(a.book.Ground, name)
		delete(a.book.From, name)
	}
	if text := a.book.text(); !a.holds(notesFile, text) && (len(c.put)+len(c.stream)+len(c.remove)+len(c.came) > 0 || c.what != "") {
		c.set(notesFile, text)
	}
	if len(c.put)+len(c.stream)+len(c.remove)+len(c.came) == 0 {
		return nil
	}
	steps := a.steps()
	number := 1
	if len(steps) > 0 {
		number = steps[len(steps)-1] + 1
	}
	dir := path.Join(historyDir, strconv.Itoa(number))
	s := step{What: c.what, Made: slices.Clone(c.came)}
	var files []report.File
	touched := slices.Concat(slices.Sorted(maps.Keys(c.put)), c.remove)
	for _, f := range c.stream {
		touched = append(touched, f.Name)
	}
	for _, name := range touched {
		if _, err := fs.Stat(a.store, name); err != nil {
			s.Made = append(s.Made, name)
			continue
		}
		s.Was = append(s.Was, name)
		files = append(files, a.copyOf(name, path.Join(dir, wasDir, name)))
	}
	for _, name := range slices.Sorted(maps.Keys(c.put)) {
		files = append(files, store.FileOf(name, c.put[name]))
	}
	files = append(files, c.stream...)
	text, err := json.Marshal(s)
	if err != nil {
		return err
	}
	files = append(files, store.FileOf(path.Join(dir, stepFile), text))
	if err := a.store.Put(a.ctx, files); err != nil {
		return err
	}
	if len(c.remove) > 0 {
		if err := a.store.Remove(c.remove...); err != nil {
			return err
		}
	}
	for len(steps) >= mostSteps {
		if err := a.store.Remove(a.below(path.Join(historyDir, strconv.Itoa(steps[0])))...); err != nil {
			return err
		}
		steps = steps[1:]
	}
	return nil
}

// holds reports whether a file has a content.
func (a *ask) holds(name string, text []byte) bool {
	old, err := fs.ReadFile(a.store, name)
	return err == nil && bytes.Equal(old, text)
}

// copyOf is a file with the bytes of another.
func (a *ask) copyOf(name, to string) report.File {
	return report.File{Name: to, Write: func(w io.Writer) error {
		f, err := a.in.FS.Open(name)
		if err != nil {
			return err
		}
		defer f.Close()
		return a.copyTo(w, f)
	}}
}

// copyTo copies all that is read, as long as the ask lasts.
func (a *ask) copyTo(w io.Writer, r io.Reader) error {
	for {
		if err := a.ctx.Err(); err != nil {
			return err
		}
		if _, err := io.CopyN(w, r, 1<<20); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return err
		}
	}
}

func hashOf(text []byte) string {
	hash, _ := book.Hash(bytes.NewReader(text)) // from memory
	return hash
}

// steps are the numbers of the changes in history, in order.
func (d *Desk) steps() (numbers []int) {
	entries, err := fs.ReadDir(d.store, historyDir)
	if err != nil {
		return nil
	}
	for _, e := range entries {
		if n, err := strconv.Atoi(e.Name()); err == nil && n > 0 && e.IsDir() {
			numbers = append(numbers, n)
		}
	}
	slices.Sort(numbers)
	return numbers
}

// lastStep is the change that undo takes back, and its number; 0 for none.
func (d *Desk) lastStep() (s step, number int) {
	numbers := d.steps()
	for _, n := range slices.Backward(numbers) {
		text, err := fs.ReadFile(d.store, path.Join(historyDir, strconv.Itoa(n), stepFile))
		if err == nil && json.Unmarshal(text, &s) == nil {
			return s, n
		}
		s = step{}
	}
	return step{}, 0
}

// below lists all files below a folder.
func (d *Desk) below(dir string) []string { return store.Below(d.store, dir) }

// undo takes the last change back. Files that came with it are kept in history, for
// nobody may have another copy.
func (a *ask) undo() error {
	s, number := a.lastStep()
	if number == 0 {
		return wrong("found no change", "a change to take back")
	}
	dir := path.Join(historyDir, strconv.Itoa(number))
	var files []report.File
	for _, name := range s.Was {
		from := path.Join(dir, wasDir, name)
		if !isOwn(name) {
			continue
		}
		if _, err := fs.Stat(a.store, from); err != nil {
			continue
		}
		files = append(files, a.copyOf(from, name))
		if first, _, _ := cut(name); first == filesDir { // what was dropped is never lost
			if _, err := fs.Stat(a.store, name); err == nil {
				files = append(files, a.copyOf(name, path.Join(undone, strconv.Itoa(number), name)))
			}
		}
	}
	var gone []string
	for _, name := range s.Made {
		if _, err := fs.Stat(a.store, name); err != nil || !isOwn(name) {
			continue
		}
		gone = append(gone, name)
		if !isJob(name) || !a.byDesk(name) {
			files = append(files, a.copyOf(name, path.Join(undone, strconv.Itoa(number), name)))
		}
	}
	if err := a.store.Put(a.ctx, files); err != nil {
		return err
	}
	if err := a.store.Remove(append(gone, a.below(dir)...)...); err != nil {
		return err
	}
	a.book, _ = notesIn(a.store)
	return nil
}

// isOwn reports whether a name is one that a change may have made.
func isOwn(name string) bool {
	first, _, _ := cut(name)
	return fs.ValidPath(name) && first != historyDir && first != pages.Dir
}

// byDesk reports whether a job file is as the desk wrote it.
func (a *ask) byDesk(name string) bool {
	text, err := fs.ReadFile(a.store, name)
	return err == nil && a.book.Wrote[name] == hashOf(text)
}

// undoes says in words what undo would take back; "" for nothing.
func (d *Desk) undoes() string {
	s, number := d.lastStep()
	if number == 0 {
		return ""
	}
	if s.What == "" {
		return fmt.Sprintf("change %d", number)
	}
	return s.What
}
