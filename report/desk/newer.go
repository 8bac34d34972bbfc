package desk

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"io"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"lapwing/coverage/propose"
	"lapwing/report"
	"lapwing/report/desk/history"
	"lapwing/report/desk/store"
)

// numbered is a name that was taken by another file when its file came.
var numbered = regexp.MustCompile(`^(.*) \((\d+)\)(\.[^./]*)?$`)

// Renew notes where a file lies that a shell took by itself, such as its path in a
// watched folder, and lets it take the place of the version that was taken from there
// before.
func (d *Desk) Renew(ctx context.Context, name, from string) error {
	select {
	case d.turn <- struct{}{}:
		defer func() { <-d.turn }()
	case <-ctx.Done():
		return ctx.Err()
	}
	a := d.begin(ctx, nil)
	from = hashOf([]byte(from)) // notes are exported with the desk, and a path says whose it is
	if a.book.From[name] != from {
		a.book.From[name] = from
		if err := a.keepNotes(); err != nil {
			return err
		}
	}
	return a.renew()
}

// renew looks at the files that came under names that were taken. One that an earlier file
// of its name holds goes. One that is a newer version takes the earlier
// one's place, so that the jobs which name that have it: one that begins with all of the
// earlier file, as a log does that has grown, and one that a watched folder has where the
// earlier lay, unless both are logs of different times, as of a terminal that begins its
// log anew each day. Where a version does not begin with all of the one before, undo
// brings that back.
func (a *ask) renew() error {
	for _, name := range a.numbered() {
		earlier, how, err := a.earlier(name)
		switch {
		case err != nil:
			return err
		case how == apart:
			continue
		case how == continues:
			err = a.store.Put(a.ctx, []report.File{a.files().CopyOf(name, earlier)})
		case how == replaces:
			err = a.commit(history.Change{What: "the newer " + path.Base(earlier), Stream: []report.File{a.files().CopyOf(name, earlier)}})
		}
		if err != nil {
			return err
		}
		if err := a.store.Remove(name); err != nil {
			return err
		}
		a.forget(name)
		if from := a.book.From[name]; from != "" {
			a.book.From[earlier] = from
			delete(a.book.From, name)
			if err := a.keepNotes(); err != nil {
				return err
			}
		}
	}
	return nil
}

func (a *ask) keepNotes() error {
	return a.store.Put(a.ctx, []report.File{store.FileOf(notesFile, a.book.text())})
}

// numbered are the files that came since the last look under names that were taken,
// those of one name in the order in which they came.
func (a *ask) numbered() (names []string) {
	for _, name := range a.below(filesDir) {
		if _, seen := a.book.Seen[name]; !seen && numbered.MatchString(name) {
			names = append(names, name)
		}
	}
	if len(names) == 0 {
		return nil
	}
	jobs, err := a.jobFiles()
	if err != nil {
		return nil
	}
	for _, j := range jobs { // what a job names came before desk.json was lost
		of := slices.Concat(j.Tracks(), j.Ground)
		names = slices.DeleteFunc(names, func(name string) bool { return slices.Contains(of, name) })
	}
	slices.SortFunc(names, func(x, y string) int { // 9 before 10
		return cmp.Or(len(x)-len(y), strings.Compare(x, y))
	})
	return names
}

// How a file goes on from one that came earlier under its name.
type goesOn int

const (
	apart     goesOn = iota // it is another file
	held                    // the earlier one is the same, or begins with all of it
	continues               // it begins with all of the earlier one
	replaces                // it was taken from the same place
)

// earlier finds the file of which one with a number is a copy or a newer version.
func (a *ask) earlier(came string) (name string, how goesOn, err error) {
	parts := numbered.FindStringSubmatch(came)
	stem, end := parts[1], parts[3]
	number, err := strconv.Atoi(parts[2])
	if err != nil {
		return "", apart, nil
	}
	for n := min(number, mostFiles) - 1; n >= 1; n-- {
		name = stem + end
		if n > 1 {
			name = stem + " (" + strconv.Itoa(n) + ")" + end
		}
		info, err := fs.Stat(a.store, name)
		if err != nil || !info.Mode().IsRegular() {
			continue
		}
		if how, err = a.follows(came, name); how != apart || err != nil {
			return name, how, err
		}
		if from := a.book.From[came]; from != "" && from == a.book.From[name] {
			if other, err := a.otherTimes(came, name); err != nil || !other {
				return name, replaces, err
			}
		}
	}
	return "", apart, nil
}

// follows says how the bytes of a file go on from those of an earlier one.
func (a *ask) follows(name, earlier string) (goesOn, error) {
	f, err := a.in.Open(name)
	if err != nil {
		return apart, a.ctx.Err()
	}
	defer f.Close()
	g, err := a.in.Open(earlier)
	if err != nil {
		return apart, a.ctx.Err()
	}
	defer g.Close()
	p, q := make([]byte, 1<<16), make([]byte, 1<<16)
	for {
		n, errP := io.ReadFull(f, p)
		m, errQ := io.ReadFull(g, q)
		both := min(n, m)
		switch endP, endQ := ended(errP), ended(errQ); {
		case a.ctx.Err() != nil:
			return apart, a.ctx.Err()
		case errP != nil && !endP, errQ != nil && !endQ, !bytes.Equal(p[:both], q[:both]):
			return apart, nil
		case n < m, endP && n == m:
			return held, nil
		case n > m, endQ:
			return continues, nil
		}
	}
}

// ended reports whether an error says that a file has been read to its end.
func ended(err error) bool { return errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) }

// otherTimes reports whether two files are logs of work at different times.
func (a *ask) otherTimes(name, earlier string) (bool, error) {
	from, to, ok, err := a.times(name)
	if err != nil || !ok {
		return false, err
	}
	before, until, ok, err := a.times(earlier)
	return ok && (from.After(until) || to.Before(before)), err
}

// times are the first and the last time of a log; ok says that it tells them.
func (a *ask) times(name string) (from, to time.Time, ok bool, err error) {
	season, err := propose.Survey(a.in, []string{name}, propose.Options{Units: a.units(), Flat: true, Taken: func(string) bool { return false }})
	if err != nil {
		return from, to, false, a.ctx.Err()
	}
	for _, f := range season.Finds {
		for _, d := range f.Drives {
			if d.NoClock || d.From.IsZero() {
				continue
			}
			if !ok || d.From.Before(from) {
				from = d.From
			}
			if !ok || d.To.After(to) {
				to = d.To
			}
			ok = true
		}
	}
	return from, to, ok, season.Close()
}
