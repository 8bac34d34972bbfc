package field

import (
	"fmt"

	"lapwing/coverage/edge"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
	"lapwing/report/chart"
	"lapwing/report/words"
)

// strips draws the stand-off along the rings of the boundary, the field's edge
// first: distance along the ring to the right, stand-off upward.
func (d *Document) strips() []*chart.Chart {
	e := d.Map.Headland.Edge
	if d.Map.Field.Worked {
		return nil
	}
	most := max(e.Max, plane.Distance(2*d.EdgeTolerance), plane.Distance(plane.Metre))
	var out []*chart.Chart
	holes := 0
	for i := range e.Profile {
		ring := &e.Profile[i]
		if len(ring.Marks) == 0 || ring.Length <= 0 {
			continue
		}
		name := "Along the outer boundary"
		if ring.Hole {
			holes++
			name = fmt.Sprintf("Round hole %d", holes)
		}
		out = append(out, d.strip(i, ring, name, most))
	}
	return out
}

func (d *Document) strip(index int, ring *edge.RingProfile, name string, most plane.Distance) *chart.Chart {
	us, metric := chart.LengthScales()
	c := chart.New(
		d.both(func(u quantity.Units) string { return name + ", " + u.Length(ring.Length) }), d.stripSays(index, ring),
		chart.Axis{Name: "distance along the boundary", US: us, Metric: metric, Most: float64(ring.Length), Ticks: 8},
		chart.Axis{Name: "short of the edge", US: us, Metric: metric, Most: float64(most), Ticks: 4})
	var line []chart.Point
	silent, silentFrom := false, plane.Distance(0)
	for i, m := range ring.Marks {
		end := ring.Length
		next := ring.Marks[0]
		if i+1 < len(ring.Marks) {
			next = ring.Marks[i+1]
			end = next.Along
		}
		line = append(line, pointAt(m.Along, m.StandOff))
		if m.Unlogged && !silent {
			silentFrom = m.Along
		}
		silent = m.Unlogged
		if silent && (!next.Unlogged || i+1 == len(ring.Marks)) {
			c.Band("silent", float64(silentFrom), float64(end))
		}
		switch {
		case next.Unlogged != m.Unlogged:
			line = append(line, pointAt(end, m.StandOff))
		case i+1 == len(ring.Marks):
			line = append(line, pointAt(end, next.StandOff))
		}
	}
	c.Area("off", line)
	if d.EdgeTolerance > 0 {
		c.Limit(float64(d.EdgeTolerance), d.both(func(u quantity.Units) string {
			return "- - - counts as reached, up to " + u.Length(plane.Distance(d.EdgeTolerance))
		}))
	}
	return c
}

// pointAt is a place on the chart: so far along the ring, and off it.
func pointAt(along, off plane.Distance) chart.Point {
	return chart.Point{X: float64(along), Y: float64(off)}
}

// stripSays is the sentence that says what the chart shows.
func (d *Document) stripSays(index int, ring *edge.RingProfile) words.Text {
	n := 0
	var open, most plane.Distance
	for _, o := range d.Map.Headland.Edge.Openings {
		if o.Ring == index {
			n++
			open += o.Length
			most = max(most, o.Max)
		}
	}
	silent := false
	for _, m := range ring.Marks {
		silent = silent || m.Unlogged
	}
	return d.both(func(u quantity.Units) string {
		s := "Worked up to the boundary all the way round."
		if n > 0 {
			s = fmt.Sprintf("Open in %s, %s of %s; the work stays %s short of it at most.", words.Count(n, "place"), u.Length(open), u.Length(ring.Length), u.Length(most))
		} else if silent {
			s = "Worked up to the boundary as far as the log tells."
		}
		if silent {
			s += " Where the strip is grey the log is silent."
		}
		return s
	})
}
