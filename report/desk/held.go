//go:build !js

package desk

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"
	"time"

	"lapwing/coverage/book"
	"lapwing/geo"
	"lapwing/report"
	"lapwing/report/desk/asked"
	"lapwing/report/desk/history"
	"lapwing/report/desk/pages"
	"lapwing/report/desk/store"
)

// Held are the fields that a book holds and that are not on the desk.
type Held struct {
	Fields  []HeldField `json:"fields"`            // the latest work first
	All     int         `json:"all"`               // how many there are, with those that are not listed
	Trouble string      `json:"trouble,omitempty"` // why the book does not tell
}

// A HeldField is a field of a book, and one operation there.
type HeldField struct {
	Key      string    `json:"key"` // of its job; fetch brings that onto the desk
	Field    string    `json:"field"`
	Days     [2]string `json:"days"` // in UTC, of the first and the last work; "" where no log has a clock
	Machines []string  `json:"machines"`
	Area     string    `json:"area"`
}

// mostHeld is how many fields of a book are listed at a time: some screens full.
const mostHeld = 100

// ofBook answers what only a desk with a book can do.
func (a *ask) ofBook(m message) Reply {
	switch {
	case a.opt.Book == nil:
		return fail(wrong("found no book", "a desk that was opened with --book"))
	case m.Do == "held":
		return reply(a.held(m.Find), nil)
	}
	return a.thenLook(a.fetch(m.Key))
}

// held lists the fields that the book holds and that are not on the desk, those of a name
// only where part of one is given; nil where there is no book.
func (a *ask) held(name string) *Held {
	b := a.opt.Book
	if b == nil {
		return nil
	}
	out := &Held{Fields: []HeldField{}}
	standing, all, err := b.Store.Standing(a.ctx, book.Choice{Named: name, Except: b.Place, Most: mostHeld})
	if err != nil { // the desk does without it for as long
		out.Trouble = "the book does not answer: " + err.Error()
		return out
	}
	out.All = all
	day := func(at time.Time) string {
		if at.IsZero() {
			return ""
		}
		return at.Format(time.DateOnly)
	}
	for _, s := range standing {
		f := HeldField{Key: s.Job, Field: s.Field, Days: [2]string{day(s.First), day(s.Last)}, Machines: s.Machines, Area: a.units().SquareMetres(s.Area)}
		if s.Operation != "" {
			f.Field += ", " + s.Operation
		}
		if f.Machines == nil {
			f.Machines = []string{}
		}
		out.Fields = append(out.Fields, f)
	}
	return out
}

// fetch brings a job of the book onto the desk, with its files, as if a person had
// dropped them in a folder of the field's name.
func (a *ask) fetch(key string) error {
	of := a.opt.Book.Store
	job, err := of.Job(a.ctx, key)
	if errors.Is(err, book.ErrNotFound) {
		return wrong("found no job "+quoted(key)+" in the book", "one that it holds")
	}
	if err != nil {
		return fmt.Errorf("the book: %w", err)
	}
	stored, err := of.Stored(a.ctx, key)
	if err != nil {
		return fmt.Errorf("the book: %w", err)
	}
	first, _, err := book.ReadPart(stored[0])
	if err != nil {
		return fmt.Errorf("the book: %w", err)
	}
	// A job of several fields goes by its file.
	name := strings.TrimSuffix(job.Files[0].Name, path.Ext(job.Files[0].Name))
	if len(stored) == 1 {
		name = book.NamesOf(job.Files[0].Name).Real(first.Field.Name)
	}
	if a.book.Usual == "" {
		x := geo.NoExtent()
		widen(&x, shells(first.Boundary)...)
		a.book.Usual = pages.UnitsName(asked.UsualUnits(x))
	}
	at, err := a.placesOf(job, name)
	if err != nil {
		return err
	}
	c := history.Change{What: name + ", from the book"}
	for i, f := range job.Files {
		c.Stream = append(c.Stream, report.File{Name: at[i], Write: func(w io.Writer) error {
			from, err := of.OpenFile(a.ctx, f.SHA256)
			if err != nil {
				return fmt.Errorf("the book: %s: %w", f.Name, err)
			}
			defer from.Close()
			return a.files().Copy(w, from)
		}})
		a.book.Seen[at[i]] = f.Size // it came with this change, and no other
		if i > 0 {
			a.book.Placed[at[i]] = at[0] // a log of this job, and of no new one
		}
	}
	return a.commit(c)
}

// placesOf are the places on the desk for the files of a job, in a folder of a name that
// is free. Where the job names files that lie around its own folder it stands so many
// folders down.
func (a *ask) placesOf(job *book.Sought, name string) (places []string, err error) {
	if name = store.PlainPart(strings.NewReplacer("/", " ", `\`, " ").Replace(name)); name == "" {
		name = "field"
	}
	home := a.freeName(path.Join(filesDir, name), func(string) bool { return false })
	up := 0
	for _, f := range job.Files {
		up = max(up, strings.Count(f.Name, "../"))
	}
	within := path.Join(home, path.Join(slices.Repeat([]string{"job"}, up)...))
	for _, f := range job.Files {
		if path.IsAbs(f.Name) || len(f.Name) > 1 && f.Name[1] == ':' {
			return nil, wrong("found a job that names "+quoted(f.Name)+", a place of one computer", "a job whose files lie around it: drop its files here instead")
		}
		at := path.Join(within, f.Name)
		if !fs.ValidPath(at) || !strings.HasPrefix(at, home+"/") {
			return nil, wrong("found a job that names "+quoted(f.Name), "a job whose files lie around it")
		}
		places = append(places, at)
	}
	return places, nil
}
