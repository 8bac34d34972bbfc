package cover

import (
	"fmt"
	"math"
	"slices"

	"lapwing/coverage/machine"
	"lapwing/geo"
)

// A Way is the way of a bar, as far as polygons tell it.
type Way struct {
	Fixes    []geo.Fix       // of its middle
	Breaks   []int           // fixes that do not continue from the one before
	Polygons []int           // of each fix, the one that stands for it: the widest of those side by side
	Codes    []uint32        // of each fix, its state
	States   []machine.State // the parts of the bar that work, by code
	Width    float64         // m, of the bar
	Notes    []geo.Note      // what was taken on trust
	steps    [][]int         // the polygons that are side by side
}

// Differ counts the steps whose polygons do not all have one code.
func (w *Way) Differ(codes []uint32) (n int) {
	for _, polygons := range w.steps {
		if slices.ContainsFunc(polygons, func(p int) bool { return codes[p] != codes[polygons[0]] }) {
			n++
		}
	}
	return n
}

// A composer puts the polygons of one log together.
type composer struct {
	fixes []geo.Fix // of the middle of each polygon
	rings [][]geo.LonLat
	frame geo.Frame
	cells []cell
	steps []barStep
	odd   int     // polygons taken for a strip as wide all along
	wide  float64 // m, the bar
	looks int     // how many more times a cell may be held against a span
	room  int     // how many more spans there may be than stations
	tiny  int     // polygons too small to say anything of a bar
	small float64 // m², of them
}

// Join puts polygons together to the bar's way: fixes are of the middle of
// each, with its time. It is nil where nothing tells which way the work went.
func Join(fixes []geo.Fix, rings [][]geo.LonLat) *Way {
	c := composer{fixes: fixes, rings: rings, frame: geo.NewFrame(fixes[0].At)}
	if c.shape(); len(c.cells) == 0 {
		return nil
	}
	c.link()
	c.sideBySide()
	c.place()
	return c.join()
}

// join makes the bar's way of the runs of its steps.
func (c *composer) join() *Way {
	runs, shifted := c.merge(c.runs())
	states, codes := c.states(runs)
	w := &Way{States: states, Width: c.wide}
	begin := c.timeOf(c.byTime()[0])
	for i := range runs {
		if len(w.Fixes) > 0 {
			w.Breaks = append(w.Breaks, len(w.Fixes))
		}
		add := func(s *span, t, at float64, code uint32) {
			w.Fixes = append(w.Fixes, c.fix(&c.steps[s.step], t, begin, at))
			w.Polygons = append(w.Polygons, c.widest(s.step))
			w.Codes = append(w.Codes, code)
		}
		for j := range runs[i].spans {
			s := &runs[i].spans[j]
			add(s, s.from, s.at, codes[i][j])
		}
		s := &runs[i].spans[len(runs[i].spans)-1]
		add(s, s.to, s.till, codes[i][len(codes[i])-1])
	}
	for k := range c.steps {
		var polygons []int
		for _, i := range c.steps[k].cells {
			polygons = append(polygons, c.cells[i].polygon)
		}
		w.steps = append(w.steps, polygons)
	}
	w.Notes = c.notes(shifted)
	return w
}

// widest is the polygon of the widest cell of a step.
func (c *composer) widest(k int) int {
	best, most := c.steps[k].cells[0], 0.0
	for _, i := range c.steps[k].cells {
		if w := c.cells[i].right[0].sub(c.cells[i].left[0]).length(); w > most {
			best, most = i, w
		}
	}
	return c.cells[best].polygon
}

// fix is the bar's middle at a share of a step's way.
func (c *composer) fix(s *barStep, t float64, begin geo.Instant, at float64) geo.Fix {
	left, right := c.left(s, t), c.right(s, t)
	along := right.sub(left)
	if d := along.length(); d > 0 {
		along = along.times(1 / d)
	} else {
		along = c.across(s)
	}
	middle := between(left, right, 0.5).sub(along.times(s.middle))
	bearing := math.Mod(math.Atan2(-along.y, along.x)*180/math.Pi+360, 360)
	return geo.Fix{Time: begin + geo.Instant(at*1e9), At: c.frame.FromMetres(middle.x, middle.y), Heading: geo.BearingOf(bearing), Speed: math.NaN()}
}

// notes say what was taken on trust.
func (c *composer) notes(shifted int) (notes []geo.Note) {
	add := func(count int, text string) {
		if count > 0 {
			notes = append(notes, geo.Note{Count: count, Text: text})
		}
	}
	add(1, fmt.Sprintf("%d polygons of worked ground are put together to %d steps of a bar of %.2f m", len(c.cells), len(c.steps), c.wide))
	add(c.odd, "polygon that is no strip from one place of the bar to the next; taken as one, as long and of its area")
	add(c.tiny, fmt.Sprintf("polygon of less than %.1f m²; left out, %.1f m² in all", leastArea, c.small))
	add(len(c.rings)-len(c.cells)-c.tiny, "polygon of which nothing tells which way the work went; left out")
	add(shifted, "stretch of polygons at the time of another that it does not touch; taken as worked after it")
	return notes
}
