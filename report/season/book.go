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
	"lapwing/geo/plane"
	"lapwing/report"
	"lapwing/report/words"
)

// PageFile is the index of the book.
const PageFile = "season.html"

// Files are the files of a book, its GeoPackage aside: SQLite needs that to be a
// file from the beginning, see [Book.GeoPackage].
var Files = report.Table[*Book]{
	{"season.csv", (*Book).CSV},
	{"season-machines.csv", (*Book).MachinesCSV},
	{PageFile, (*Book).Page},
}

// A Book is the entries of many fields, to be written as a season book.
type Book struct {
	Units   quantity.Units
	Source  string // tells apart what books were made of and by which program; "" where nobody asks
	Entries []*Entry
	Failed  []Failure // the jobs that failed
	Returns []Return  // the fields that were there in an earlier year too
}

// A Failure is a job that could not be assessed, and why in one line.
type Failure struct{ Job, Why string }

// A Return is what two years of one field share.
type Return struct {
	Earlier, Later *Entry
	*season.Comparison
}

// current are the entries that no later year's entry of the same field stands
// for: those that can still be acted on.
func (s *Book) current() []*Entry {
	return slices.DeleteFunc(slices.Clone(s.Entries), s.past)
}

// past reports whether a later year's entry stands for an entry.
func (s *Book) past(entry *Entry) bool {
	return slices.ContainsFunc(s.Returns, func(r Return) bool { return r.Earlier == entry })
}

// Order numbers the entries by what needs attention: the most ground to go
// back for first, then the most ground worked twice or outside; those of past
// years last.
func (s *Book) Order() {
	last := func(entry *Entry) int {
		if s.past(entry) {
			return 1
		}
		return 0
	}
	slices.SortStableFunc(s.Entries, func(a, b *Entry) int {
		return cmp.Or(
			cmp.Compare(last(a), last(b)),
			cmp.Compare(b.skipped(), a.skipped()),
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
	for _, entry := range s.Entries {
		fmt.Fprintln(h, entry.Job, entry.Dir, entry.Run)
	}
	for _, f := range s.Failed {
		fmt.Fprintln(h, f.Job, f.Why)
	}
	return hex.EncodeToString(h.Sum(nil)[:6])
}

// A seasonTotal is what the current entries come to.
type seasonTotal struct {
	area, skipped, remainder, excess, overreach, unlogged, open float64 // m², open in m
	skips, skipFields, openFields, remainderFields              int
	nitrogen                                                    float64
	nitrogenKnown                                               bool
	cost                                                        purse
}

func (s *Book) total() seasonTotal {
	t := seasonTotal{cost: purse{}}
	for _, entry := range s.current() {
		t.area += entry.Field.Area.Float()
		t.skipped += entry.skipped()
		t.remainder += entry.unworked()
		t.excess += entry.Ground.Excess.Float()
		t.overreach += entry.Ground.OverReach.Float()
		t.unlogged += entry.Ground.Unlogged.Float()
		t.open += entry.open()
		t.skips += entry.skips()
		if entry.skips() > 0 {
			t.skipFields++
		}
		if entry.open() > 0 {
			t.openFields++
		}
		if entry.unworked() > 0 {
			t.remainderFields++
		}
		if kg, known := entry.nitrogen(); known {
			t.nitrogen, t.nitrogenKnown = t.nitrogen+kg, true
		}
		t.cost.add(entry.cost())
	}
	return t
}

// answer is what a manager came to ask, in sentences: where must a machine go
// back, what did it cost, and what could not be read.
func (s *Book) answer(u quantity.Units) []string {
	if len(s.Entries) == 0 {
		return []string{"No field could be assessed; see why below."}
	}
	t := s.total()
	out := []string{fmt.Sprintf("%s, %s.", words.Count(len(s.current()), "field"), u.SquareMetres(t.area))}
	if t.skips > 0 {
		first := s.Entries[0]
		line := fmt.Sprintf("%s on %s, %s of skipped ground in all", words.Count(t.skips, "skip"), words.Count(t.skipFields, "field"), u.SquareMetres(t.skipped))
		if t.skipFields > 1 {
			line += fmt.Sprintf("; the most on %s, %s", words.Short(s.label(first), 60), u.SquareMetres(first.skipped()))
		}
		out = append(out, line+".")
	} else {
		out = append(out, "No skips to go back for.")
	}
	if t.openFields > 0 && u.SomeLength(plane.DistanceOf(t.open)) {
		out = append(out, fmt.Sprintf("Headland open on %s, %s.", words.Count(t.openFields, "field"), u.Metres(t.open)))
	} else {
		out = append(out, "No headland open.")
	}
	if u.SomeSquareMetres(t.remainder) {
		out = append(out, fmt.Sprintf("%s not worked yet on %s.", u.SquareMetres(t.remainder), words.Count(t.remainderFields, "field")))
	}
	if u.SomeSquareMetres(t.excess + t.overreach) {
		line := u.SquareMetres(t.excess+t.overreach) + " worked twice or outside"
		if t.nitrogenKnown {
			line += ", " + u.Mass(t.nitrogen) + " of N"
		}
		if len(t.cost) > 0 {
			line += ", " + t.cost.text()
		}
		out = append(out, line+".")
	}
	if n := len(s.Returns); n > 0 {
		again := 0.0
		for i := range s.Returns {
			again += s.Returns[i].Again.SquareMetres()
		}
		out = append(out, fmt.Sprintf("%s of skips lay where there were skips in an earlier year.", u.SquareMetres(again)))
	}
	if n := len(s.Failed); n > 0 {
		out = append(out, fmt.Sprintf("%s could not be assessed.", words.Count(n, "job")))
	}
	return out
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

// label names an entry: by its field, and by its year where there are several.
func (s *Book) label(entry *Entry) string {
	if first, last := s.years(); first != last && entry.Year() > 0 {
		return fmt.Sprintf("%s, %d", entry.Name(), entry.Year())
	}
	return entry.Name()
}

// Text writes a screenful for the terminal: the answer, and the fields that
// need attention first.
func (s *Book) Text(w io.Writer) error {
	var b bytes.Buffer
	words.Wrap(&b, strings.Join(s.answer(s.Units), " "))
	if len(s.Entries) > 0 {
		fmt.Fprintf(&b, "\n%s %10s %10s %10s %10s\n", words.Pad("No. Field", 36), "area", "skips", "open", "twice")
	}
	const most = 12
	for i, entry := range s.Entries {
		if i == most {
			fmt.Fprintf(&b, "    and %s more in the book\n", quantity.Number(float64(len(s.Entries)-most), 0))
			break
		}
		u := s.Units
		fmt.Fprintf(&b, "%3d %s %10s %10s %10s %10s\n", entry.Number, words.Pad(words.Plain(s.label(entry), 32), 32),
			u.SquareMetres(entry.Field.Area.Float()), u.SquareMetres(entry.skipped()), u.Metres(entry.open()), u.SquareMetres(entry.Ground.Excess.Float()))
	}
	_, err := w.Write(b.Bytes())
	return err
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
