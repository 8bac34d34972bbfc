// Package history changes the files of a desk so that each change can be taken back: what
// a change replaced stands beside it until it is forgotten.
//
//	history/N/change.json   what change N was, and which files it made
//	history/N/was/...       what it replaced or took away
//	history/undone/N/...    what came with a change that was taken back
package history

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strconv"

	"lapwing/report"
	"lapwing/report/desk/store"
)

// Folder is the folder of a history in its store.
const Folder = "history"

// Names in history.
const (
	stepFile = "change.json"
	wasDir   = "was"
	undone   = Folder + "/undone"
)

// mostSteps is how many changes can be taken back.
const mostSteps = 200

// A Change is what is done to the files of a store at once.
type Change struct {
	What   string // in words, for undo: "the width of drill A"
	Put    map[string][]byte
	Stream []report.File // that are too large to hold
	Remove []string
	// Came are files that are there already and go with the change when it is undone:
	// those that were dropped.
	Came []string
}

// Set has the change give a file a text.
func (c *Change) Set(name string, text []byte) {
	if c.Put == nil {
		c.Put = map[string][]byte{}
	}
	c.Put[name] = text
}

// Empty reports whether a change touches no file.
func (c *Change) Empty() bool { return len(c.Put)+len(c.Stream)+len(c.Remove)+len(c.Came) == 0 }

// A step is a change as history keeps it.
type step struct {
	What string   `json:"what"`
	Was  []string `json:"was"`  // that it replaced or took away; they stand beside it
	Made []string `json:"made"` // that were not there before
}

// A History is the changes of a store, as long as a context lasts.
type History struct{ Files store.Heeding }

// Do does a change, with all that takes it back, as one set. A change that touches no file
// is none.
func (h History) Do(c Change) error {
	if c.Empty() {
		return nil
	}
	steps := h.steps()
	number := 1
	if len(steps) > 0 {
		number = steps[len(steps)-1] + 1
	}
	dir := path.Join(Folder, strconv.Itoa(number))
	s := step{What: c.What, Made: slices.Clone(c.Came)}
	var files []report.File
	touched := slices.Concat(slices.Sorted(maps.Keys(c.Put)), c.Remove)
	for _, f := range c.Stream {
		touched = append(touched, f.Name)
	}
	for _, name := range touched {
		if _, err := fs.Stat(h.Files.Store, name); err != nil {
			s.Made = append(s.Made, name)
			continue
		}
		s.Was = append(s.Was, name)
		files = append(files, h.Files.CopyOf(name, path.Join(dir, wasDir, name)))
	}
	for _, name := range slices.Sorted(maps.Keys(c.Put)) {
		files = append(files, store.FileOf(name, c.Put[name]))
	}
	files = append(files, c.Stream...)
	text, err := json.Marshal(s)
	if err != nil {
		return err
	}
	files = append(files, store.FileOf(path.Join(dir, stepFile), text))
	if err := h.Files.Put(h.Files.Context, files); err != nil {
		return err
	}
	if len(c.Remove) > 0 {
		if err := h.Files.Remove(c.Remove...); err != nil {
			return err
		}
	}
	for len(steps) >= mostSteps {
		if err := h.Files.Remove(store.Below(h.Files.Store, path.Join(Folder, strconv.Itoa(steps[0])))...); err != nil {
			return err
		}
		steps = steps[1:]
	}
	return nil
}

// steps are the numbers of the changes in history, in order.
func (h History) steps() (numbers []int) {
	entries, err := fs.ReadDir(h.Files.Store, Folder)
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

// last is the change that undo takes back, and its number; 0 for none.
func (h History) last() (s step, number int) {
	numbers := h.steps()
	for _, n := range slices.Backward(numbers) {
		text, err := fs.ReadFile(h.Files.Store, path.Join(Folder, strconv.Itoa(n), stepFile))
		if err == nil && json.Unmarshal(text, &s) == nil {
			return s, n
		}
		s = step{}
	}
	return step{}, 0
}

// Rules say of the files of a desk what taking a change back does with them.
type Rules struct {
	Own     func(name string) bool // a change may have made it
	Dropped func(name string) bool // a person brought it: it is never lost
	Remade  func(name string) bool // it comes again as it is: nothing of it is kept
}

// Undo takes the last change back; false where there is none. Files that came with it are
// kept in history: there may be no other copy of them.
func (h History) Undo(of Rules) (bool, error) {
	s, number := h.last()
	if number == 0 {
		return false, nil
	}
	dir := path.Join(Folder, strconv.Itoa(number))
	var files []report.File
	for _, name := range s.Was {
		from := path.Join(dir, wasDir, name)
		if !of.Own(name) {
			continue
		}
		if _, err := fs.Stat(h.Files.Store, from); err != nil {
			continue
		}
		files = append(files, h.Files.CopyOf(from, name))
		if of.Dropped(name) { // what was dropped is never lost
			if _, err := fs.Stat(h.Files.Store, name); err == nil {
				files = append(files, h.Files.CopyOf(name, path.Join(undone, strconv.Itoa(number), name)))
			}
		}
	}
	var gone []string
	for _, name := range s.Made {
		if _, err := fs.Stat(h.Files.Store, name); err != nil || !of.Own(name) {
			continue
		}
		gone = append(gone, name)
		if !of.Remade(name) {
			files = append(files, h.Files.CopyOf(name, path.Join(undone, strconv.Itoa(number), name)))
		}
	}
	if err := h.Files.Put(h.Files.Context, files); err != nil {
		return false, err
	}
	if err := h.Files.Remove(append(gone, store.Below(h.Files.Store, dir)...)...); err != nil {
		return false, err
	}
	return true, nil
}

// Last says in words what undo would take back; "" for nothing.
func (h History) Last() string {
	s, number := h.last()
	if number == 0 {
		return ""
	}
	if s.What == "" {
		return fmt.Sprintf("change %d", number)
	}
	return s.What
}
