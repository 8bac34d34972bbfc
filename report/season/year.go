package season

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
	"lapwing/report/words"
)

// A year is the season of one year: its page shows one at a time, and its sentence
// and its lists are of the same entries.
type year struct {
	*Book
	of      int      // 0 where no log has a clock
	entries []*Entry // in the order of what needs attention
}

// yearOf is the season that an entry belongs to: that of its first work. One that
// has no clock, or nothing worked, is of the last season, since it may still be
// acted on.
func (s *Book) yearOf(entry *Entry) int {
	if y := entry.Year(); y > 0 {
		return y
	}
	_, last := s.years()
	return last
}

// seasons are the years of the book, the last one first.
func (s *Book) seasons() []*year {
	var out []*year
	for _, entry := range s.Entries {
		of := s.yearOf(entry)
		i := slices.IndexFunc(out, func(y *year) bool { return y.of == of })
		if i < 0 {
			i = len(out)
			out = append(out, &year{Book: s, of: of})
		}
		out[i].entries = append(out[i].entries, entry)
	}
	slices.SortStableFunc(out, func(a, b *year) int { return cmp.Compare(b.of, a.of) })
	return out
}

// name is the year in words.
func (y *year) name() string {
	if y.of == 0 {
		return "year not known"
	}
	return fmt.Sprint(y.of)
}

// id makes the name of an element one of this season's: those of the last season go
// by their plain names.
func (y *year) id(name string) string {
	if _, last := y.years(); y.of == last {
		return name
	}
	return fmt.Sprintf("%s-%d", name, y.of)
}

// A seasonTotal is what the entries of a season come to.
type seasonTotal struct {
	area, skipped, remainder, excess, overreach, unlogged, open float64 // m², open in m
	skips, skipFields, openFields, remainderFields              int
	nitrogen                                                    float64
	nitrogenKnown                                               bool
	cost                                                        purse
}

func (y *year) total() seasonTotal {
	t := seasonTotal{cost: purse{}}
	for _, entry := range y.entries {
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
// back, what did it cost, and what changed from the year before.
func (y *year) answer(u quantity.Units) []string {
	t := y.total()
	line := fmt.Sprintf("%s, %s.", words.Count(len(y.entries), "field"), u.SquareMetres(t.area))
	if first, last := y.years(); first != last {
		line = y.name() + ": " + line
	}
	out := []string{line}
	if t.skips > 0 {
		line := fmt.Sprintf("%s on %s, %s of skipped ground in all", words.Count(t.skips, "skip"), words.Count(t.skipFields, "field"), u.SquareMetres(t.skipped))
		if most := y.mostSkipped(); t.skipFields > 1 {
			line += fmt.Sprintf("; the most on %s, %s", words.Name(most.Name()), u.SquareMetres(most.skipped()))
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
	returns := y.returns()
	if len(returns) > 0 {
		out = append(out, y.changeSentence(u, returns))
		again := 0.0
		for _, r := range returns {
			again += r.Again.SquareMetres()
		}
		out = append(out, fmt.Sprintf("%s of skips lay where there were skips in an earlier year.", u.SquareMetres(again)))
	}
	return out
}

// mostSkipped is the entry with the most skipped ground.
func (y *year) mostSkipped() *Entry {
	return slices.MaxFunc(y.entries, func(a, b *Entry) int {
		return cmp.Or(cmp.Compare(a.skipped(), b.skipped()), cmp.Compare(b.Number, a.Number))
	})
}

// answer is what the last season says, and what could not be read.
func (s *Book) answer(u quantity.Units) []string {
	var out []string
	if seasons := s.seasons(); len(seasons) > 0 {
		out = seasons[0].answer(u)
	} else {
		out = []string{"No field could be assessed; see why below."}
	}
	if said := s.failedSentence(); said != "" {
		out = append(out, said)
	}
	return out
}

func (s *Book) failedSentence() string {
	if n := len(s.Failed); n > 0 {
		return words.Count(n, "job") + " could not be assessed."
	}
	return ""
}

// sentences are an answer in both systems of units.
func (s *Book) sentences(of func(u quantity.Units) []string) words.Text {
	return words.Both(s.Units, func(u quantity.Units) string { return strings.Join(of(u), " ") })
}
