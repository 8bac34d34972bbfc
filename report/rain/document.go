// Package rain writes which fields to work before the rain: one page for the crew, and
// JSON.
package rain

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"lapwing/coverage/field"
	"lapwing/coverage/quantity"
	"lapwing/coverage/rain"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/report"
	"lapwing/report/words"
)

// Files are the files of a document.
var Files = report.Table[*Document]{
	{PageFile, (*Document).Page},
	{"rain.json", (*Document).JSON},
}

// PageFile is the page for the crew.
const PageFile = "rain.html"

// A Document tells of a plan.
type Document struct {
	Units quantity.Units
	Crew  *rain.Crew
	*rain.Question
	*rain.Plan
	Ammonia  bool   // a product of the last days is anhydrous ammonia
	Book     string // the season's page, beside this one
	Warnings []field.Warning
}

// clock writes a time as the crew reads it: with its date where that is another day than
// the rain's. Which zone it is of stands by the rain.
func (d *Document) clock(t geo.Instant) string {
	return strings.TrimSuffix(words.TimeOfDay(d.local(t), d.Rain.In(d.Hours.Zone)), " UTC")
}

func (d *Document) local(t geo.Instant) time.Time { return t.Time().In(d.Hours.Zone) }

// rainTime is when the rain is expected, with its date where that is not the last day
// worked.
func (d *Document) rainTime() string {
	return words.TimeOfDay(d.Rain.In(d.Hours.Zone), d.local(d.Hours.Now))
}

// verdict is the first sentence: how much is done before the rain.
func (d *Document) verdict(u quantity.Units) string {
	of := len(d.Next)
	if d.Done == 0 {
		which := fmt.Sprintf("none of %d fields is done", of)
		if of == 1 {
			which = "the one field is not done"
		}
		return fmt.Sprintf("Before the rain at %s %s: begin none.", d.rainTime(), which)
	}
	which := fmt.Sprintf("%d of %s", d.Done, words.Count(of, "field"))
	return fmt.Sprintf("Before the rain at %s: %s, %s: %s.", d.rainTime(), which, u.Area(d.Area), d.names(func(s *rain.Stop) bool { return s.Planned && !s.Begun }))
}

// rest are the sentences after it: what comes first, what is not sure, and what is not
// begun.
func (d *Document) rest(u quantity.Units) (out []string) {
	for i := range d.Stops {
		s := &d.Stops[i]
		if !s.Begun {
			continue
		}
		line := fmt.Sprintf("First finish %s: %s not worked yet, done about %s", words.Short(s.Name, 40), u.Area(s.Area), d.clock(s.End))
		if s.Before == rain.Unlikely || s.Before == rain.No {
			line += ": after the rain"
		}
		out = append(out, line+".")
	}
	likely := func(s *rain.Stop) bool { return s.Planned && s.Before == rain.Likely }
	if names := d.names(likely); names != "" {
		out = append(out, "Likely, not sure: "+names+".")
	}
	if names := d.names(func(s *rain.Stop) bool { return !s.Planned }); names != "" && d.Done > 0 {
		out = append(out, "Do not begin "+names+".")
	}
	return out
}

// mostNames is how many fields a sentence names.
const mostNames = 6

// names are those of some stops, in their order.
func (d *Document) names(which func(*rain.Stop) bool) string {
	var names []string
	more := 0
	for i := range d.Stops {
		switch {
		case !which(&d.Stops[i]):
		case len(names) < mostNames:
			names = append(names, words.Short(d.Stops[i].Name, 40))
		default:
			more++
		}
	}
	text := strings.Join(names, ", ")
	if more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

// order tells the place of a stop in the order: "1. ", or "leave: ".
func (d *Document) order(i int) string {
	if d.Stops[i].Planned {
		return fmt.Sprintf("%d. ", i+1)
	}
	return "leave: "
}

// zone names the zone of the times: "MDT", or "UTC+02" where it has no short name.
func (d *Document) zone() string {
	name, _ := d.Rain.In(d.Hours.Zone).Zone()
	if strings.HasPrefix(name, "+") || strings.HasPrefix(name, "-") {
		name = "UTC" + name
	}
	return name
}

// between writes the interval of the end.
func (d *Document) between(s *rain.Stop) string { return d.clock(s.Low) + " to " + d.clock(s.High) }

// fills writes how often each tank is filled for a field: "3 of UAN".
func (d *Document) fills(s *rain.Stop) string {
	var parts []string
	for _, f := range s.Fills {
		part := fmt.Sprintf("%d of %s", f.Count, words.Short(f.Product, 24))
		if len(d.Paces) > 1 {
			part += " on " + words.Short(f.Machine, 24)
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, "; ")
}

// stand writes where the trailer stands: "58.00012 N, 9.50341 E, east side".
func (d *Document) stand(s *rain.Stop) string {
	if s.Stand == nil {
		return ""
	}
	frame := geo.NewFrame(s.Middle)
	side := geo.Compass(plane.Direction(frame.Metres(*s.Stand)))
	return quantity.LonLat(s.Stand.Lon, s.Stand.Lat) + ", " + side + " side"
}

// hours says when the crew works.
func (d *Document) hours() string {
	if d.Hours.Day == (rain.Day{}) {
		return "to the rain"
	}
	if d.Hours.Day.To-d.Hours.Day.From >= 24*time.Hour {
		return "day and night"
	}
	clock := func(of time.Duration) string {
		if of > 24*time.Hour {
			of -= 24 * time.Hour
		}
		return fmt.Sprintf("%d:%02d", of/time.Hour, of%time.Hour/time.Minute)
	}
	return clock(d.Hours.Day.From) + " to " + clock(d.Hours.Day.To)
}

// sure says how far the times can be off.
func (d *Document) sure() string {
	told := words.Count(len(d.Spread.Told), "field")
	if d.Spread.Judged {
		return fmt.Sprintf("The interval is %s times less or more, by judgement: only %s of the last days can be told by the others, too few to say.", quantity.Number(d.Spread.Factor, 1), told)
	}
	if d.Spread.Least {
		return fmt.Sprintf("The interval is %s times less or more, the least taken, by judgement: each of %s of the last days is told better by the others.", quantity.Number(d.Spread.Factor, 2), told)
	}
	return fmt.Sprintf("Nine times in ten the end is within the interval, %s times less or more, if the machines go on as they have: so well each of %s of the last days is told by the others.", quantity.Number(d.Spread.Factor, 2), told)
}

// notes say how the plan was made.
func (d *Document) notes() []string {
	out := []string{
		fmt.Sprintf("The pace is that of %s of the last 14 days, these machines together: time at work and in stops by the area, time in turns by the passes that a field's breadth takes.", words.Count(len(d.Crew.Worked), "field")),
		d.sure() + " All fields in a row are taken to err the same way, so that intervals grow along the list.",
		"Yes: done before the rain even at the late end of the interval. No: not even at the early end. Likely and unlikely: by the middle.",
		"Fields to leave are told as if each were begun after those planned.",
	}
	if d.Exact {
		out = append(out, "No other choice and order leaves more ground done, and of those the most is sure.")
	} else {
		out = append(out, "The choice and order is the best of many tried; over 12 fields not all can be.")
	}
	if d.Hours.Day == (rain.Day{}) {
		out = append(out, "The logs are of one day, so that no end of the day is reckoned; --hours tells one.")
	} else {
		out = append(out, fmt.Sprintf("Work goes on from the last pass, %s: the earliest start and latest end of the last days, or --hours.", d.hours()))
	}
	if d.RoadSpeed > 0 {
		out = append(out, "Roads are taken as 4/π times the straight line from middle to middle: what a grid of roads makes of it on average.")
	} else {
		out = append(out, "No time on the road is reckoned; --road-speed adds it.")
	}
	if len(d.Crew.Tanks) > 0 {
		out = append(out, "Each field is begun with full tanks. The trailer stands where the straight ways from the boundary to the places at which tanks run dry are least, on passes driven to and fro the long way; whether one can get there and stand there is on no map here.")
	}
	return out
}

// cautions are those of this page.
func cautions() []string {
	return []string{
		"A forecast is no promise: rain comes sooner, later or elsewhere. Look again before each field is begun.",
		"Ground that does not carry the machine is not worked, whatever this page says: who knows the ground decides.",
		"How long before rain a product may go down is on its label and in the local code. No plan is worth a tired driver.",
	}
}

// Text writes a few lines for a terminal.
func (d *Document) Text(w io.Writer) error {
	var b bytes.Buffer
	b.WriteByte('\n')
	words.Wrap(&b, strings.Join(append([]string{d.verdict(d.Units)}, d.rest(d.Units)...), " "))
	const most = 12
	for i := range d.Stops {
		s := &d.Stops[i]
		if i == most {
			fmt.Fprintf(&b, "  and %d more on the page\n", len(d.Stops)-most)
			break
		}
		line := fmt.Sprintf("%s, %s, %s: %s to %s (%s)", words.Short(s.Name, 40), d.Units.Area(s.Area), s.Before, d.clock(s.Start), d.clock(s.End), d.between(s))
		if fills := d.fills(s); fills != "" {
			line += "; fills: " + fills
		}
		words.Hang(&b, "  "+d.order(i), line)
	}
	words.Wrap(&b, "A forecast is no promise, and who knows the ground decides.")
	_, err := w.Write(b.Bytes())
	return err
}

// share is part of a time as a share of all of it.
func share(part, of time.Duration) float64 {
	if of <= 0 {
		return math.NaN()
	}
	return float64(part) / float64(of)
}
