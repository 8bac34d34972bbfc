package mend

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"

	"lapwing/coverage/assess"
	"lapwing/coverage/mend"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/report"
	"lapwing/report/words"
)

// Files are the files of a document.
var Files = report.Table[*Document]{
	{"mend.geojson", (*Document).GeoJSON},
	{"mend.gpx", (*Document).GPX},
	{"mend.kml", (*Document).KML},
	{PageFile, (*Document).Page},
	{"mend.json", (*Document).JSON},
}

// PageFile is the page with the map of the drive.
const PageFile = "mend.html"

// A Document tells of the drive that an assessment was asked for.
type Document struct{ *assess.Assessment }

func (d *Document) machine() string { return d.MachineName(d.Mend.Plan.Machine) }

// answer says what the drive is.
func (d *Document) answer(u quantity.Units) []string {
	p := d.Mend.Plan
	if len(p.Stops) == 0 {
		return append([]string{"No skips to go back for."}, d.leftSentences(u)...)
	}
	skips := map[int]bool{}
	var area plane.Area
	for i := range p.Stops {
		for _, s := range p.Stops[i].Run.Skips {
			if !skips[s] {
				skips[s] = true
				area += d.Map.Skips[s].Area
			}
		}
	}
	out := []string{
		fmt.Sprintf("Mend %s, %s, with %s: %s at work and %s of travel, %s of it over worked ground.", words.Count(len(skips), "skip"), u.Area(area),
			words.Short(d.machine(), 40), u.Length(p.Work()), u.Length(p.Travel()), u.Length(p.Worked())),
	}
	if p.Shortest && len(p.Stops) > 1 {
		out = append(out, "No other order has less travel and turning.")
	}
	return append(out, d.leftSentences(u)...)
}

// leftSentences say which skips the plan leaves, and ground that is work and
// no mistake.
func (d *Document) leftSentences(u quantity.Units) []string {
	var out []string
	if n := len(d.Mend.Plan.Small); n > 0 {
		what := "smaller skip is"
		if n > 1 {
			what = "smaller skips are"
		}
		out = append(out, fmt.Sprintf("%d %s left: under %s, or narrower than %s.", n, what, u.Area(mend.LeastArea), u.Length(plane.Distance(mend.LeastWidth))))
	}
	if n := len(d.Mend.NotWorth); n > 0 {
		what := "skip is"
		if n > 1 {
			what = "skips are"
		}
		out = append(out, fmt.Sprintf("%d %s left: going back takes more than the crop brings.", n, what))
	}
	numbers := d.SkipNumbers()
	if left := d.Mend.Plan.Left; len(left) > 0 {
		out = append(out, fmt.Sprintf("%s left: no line along it stays inside the field.", listOf("Skip", "Skips", numbers, left)))
	}
	if bent := d.Mend.Plan.Bent; len(bent) > 0 {
		out = append(out, fmt.Sprintf("%s left: so thin and bent that a run would work many times as much again.", listOf("Skip", "Skips", numbers, bent)))
	}
	if n := len(d.Mend.Plan.TooMany); n > 0 {
		out = append(out, fmt.Sprintf("%s more, the smallest, are left: mend these first, then plan again.", quantity.Number(float64(n), 0)))
	}
	if a := d.Map.Totals.Remainder; a > 0 {
		out = append(out, u.Area(a)+" not worked yet is no part of this.")
	}
	return out
}

// listOf writes "Skip 4 is" or "Skips 4, 7 are".
func listOf(one, more string, numbers map[int]int, indices []int) string {
	var ids []string
	for _, i := range indices {
		ids = append(ids, fmt.Sprint(numbers[i]))
	}
	if len(ids) == 1 {
		return one + " " + ids[0] + " is"
	}
	return more + " " + strings.Join(ids, ", ") + " are"
}

// startWords say where the drive begins.
func (d *Document) startWords() string {
	at := d.Map.Field.Frame.ToEarth(d.Mend.Plan.Start)
	if d.Mend.Given {
		return "Start at " + quantity.LonLat(at.Lon, at.Lat) + "."
	}
	return fmt.Sprintf("Start where %s stopped, at %s.", words.Short(d.machine(), 40), quantity.LonLat(at.Lon, at.Lat))
}

// headingWords write a heading: "87 degrees, east".
func headingWords(b geo.Bearing) string {
	whole := int(math.Round(float64(b))) % 360
	return fmt.Sprintf("%d degrees, %s", whole, geo.Compass(b.Angle()))
}

// skipWords name the skip of a stop, and which part of it is driven.
func (d *Document) skipWords(u quantity.Units, s *mend.Stop) string {
	numbers := d.SkipNumbers()
	var area plane.Area
	var ids []string
	for _, i := range s.Run.Skips {
		area += d.Map.Skips[i].Area
		ids = append(ids, fmt.Sprint(numbers[i]))
	}
	text := "Skip " + ids[0]
	if len(ids) > 1 {
		text = "Skips " + strings.Join(ids, ", ")
	}
	if s.Run.Of > 1 {
		text += fmt.Sprintf(", drive %d of %d", s.Run.Lane, s.Run.Of)
	}
	largest := &d.Map.Skips[s.Run.Skips[0]]
	return fmt.Sprintf("%s, %s, %s", text, u.Area(area), d.Place(u, largest.Place, largest.At))
}

// wayWords say how to come to a stop and into which end.
func (d *Document) wayWords(u quantity.Units, s *mend.Stop) string {
	enter := fmt.Sprintf("enter at the %s end, heading %s", s.Run.Enter, headingWords(s.Run.Heading))
	if s.Run.Bends {
		enter += ", then round the bend"
	}
	switch l := &s.Leg; {
	case l.Outside:
		return "by road, no way over the field leads there; " + enter
	case l.Length < plane.Distance(plane.Metre):
		return "straight on; " + enter
	case l.Worked < plane.Distance(plane.Metre):
		return fmt.Sprintf("%s on, over no worked ground; %s", u.Length(l.Length), enter)
	case l.Worked < l.Length-plane.Distance(plane.Metre):
		return fmt.Sprintf("%s on, %s of it over worked ground; %s", u.Length(l.Length), u.Length(l.Worked), enter)
	}
	return fmt.Sprintf("%s on, over worked ground; %s", u.Length(s.Leg.Length), enter)
}

// sectionWords say which sections to keep open and which to shut, numbered
// from the left as driven.
func sectionWords(open []bool) string {
	var on, off []int
	for i, is := range open {
		if is {
			on = append(on, i+1)
		} else {
			off = append(off, i+1)
		}
	}
	switch {
	case len(open) == 1:
		return "the whole bar works: it has no sections to shut"
	case len(off) == 0:
		return fmt.Sprintf("keep all %d sections open", len(open))
	}
	noun := "section"
	if len(on) > 1 {
		noun = "sections"
	}
	return fmt.Sprintf("open %s %s of %d, shut %s", noun, runsOf(on), len(open), runsOf(off))
}

// runsOf writes rising numbers as "1-2 and 4-6".
func runsOf(numbers []int) string {
	var parts []string
	for i := 0; i < len(numbers); {
		k := i
		for k+1 < len(numbers) && numbers[k+1] == numbers[k]+1 {
			k++
		}
		if part := fmt.Sprint(numbers[i]); k > i {
			parts = append(parts, fmt.Sprintf("%s-%d", part, numbers[k]))
		} else {
			parts = append(parts, part)
		}
		i = k + 1
	}
	return strings.Join(parts, " and ")
}

// sizeWords say how long and wide the skip is along the run, and what the run
// costs and leaves.
func sizeWords(u quantity.Units, r *mend.Lane) string {
	s := fmt.Sprintf("%s long, %s wide", u.Length(r.Length), u.Length(r.Need))
	const speck = plane.SquareMetre
	if r.Again >= speck {
		s += "; works " + u.Area(r.Again) + " again"
	}
	if r.Misses >= speck {
		s += "; " + u.Area(r.Misses) + " stays beside it"
	}
	return s
}

// unknown says what no boundary and no log tells of.
const unknown = "Not known here: power lines, wet ground, washouts, fences, gates. Look before you drive."

// Text writes the drive for a terminal: the answer, then a step for each
// stop.
func (d *Document) Text(w io.Writer) error {
	var b bytes.Buffer
	words.Wrap(&b, strings.Join(d.answer(d.Units), " "))
	if len(d.Mend.Plan.Stops) > 0 {
		b.WriteByte('\n')
		words.Wrap(&b, d.startWords()+" Sections count from the left, as you drive.")
	}
	for i := range d.Mend.Plan.Stops {
		s := &d.Mend.Plan.Stops[i]
		b.WriteByte('\n')
		words.Hang(&b, fmt.Sprintf("%3d  ", i+1), d.skipWords(d.Units, s)+".")
		for _, line := range []string{d.wayWords(d.Units, s), sectionWords(s.Run.Open), sizeWords(d.Units, &s.Run)} {
			words.Hang(&b, "     ", words.Capital(line)+".")
		}
	}
	b.WriteByte('\n')
	words.Wrap(&b, unknown)
	_, err := w.Write(b.Bytes())
	return err
}
