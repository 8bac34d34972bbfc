package season

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"lapwing/coverage/quantity"
	"lapwing/coverage/season"
	"lapwing/report"
	"lapwing/report/words"
)

// PageFile is the index of the book.
const PageFile = "season.html"

// PackageFile is the name of the GeoPackage of a season, which a program writes beside
// the book where it can: see report/season/gpkg.
const PackageFile = "season.gpkg"

// Files are the files of a book, its GeoPackage aside: SQLite needs that to be a
// file from the beginning, see package gpkg.
var Files = report.Table[*Book]{
	{"season.csv", (*Book).CSV},
	{"season-machines.csv", (*Book).MachinesCSV},
	{"season-laps.csv", (*Book).LapsCSV},
	{PageFile, (*Book).Page},
	{PrintFile, (*Book).Print},
}

// A Book is the entries of many fields, to be written as a season book.
type Book struct {
	Units   quantity.Units
	Source  string // tells apart what books were made of and by which program; "" where that is not asked
	Former  string // the same of the book before its files changed, of which those entries are that are kept
	Entries []*Entry
	Failed  []Failure // the jobs that failed
	Returns []Return  // the fields that were there in an earlier year too
	// NoOperators leaves who drove out of what is for all; their own pages are written
	// all the same.
	NoOperators bool
}

// A Failure is a job that could not be assessed, and why in one line.
type Failure struct{ Job, Why string }

// A Return is what two years of one field share.
type Return struct {
	Earlier, Later *Entry
	*season.Comparison
}

// Order numbers the entries by what needs attention: the last season first, and in
// each by its [measure], then by the ground worked twice or outside.
func (s *Book) Order() {
	by := map[*Entry]float64{}
	for _, y := range s.seasons() {
		m := measureOf(y.entries)
		for _, entry := range y.entries {
			by[entry] = m.of(entry)
		}
	}
	slices.SortStableFunc(s.Entries, func(a, b *Entry) int {
		return cmp.Or(
			cmp.Compare(s.yearOf(b), s.yearOf(a)),
			cmp.Compare(by[b], by[a]),
			cmp.Compare(b.Ground.Excess+b.Ground.OverReach, a.Ground.Excess+a.Ground.OverReach),
			cmp.Compare(a.Name(), b.Name()), cmp.Compare(a.Job, b.Job))
	})
	for i, entry := range s.Entries {
		entry.Number = i + 1
	}
	slices.SortStableFunc(s.Returns, func(a, b Return) int { return cmp.Or(cmp.Compare(b.Again, a.Again), byNumber(a.Later, b.Later)) })
}

// run names what the season holds: the same entries give the same one.
func (s *Book) run() string {
	h := sha256.New()
	fmt.Fprintln(h, s.Units)
	if s.NoOperators {
		fmt.Fprintln(h, "no operators")
	}
	for _, entry := range s.Entries {
		fmt.Fprintln(h, entry.Job, entry.Dir, entry.Run)
	}
	for _, f := range s.Failed {
		fmt.Fprintln(h, f.Job, f.Why)
	}
	return hex.EncodeToString(h.Sum(nil)[:6])
}

// years are the first and the last year of the work; 0 where no log has a
// clock.
func (s *Book) years() (first, last int) {
	for _, entry := range s.Entries {
		if y := entry.Year(); y > 0 {
			if first == 0 {
				first = y
			}
			first, last = min(first, y), max(last, y)
		}
	}
	return first, last
}

func (s *Book) title() string {
	switch first, last := s.years(); {
	case first == 0:
		return "Season book"
	case first == last:
		return fmt.Sprintf("Season book %d", first)
	default:
		return fmt.Sprintf("Season book %d to %d", first, last)
	}
}

// Text writes a screenful for the terminal: the answer of the last season, and its
// fields that need attention first.
func (s *Book) Text(w io.Writer) error {
	var b bytes.Buffer
	words.Wrap(&b, strings.Join(s.answer(s.Units), " "))
	for i, y := range s.seasons() {
		if i == 0 {
			y.text(&b)
			continue
		}
		t := y.total()
		fmt.Fprintln(&b)
		words.Wrap(&b, fmt.Sprintf("Season %s, in the book: %s, %s, %s of skipped ground.", y.name(), words.Count(len(y.entries), "field"), s.Units.SquareMetres(t.area), s.Units.SquareMetres(t.skipped)))
	}
	_, err := w.Write(b.Bytes())
	return err
}

// text writes the first entries of a season.
func (y *year) text(b *bytes.Buffer) {
	const most = 12
	u, m := y.Units, measureOf(y.entries)
	b.WriteByte('\n')
	words.Wrap(b, m.says())
	fmt.Fprintf(b, "\n%s %10s %10s %10s %10s\n", words.Pad("No. Field", 36), "area", map[bool]string{true: "to go back", false: "brings"}[m.currency == ""], "skips", "open")
	for i, entry := range y.entries {
		if i == most {
			fmt.Fprintf(b, "    and %s more in the book\n", quantity.Number(float64(len(y.entries)-most), 0))
			break
		}
		fmt.Fprintf(b, "%3d %s %10s %10s %10s %10s\n", entry.Number, words.Pad(words.Plain(entry.Name(), 32), 32),
			u.SquareMetres(entry.Field.Area.Float()), m.text(u, entry), u.SquareMetres(entry.skipped()), u.Metres(entry.open()))
	}
}

// days gives the first and the last day of work of an entry, UTC.
func (s *Entry) days() string {
	const layout = "2 Jan 2006"
	first, last := s.first.UTC().Format(layout), s.last.UTC().Format(layout)
	switch {
	case len(s.Passes) == 0:
		return "not worked"
	case s.first.IsZero():
		return "no clock"
	case s.last.IsZero() || first == last:
		return first
	}
	return first + " to " + last
}

// day is the first day of work as it sorts.
func (s *Entry) day() string {
	if s.first.IsZero() {
		return ""
	}
	return s.first.UTC().Format(time.DateOnly)
}
