package mend

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

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
type Document struct {
	*assess.Assessment
	Last bool   // last.html is beside mend.html, to go back to
	Book string // the season's page, from where this one is; "" where no season wrote it
	// Field is the field's page beside this one; "" where there is none.
	Field string
}

func (d *Document) machine() string { return d.MachineName(d.Mend.Plan.Machine) }

// answer says what the drive is.
func (d *Document) answer(u quantity.Units) []string {
	p := d.Mend.Plan
	if len(p.Stops) == 0 {
		return append([]string{"No skips to go back for."}, d.omitted(u)...)
	}
	skips := d.Mend.Skips()
	var area plane.Area
	for _, s := range skips {
		area += d.Map.Skips[s].Area
	}
	out := []string{
		fmt.Sprintf("Go back: %s, about %s with %s, %s of skips.", words.Count(len(p.Places), "place"), words.Minutes(p.Time(d.Map.MeanSpeed())), words.Short(d.machine(), 40), u.Area(area)),
		words.Weighed(u, d.Mend, d.CropCurrency()),
		fmt.Sprintf("%s at work and %s of travel, %s of it over worked ground.", u.Length(p.Work()), u.Length(p.Travel()), u.Length(p.Worked())),
	}
	if p.Shortest && len(p.Stops) > 1 {
		out = append(out, "No other order has less travel and turning.")
	}
	return append(out, d.omitted(u)...)
}

// omitted are the sentences that say which skips are no part of the plan, and which
// ground is work and no mistake.
func (d *Document) omitted(u quantity.Units) []string {
	var out []string
	if n := len(d.Mend.Plan.Small); n > 0 {
		out = append(out, fmt.Sprintf("%s not gone back for: under %s, or narrower than %s.", words.Capital(words.Count(n, "smaller skip")), u.Area(mend.LeastArea), u.Length(plane.Distance(mend.LeastWidth))))
	}
	if n := len(d.Mend.NotWorth); n > 0 {
		out = append(out, fmt.Sprintf("%s not worth it: going back takes more than the crop brings.", words.Capital(words.Count(n, "skip"))))
	}
	numbers := d.SkipNumbers()
	if left := d.Mend.Plan.Left; len(left) > 0 {
		out = append(out, fmt.Sprintf("%s not gone back for: no line along it stays inside the field.", listOf("Skip", "Skips", numbers, left)))
	}
	if bent := d.Mend.Plan.Bent; len(bent) > 0 {
		out = append(out, fmt.Sprintf("%s not gone back for: so thin and bent that a run would work many times as much again.", listOf("Skip", "Skips", numbers, bent)))
	}
	if n := len(d.Mend.Plan.TooMany); n > 0 {
		out = append(out, fmt.Sprintf("%s more, the smallest, are not in this drive: mend these first, then plan again.", quantity.Number(float64(n), 0)))
	}
	if a := d.Map.Totals.Outlined; u.SomeArea(a) {
		out = append(out, u.Area(a)+" where the outline is likely off, and not the work, is no part of this.")
	}
	if a := d.Map.Totals.Remainder; a > 0 {
		out = append(out, u.Area(a)+" not worked yet is no part of this.")
	}
	return out
}

// listOf writes "Skip 4" or "Skips 4, 7".
func listOf(one, more string, numbers map[int]int, indices []int) string {
	var ids []string
	for _, i := range indices {
		ids = append(ids, fmt.Sprint(numbers[i]))
	}
	if len(ids) == 1 {
		return one + " " + ids[0]
	}
	return more + " " + strings.Join(ids, ", ")
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
	return fmt.Sprintf("%s, %s, %s", text, u.Area(area), words.InDoubt(d.Place(u, largest.Place, largest.At), largest.Doubt))
}

// wayWords say how to come to a stop and into which end.
func (d *Document) wayWords(u quantity.Units, s *mend.Stop) string {
	enter := fmt.Sprintf("enter at the %s end, heading %s", s.Run.Enter, headingWords(s.Run.Heading))
	if s.Run.Bends {
		enter += ", then round the bend"
	}
	switch l := &s.Leg; {
	case l.Off >= plane.Distance(plane.Metre):
		return fmt.Sprintf("%s on, the first %s outside the field; %s", u.Length(l.Length), u.Length(l.Off), enter)
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
		s += "; " + u.Area(r.Misses) + " stays bare beside it"
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
	if len(d.Mend.Plan.Stops) > mostStops {
		d.textGroups(&b)
	} else {
		d.textStops(&b)
	}
	b.WriteByte('\n')
	words.Wrap(&b, unknown)
	_, err := w.Write(b.Bytes())
	return err
}

// mostStops is how many stops are told one by one in a terminal: two screens.
const mostStops = 12

// textStops tells each stop in full.
func (d *Document) textStops(b *bytes.Buffer) {
	for i := range d.Mend.Plan.Stops {
		s := &d.Mend.Plan.Stops[i]
		b.WriteByte('\n')
		words.Hang(b, fmt.Sprintf("%3s  ", stopLabel(i)), d.skipWords(d.Units, s)+".")
		for _, line := range []string{d.wayWords(d.Units, s) + "; about " + d.minutes(i), sectionWords(s.Run.Open), sizeWords(d.Units, &s.Run)} {
			words.Hang(b, "     ", words.Capital(line)+".")
		}
	}
}

// textGroups tells many stops by the passes they lie along, in driving order: a driver
// goes along a pass, not from skip to skip.
func (d *Document) textGroups(b *bytes.Buffer) {
	stops := d.Mend.Plan.Stops
	pass := func(i int) int { return d.Map.Skips[stops[i].Run.Skips[0]].Place.Pass }
	b.WriteByte('\n')
	for i := 0; i < len(stops); {
		k := i
		var took time.Duration
		skips := map[int]bool{}
		var area plane.Area
		for ; k < len(stops) && pass(k) == pass(i); k++ {
			took += d.Mend.Plan.StopTime(k, d.Map.MeanSpeed())
			for _, s := range stops[k].Run.Skips {
				if !skips[s] {
					skips[s] = true
					area += d.Map.Skips[s].Area
				}
			}
		}
		label, where := stopLabel(i), fmt.Sprintf("along pass %d", pass(i))
		if k-i > 1 {
			label += "-" + stopLabel(k-1)
		}
		if pass(i) == 0 {
			where = "beside no pass"
		}
		words.Hang(b, words.Pad("  "+label, 9), fmt.Sprintf("%s, %s, %s, about %s.", words.Capital(where), words.Count(len(skips), "skip"), d.Units.Area(area), words.Minutes(took)))
		i = k
	}
	b.WriteByte('\n')
	words.Wrap(b, "Each stop with its sections and its heading is in "+PageFile+".")
}

func (d *Document) minutes(i int) string {
	return words.Minutes(d.Mend.Plan.StopTime(i, d.Map.MeanSpeed()))
}

// stopLabel is the letter of a stop, so that it is not taken for a skip's number: A to
// Z, then AA, AB and so on.
func stopLabel(i int) string {
	label := ""
	for i++; i > 0; i = (i - 1) / 26 {
		label = string(rune('A'+(i-1)%26)) + label
	}
	return label
}
