package output

import (
	"bufio"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"

	"lapwing/coverage/book"
	fieldreport "lapwing/report/field"
	"lapwing/report/last"
	"lapwing/report/mend"
	"lapwing/report/season"
	"lapwing/report/waste"
)

// A swap puts files in place as one set, in a directory that others read.
//
//	DIR/.lapwing-123/0.new      a file, complete and on the disk
//	DIR/.lapwing-123/swap.json  this; once it is there, the set is to be finished
//	DIR/.lapwing-123/0.old      what the file takes the place of
//
// A run that is killed before swap.json is there has done nothing; one that is
// killed later has begun what any later run can finish or undo: of each file the names
// in the directory tell how far it got.
//
//	0.new  0.old
//	yes    no     nothing was done
//	yes    yes    the old file is kept, and perhaps not in its place
//	no     yes    the new file is in its place
//	no     no     the new file is in its place, where there was none
//
// All of it happens through an os.Root: no link in the directory leads out of it.
type swap struct {
	Generator string   `json:"generator"`
	Files     []string `json:"files"` // their names, with slashes
	Made      []string `json:"made"`  // directories that were missing, outermost first
	// Takes says whose files may go for those of the set.
	Takes takes `json:"takes"`
	// New is what versions before this one had for [takesNone].
	New bool `json:"new,omitempty"`
	// Gone are files that go with this set. Their old files are numbered after those of
	// Files.
	Gone []string `json:"gone,omitempty"`

	root    *os.Root // the directory that others read
	dir     string   // the name in it of the set's own
	syncing syncing  // of its files
}

// takes says whose files a set may take the place of.
type takes int

const (
	takesOurs takes = iota // those that lapwing wrote
	takesNone              // no file takes the place of another
	takesAll               // the directory is ours alone: a desk's
)

const (
	swapFile = "swap.json"
	newEnd   = ".new"
	oldEnd   = ".old"
)

// syncDirectory has the names in a directory written to the disk, which may take long.
var syncDirectory = syncNames

// databaseFile is what versions before this one named a GeoPackage in the set
// while SQLite wrote it, with a file of its own beside it.
const databaseFile = "database"

// The names of a set's directory and of what is in it. Files of other names are not taken
// away, for they may be the user's. A journal is SQLite's, of a GeoPackage.
var (
	leftover = regexp.MustCompile(`^\.lapwing-[0-9]+$`)
	inSwap   = regexp.MustCompile(`^([0-9]+\.(new(-journal)?|old)|swap\.json|` + databaseFile + `(-[a-z]+)?)$`)
)

// newSwap begins a set of files of a directory.
func newSwap(into string) (*swap, error) {
	root, err := os.OpenRoot(into)
	if err != nil {
		return nil, err
	}
	return newSwapIn(root)
}

// newSwapIn begins a set of files of a directory that is open. The set has it from then
// on: [swap.drop] closes it, and so does an error here.
func newSwapIn(root *os.Root) (*swap, error) {
	dir, err := unfinished.begin(func() (string, error) {
		return os.MkdirTemp(root.Name(), ".lapwing-*")
	})
	if err != nil {
		return nil, errors.Join(err, root.Close())
	}
	return &swap{Generator: mark, root: root, dir: filepath.Base(dir)}, nil
}

// Where the i-th file is until it gets its place, and where the one that it takes the
// place of is kept: names in the root.
func (s *swap) at(i int, end string) string { return path.Join(s.dir, strconv.Itoa(i)+end) }

// onDisk is the path of a name in the root, for messages and for SQLite.
func (s *swap) onDisk(name string) string {
	return filepath.Join(s.root.Name(), filepath.FromSlash(name))
}

// write writes the i-th file. Whether the disk has it [swap.ready] tells.
func (s *swap) write(i int, content func(io.Writer) error) error {
	var f *os.File
	err := unfinished.change(func() (err error) {
		f, err = s.root.OpenFile(s.at(i, newEnd), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		return err
	})
	if err != nil {
		return err
	}
	w := bufio.NewWriterSize(f, 1<<16)
	err = content(w)
	if err == nil {
		err = w.Flush()
	}
	if err != nil {
		f.Close()
		return err
	}
	s.syncing.begin(i, f)
	return nil
}

// writeAt has the i-th file written at its path in the set: a database is not
// written from its beginning to its end.
func (s *swap) writeAt(i int, make func(path string) error) error {
	err := make(s.onDisk(s.at(i, newEnd)))
	if err != nil {
		return err
	}
	f, err := s.root.OpenFile(s.at(i, newEnd), os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	s.syncing.begin(i, f)
	return nil
}

// place gives all files their places, or none. why puts into words what went wrong.
func (s *swap) place(why func(error) error) error {
	err := s.ready()
	if err != nil {
		return why(err)
	}
	err, back := s.finish()
	if err != nil {
		return errors.Join(why(err), back)
	}
	return nil
}

// ready says that all files are on the disk: from here on the next run finishes a set that
// was begun.
func (s *swap) ready() error {
	seen := map[string]bool{}
	for _, name := range s.Files {
		for _, dir := range s.missing(path.Dir(name)) {
			if !seen[dir] {
				seen[dir] = true
				s.Made = append(s.Made, dir)
			}
		}
	}
	i := len(s.Files) + len(s.Gone) // a number that no file has
	if err := s.write(i, func(w io.Writer) error { return json.NewEncoder(w).Encode(s) }); err != nil {
		return err
	}
	if _, err := s.syncing.end(); err != nil {
		return err
	}
	err := unfinished.change(func() error {
		return s.root.Rename(s.at(i, newEnd), path.Join(s.dir, swapFile))
	})
	if err != nil {
		return err
	}
	return errors.Join(syncDirectory(s.onDisk(s.dir)), syncDirectory(s.root.Name()))
}

// missing lists which of a directory and those it lies in are not there, outermost
// first.
func (s *swap) missing(dir string) (out []string) {
	for ; dir != "." && !s.exists(dir); dir = path.Dir(dir) {
		out = append([]string{dir}, out...)
	}
	return out
}

// finish gives all files their places that have not got them yet; where that cannot be, it
// gives all back, and back is what went wrong with that.
func (s *swap) finish() (err, back error) {
	err = unfinished.change(func() error {
		err := s.moveAll()
		if err != nil {
			back = s.undo()
		}
		return err
	})
	if err != nil {
		return err, back
	}
	if err = s.sync(); err != nil {
		back = unfinished.change(s.undo)
	}
	return err, back
}

// moveAll gives all files their places that have not got them yet, and takes away those
// that go.
func (s *swap) moveAll() error {
	for _, dir := range s.Made {
		if err := s.root.MkdirAll(dir, 0o755); err != nil {
			return err
		}
	}
	for i := range s.Files {
		if err := s.move(i); err != nil {
			return err
		}
	}
	for i, name := range s.Gone {
		if err := s.root.Rename(name, s.at(len(s.Files)+i, oldEnd)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

// sync has the names of all files written to the disk.
func (s *swap) sync() error {
	dirs := map[string]bool{".": true}
	for _, name := range slices.Concat(s.Files, s.Gone) {
		dirs[path.Dir(name)] = true
	}
	for dir := range dirs {
		if err := syncDirectory(s.onDisk(dir)); err != nil {
			return err
		}
	}
	return nil
}

// move gives the i-th file its place. It may have been begun before.
func (s *swap) move(i int) error {
	from, old, to := s.at(i, newEnd), s.at(i, oldEnd), s.Files[i]
	if !s.exists(from) {
		return nil
	}
	if s.Takes == takesNone {
		err := s.root.Link(from, to) // unlike a new name this never takes another's place
		switch {
		case err == nil, s.sameFile(from, to):
			return s.root.Remove(from)
		case s.exists(to):
			return Wrong(s.onDisk(to), "found a file of this name", "a new one; nothing is written over")
		}
		return s.root.Rename(from, to) // no links on this file system
	}
	if err := s.mayTake(to); err != nil {
		return err
	}
	if s.exists(to) {
		s.root.Remove(old) // of what stood there when it was begun before
		if err := s.root.Link(to, old); err != nil {
			if err := s.root.Rename(to, old); err != nil { // no links on this file system
				return err
			}
		}
	}
	return s.root.Rename(from, to)
}

// mayTake returns an error if the set may not take the place of what has a name.
func (s *swap) mayTake(name string) error {
	if s.Takes == takesAll {
		if info, err := s.root.Lstat(name); err == nil && info.IsDir() {
			return Wrong(s.onDisk(name), "found a directory", "a file")
		}
		return nil
	}
	return ours(s.onDisk(name))
}

// undo gives the places back to the files that were there before. A file that
// another program has put there since stays.
func (s *swap) undo() error {
	var errs []error
	for i, name := range slices.Backward(s.Gone) {
		if old := s.at(len(s.Files)+i, oldEnd); s.exists(old) && !s.exists(name) {
			errs = append(errs, s.root.Rename(old, name))
		}
	}
	for i, to := range slices.Backward(s.Files) {
		from, old := s.at(i, newEnd), s.at(i, oldEnd)
		switch there := s.exists(to); {
		case s.exists(old):
			if there && (s.exists(from) || s.mayTake(to) != nil) {
				continue // it is the old one, or another program's
			}
			errs = append(errs, s.root.Rename(old, to))
		case !s.exists(from) && there && (s.Takes == takesNone || s.mayTake(to) == nil):
			errs = append(errs, s.root.Remove(to))
		}
	}
	for _, dir := range slices.Backward(s.Made) {
		s.root.Remove(dir) // only if it is empty
	}
	return errors.Join(errs...)
}

// drop takes away what is left of a set that is done with.
func (s *swap) drop() {
	_, _ = s.syncing.end()                    // some systems take no file away that is open
	s.root.Remove(path.Join(s.dir, swapFile)) // first: without it the rest is no set
	s.root.RemoveAll(s.dir)
	unfinished.end(s.onDisk(s.dir))
	s.root.Close()
}

// Tidy finishes or undoes what runs that were killed have begun in a directory,
// and takes away all else that they left. No run may be writing there.
func Tidy(dir string) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return unwritable(dir, err)
	}
	for _, e := range entries {
		at := filepath.Join(dir, e.Name())
		if isEarlier(e) {
			os.Remove(at)
			continue
		}
		if !leftover.MatchString(e.Name()) || !e.IsDir() || !isSwap(at) {
			continue
		}
		root, err := os.OpenRoot(dir)
		if err != nil {
			return unwritable(dir, err)
		}
		s := swap{root: root, dir: e.Name()}
		if text, err := os.ReadFile(filepath.Join(at, swapFile)); err == nil && json.Unmarshal(text, &s) == nil && s.valid() && s.begun() {
			if _, back := s.finish(); back != nil {
				root.Close()
				return unwritable(dir, back)
			}
		}
		s.drop()
	}
	return nil
}

// TidyBelow puts right what runs that were killed left in the directories below one,
// also in those of jobs that are not done again.
func TidyBelow(at string) error {
	jobs, err := os.ReadDir(at)
	if err != nil {
		return nil // there are none yet
	}
	for _, j := range jobs {
		if j.IsDir() {
			if err := Tidy(filepath.Join(at, j.Name())); err != nil {
				return err
			}
		}
	}
	return nil
}

// earlier is what versions before this one named the files that they had not
// finished, each after the file it was to be.
var earlier = regexp.MustCompile(`^\.lapwing-[0-9]+-(.+)$`)

// isEarlier reports whether a run of such a version was killed over a file.
func isEarlier(e os.DirEntry) bool {
	of := earlier.FindStringSubmatch(e.Name())
	return of != nil && e.Type().IsRegular() && slices.Contains(earlierNames(), of[1])
}

// earlierNames are the files that those versions wrote.
func earlierNames() []string {
	return slices.Concat(fieldreport.Files.Names(), fieldreport.Tables.Names(), last.Files.Names(), mend.Files.Names(), waste.Files.Names(),
		season.Files.Names(), []string{season.PackageFile, book.RecordFile, databaseFile})
}

// isSwap reports whether a directory holds nothing but what a set has.
func isSwap(dir string) bool {
	entries, err := os.ReadDir(dir)
	return err == nil && !slices.ContainsFunc(entries, func(e os.DirEntry) bool { return !inSwap.MatchString(e.Name()) || !e.Type().IsRegular() })
}

// valid reports whether a set that was read stays in its directory.
func (s *swap) valid() bool {
	if s.New {
		s.Takes = takesNone
	}
	for _, names := range [][]string{s.Files, s.Made, s.Gone} {
		for _, name := range names {
			if !fs.ValidPath(name) || !filepath.IsLocal(filepath.FromSlash(name)) {
				return false
			}
		}
	}
	return s.Generator == mark
}

// begun reports whether a file has not got its place yet. Of a set that is
// finished the old files may have gone already.
func (s *swap) begun() bool {
	for i := range s.Files {
		if s.exists(s.at(i, newEnd)) {
			return true
		}
	}
	return slices.ContainsFunc(s.Gone, s.exists)
}

func (s *swap) exists(name string) bool {
	_, err := s.root.Lstat(name)
	return err == nil
}

func (s *swap) sameFile(a, b string) bool {
	p, err := s.root.Lstat(a)
	if err != nil {
		return false
	}
	q, err := s.root.Lstat(b)
	return err == nil && os.SameFile(p, q)
}
