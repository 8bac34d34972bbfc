package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
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
// killed later has begun what anybody can finish or undo: of each file the names
// in the directory tell how far it got.
//
//	0.new  0.old
//	yes    no     nothing was done
//	yes    yes    the old file is kept, and perhaps not in its place
//	no     yes    the new file is in its place
//	no     no     the new file is in its place, where there was none
type swap struct {
	Generator string   `json:"generator"`
	Files     []string `json:"files"` // their names, with slashes
	Made      []string `json:"made"`  // directories that were missing, outermost first
	// New says that no file takes the place of another.
	New bool `json:"new"`

	into, dir string
}

const (
	swapFile = "swap.json"
	newEnd   = ".new"
	oldEnd   = ".old"
)

// databaseFile is what versions before this one named a GeoPackage in the set
// while SQLite wrote it, with a file of its own beside it.
const databaseFile = "database"

// What the names are of a set's directory and of what is in it: nothing else is
// taken away, for the rest may be the user's. A journal is SQLite's, of a GeoPackage.
var (
	leftover = regexp.MustCompile(`^\.lapwing-[0-9]+$`)
	inSwap   = regexp.MustCompile(`^([0-9]+\.(new(-journal)?|old)|swap\.json|` + databaseFile + `(-[a-z]+)?)$`)
)

// newSwap begins a set of files of a directory.
func newSwap(into string) (*swap, error) {
	dir, err := unfinished.begin(func() (string, error) { return os.MkdirTemp(into, ".lapwing-*") })
	if err != nil {
		return nil, err
	}
	return &swap{Generator: mark, into: into, dir: dir}, nil
}

func (s *swap) at(i int, end string) string { return filepath.Join(s.dir, strconv.Itoa(i)+end) }
func (s *swap) place(i int) string          { return filepath.Join(s.into, filepath.FromSlash(s.Files[i])) }

// write writes the i-th file.
func (s *swap) write(i int, content func(io.Writer) error) error {
	f, err := os.OpenFile(s.at(i, newEnd), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	w := bufio.NewWriterSize(f, 1<<16)
	err = content(w)
	if err == nil {
		err = w.Flush()
	}
	return syncAndClose(f, err)
}

// writeAt has the i-th file written at its path in the set: a database is not
// written from its beginning to its end.
func (s *swap) writeAt(i int, make func(path string) error) error {
	err := make(s.at(i, newEnd))
	if err != nil {
		return err
	}
	f, err := os.OpenFile(s.at(i, newEnd), os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	return syncAndClose(f, nil)
}

// syncAndClose puts a file on the disk, if all went well so far.
func syncAndClose(f *os.File, err error) error {
	if err == nil {
		err = f.Sync()
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	return err
}

// ready says that all files are written: from here on a set that was begun is
// finished by whoever comes next.
func (s *swap) ready() error {
	seen := map[string]bool{}
	for i := range s.Files {
		for _, dir := range missing(filepath.Dir(s.place(i))) {
			if rel, err := filepath.Rel(s.into, dir); err == nil && !seen[dir] {
				seen[dir] = true
				s.Made = append(s.Made, filepath.ToSlash(rel))
			}
		}
	}
	i := len(s.Files) // a number that no file has
	if err := s.write(i, func(w io.Writer) error { return json.NewEncoder(w).Encode(s) }); err != nil {
		return err
	}
	if err := os.Rename(s.at(i, newEnd), filepath.Join(s.dir, swapFile)); err != nil {
		return err
	}
	return errors.Join(syncDirectory(s.dir), syncDirectory(s.into))
}

// finish gives all files their places that have not got them yet.
func (s *swap) finish() error {
	for _, dir := range s.Made {
		if err := os.MkdirAll(filepath.Join(s.into, filepath.FromSlash(dir)), 0o755); err != nil {
			return err
		}
	}
	dirs := map[string]bool{s.into: true}
	for i := range s.Files {
		dirs[filepath.Dir(s.place(i))] = true
		if err := s.move(i); err != nil {
			return err
		}
	}
	for dir := range dirs {
		if err := syncDirectory(dir); err != nil {
			return err
		}
	}
	return nil
}

// move gives the i-th file its place. It may have been begun before.
func (s *swap) move(i int) error {
	from, old, to := s.at(i, newEnd), s.at(i, oldEnd), s.place(i)
	if !exists(from) {
		return nil
	}
	if s.New {
		err := os.Link(from, to) // unlike a new name this never takes another's place
		switch {
		case err == nil, sameFile(from, to):
			return os.Remove(from)
		case exists(to):
			return outputError(to, "found a file of this name", "a new one; nothing is written over")
		}
		return os.Rename(from, to) // no links on this file system
	}
	if err := ours(to); err != nil {
		return err
	}
	if exists(to) {
		os.Remove(old) // of what stood there when it was begun before
		if err := os.Link(to, old); err != nil {
			if err := os.Rename(to, old); err != nil { // no links on this file system
				return err
			}
		}
	}
	return os.Rename(from, to)
}

// undo gives the places back to the files that were there before. A file that
// somebody else has put there since stays.
func (s *swap) undo() error {
	var errs []error
	for i := len(s.Files) - 1; i >= 0; i-- {
		from, old, to := s.at(i, newEnd), s.at(i, oldEnd), s.place(i)
		switch there := exists(to); {
		case exists(old):
			if there && (exists(from) || ours(to) != nil) {
				continue // it is the old one, or somebody else's
			}
			errs = append(errs, os.Rename(old, to))
		case !exists(from) && there && (s.New || ours(to) == nil):
			errs = append(errs, os.Remove(to))
		}
	}
	for i := len(s.Made) - 1; i >= 0; i-- {
		os.Remove(filepath.Join(s.into, filepath.FromSlash(s.Made[i]))) // only if it is empty
	}
	return errors.Join(errs...)
}

// drop takes away what is left of a set: nothing of it is wanted any more.
func (s *swap) drop() {
	os.Remove(filepath.Join(s.dir, swapFile)) // first: the rest says nothing without it
	os.RemoveAll(s.dir)
	unfinished.end(s.dir)
}

// tidy finishes or undoes what runs that were killed have begun in a directory,
// and takes away all else that they left. Nobody may be writing there.
func tidy(dir string) error {
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
		s := swap{into: dir, dir: at}
		if text, err := os.ReadFile(filepath.Join(at, swapFile)); err == nil && json.Unmarshal(text, &s) == nil && s.valid() && s.begun() {
			if err := s.finish(); err != nil {
				if err := s.undo(); err != nil {
					return unwritable(dir, err)
				}
			}
		}
		s.drop()
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
		season.Files.Names(), []string{packageFile, book.RecordFile, databaseFile})
}

// isSwap reports whether a directory holds nothing but what a set has.
func isSwap(dir string) bool {
	entries, err := os.ReadDir(dir)
	return err == nil && !slices.ContainsFunc(entries, func(e os.DirEntry) bool { return !inSwap.MatchString(e.Name()) || !e.Type().IsRegular() })
}

// valid reports whether a set that was read stays in its directory.
func (s *swap) valid() bool {
	for _, names := range [][]string{s.Files, s.Made} {
		for _, name := range names {
			if !filepath.IsLocal(filepath.FromSlash(name)) {
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
		if exists(s.at(i, newEnd)) {
			return true
		}
	}
	return false
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

func sameFile(a, b string) bool {
	p, err := os.Lstat(a)
	if err != nil {
		return false
	}
	q, err := os.Lstat(b)
	return err == nil && os.SameFile(p, q)
}

// isOfFiles reports whether an error is the system's about a file, rather than
// about what is in it.
func isOfFiles(err error) bool {
	var path *fs.PathError
	var link *os.LinkError
	var call *os.SyscallError
	return errors.As(err, &path) || errors.As(err, &link) || errors.As(err, &call)
}

// reasonOf is what the system says of a file, without the file's name.
func reasonOf(err error) string {
	var path *fs.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &path):
		return path.Err.Error()
	case errors.As(err, &link):
		return link.Err.Error()
	}
	return err.Error()
}
