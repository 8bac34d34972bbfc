package words

import (
	"fmt"
	"math"
	"strings"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/assess"
	"lapwing/coverage/beside"
	"lapwing/coverage/field"
	"lapwing/coverage/mend"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// Headland says whether the headland of a field is closed.
func Headland(u quantity.Units, m *coverage.Map) string {
	e := m.Headland.Edge
	open, silent := u.SomeLength(e.Open), u.SomeLength(e.Unlogged)
	places, length := m.Headland.OpenByWork()
	switch {
	case m.Field.Worked:
		return "No boundary given: the outer edge of the worked ground stands in for it."
	case e.Length == 0:
		return "No headland to speak of."
	case open && e.Reached == 0 && !silent && m.Headland.Outlined == nil:
		return "Headland open all the way round, " + u.Length(e.Open) + "."
	case !open && !silent:
		return "Headland closed all the way round."
	case !open:
		return fmt.Sprintf("Headland closed as far as the log tells; it is silent along %s of the boundary.", u.Length(e.Unlogged))
	}
	if m.Headland.Outlined != nil && !u.SomeLength(length) {
		return "Headland closed but for where the edge does not fit the work."
	}
	return fmt.Sprintf("Headland open in %s, %s.", Count(max(1, places), "place"), u.Length(length))
}

// Fit says where the field's edge does not fit the passes along it, what is likely off,
// and what to write in the job if so. It says nothing of an edge that fits.
func Fit(u quantity.Units, m *coverage.Map) (out []string) {
	f := m.Headland.Fit
	if f == nil {
		return nil
	}
	var sides []string
	var area plane.Area
	for i := range f.Misfits {
		s := &f.Misfits[i]
		way := u.Length(s.Mean.Abs()) + " short of the edge"
		if s.Mean < 0 {
			way = u.Length(s.Mean.Abs()) + " past the edge"
		}
		area += s.Area
		if s.Round() && s.Mean > 0 && f.Shift == nil {
			return []string{fmt.Sprintf("The work begins %s all the way round: the outline, or an allowance? %s in the job takes the worked edge, edge_allowance: %s says it is meant.",
				way, f.Remedy(), u.Length(s.Mean))}
		}
		if s.Round() {
			sides = append(sides, way+" all the way round")
			continue
		}
		sides = append(sides, fmt.Sprintf("%s on the %s side, %s", way, s.Side, u.Length(s.Length)))
	}
	if len(sides) == 0 {
		return nil
	}
	is := "the outline"
	if f.Shift != nil {
		is = "a shift of the tracks"
	}
	what := ""
	if u.SomeArea(area) {
		what = u.Area(area) + ", "
	}
	more := ""
	if n := len(sides); n > mostSides {
		sides, more = sides[:mostSides], fmt.Sprintf("; and %d more", n-mostSides)
	}
	return []string{fmt.Sprintf("The passes run evenly %s%s: %slikely %s, not the work. If so, write %s in the job.", strings.Join(sides, "; "), more, what, is, f.Remedy())}
}

// mostSides is how many sides a sentence names.
const mostSides = 3

// Warning writes a warning in one line: day1.csv:412: text (12 times).
func Warning(w field.Warning) string {
	s := w.Text
	switch {
	case w.File != "" && w.Line > 0:
		s = fmt.Sprintf("%s:%d: %s", w.File, w.Line, s)
	case w.File != "":
		s = w.File + ": " + s
	}
	if w.Count > 1 {
		s += fmt.Sprintf(" (%s times)", quantity.Number(float64(w.Count), 0))
	}
	return s
}

// WayTo says where a place is as seen from where one stands: "310 ft to the
// north-east".
func WayTo(u quantity.Units, stands, at plane.Point) string {
	distance, bearing := beside.Bearing(stands, at)
	if distance < plane.Distance(plane.Metre) {
		return "where the machine stands"
	}
	return fmt.Sprintf("%s to the %s", u.Length(distance), geo.Compass(bearing.Angle()))
}

// WayFrom says where a place is as seen from one that has a name: "310 ft north-east of
// the field's centre".
func WayFrom(u quantity.Units, from, at plane.Point, name string) string {
	distance, bearing := beside.Bearing(from, at)
	if distance < plane.Distance(plane.Metre) {
		return "at " + name
	}
	return fmt.Sprintf("%s %s of %s", u.Length(distance), geo.Compass(bearing.Angle()), name)
}

// Of tells a part of a length: "375 of 535 ft".
func Of(u quantity.Units, part, whole plane.Distance) string {
	a, b := u.Length(part), u.Length(whole)
	figure, unit, _ := strings.Cut(a, " ")
	if _, other, _ := strings.Cut(b, " "); unit == other {
		a = figure
	}
	return a + " of " + b
}

// Minutes tells how long something takes, in whole minutes: "9 min".
func Minutes(d time.Duration) string {
	return quantity.Number(math.Max(1, math.Round(d.Minutes())), 0) + " min"
}

// Weighed says how it was told that going back is worth it: "Brings 40.00 to 80.00 USD,
// takes 27.00 USD."
func Weighed(u quantity.Units, m *assess.Mending, currency string) string {
	b := m.Balance()
	switch {
	case b != nil:
		return fmt.Sprintf("Brings %s to %s, takes %s.", quantity.Number(b.Low, 2), Money(b.High, currency), Money(b.Takes, currency))
	case m.All:
		return "No prices."
	}
	return "No prices: places from " + u.Area(mend.LeastArea) + " and " + u.Length(plane.Distance(mend.LeastWidth)) + " of width count."
}
