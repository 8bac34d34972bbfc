package gnsslog

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"lapwing/geo"
	"lapwing/geo/feature"
)

// Bounds on polygons that are the ground of one moment each and no fields:
// judgement. A spreader 36 m wide that writes one every ten seconds makes 2,000 m².
const (
	leastCover  = 2     // polygons
	widestCover = 5_000 // m², of half of them
)

// FromShapes makes a log of polygons each of which is the ground that was worked
// in one moment, as sprayers and spreaders write what they covered: a fix of each
// ring, in its middle, with the ring itself in [Log.Cover]. Attributes are columns
// as in [FromPoints]; one of them must be a time. Polygons that are none such give
// a [*SyntaxError] of the reason [geo.ErrNothing].
func FromShapes(name, format string, shapes *feature.Shapes, opt Options) (*Log, error) {
	var all coverRings
	if err := all.read(shapes); err != nil {
		var fault *geo.Fault
		if errors.As(err, &fault) {
			return nil, fault.In(name)
		}
		return nil, err
	}
	none := func(found string) (*Log, error) {
		return nil, &SyntaxError{File: name, Found: found, Want: "a log with fixes", Reason: geo.ErrNothing}
	}
	switch {
	case len(all.points) < leastCover:
		return none("polygons that are no record of work: fewer than two")
	case all.usualArea() > widestCover:
		return none(fmt.Sprintf("polygons that are no record of work: of %d m² and more", widestCover))
	}
	log, err := FromPoints(name, format, &feature.Points{Columns: all.columns, Notes: all.notes, Close: func() {}, Each: all.each}, opt)
	if err != nil {
		return nil, err
	}
	if log.NoClock {
		return none("polygons without a time")
	}
	log.Understood = append([]Meaning{{"polygon", "the ground that was worked"}}, log.Understood[placeColumns:]...)
	log.Cover = make([][]geo.LonLat, len(log.Lines))
	for i, number := range log.Lines {
		log.Cover[i] = all.rings[number-1]
		log.Lines[i] = all.features[number-1]
	}
	return log, nil
}

// A coverRings holds the rings of a file of polygons.
type coverRings struct {
	columns  []string
	notes    []geo.Note
	points   []feature.Point
	rings    [][]geo.LonLat
	features []int32 // by ring: the number of its feature
}

// read takes the rings of all shapes. Holes are left out: no bar leaves one.
func (c *coverRings) read(shapes *feature.Shapes) error {
	number, holes := int32(0), 0
	err := shapes.Each(func(s feature.Shape) error {
		if s.Note != "" {
			c.note(s.Note)
			return nil
		}
		number++
		if c.columns == nil {
			c.columns = slices.Clone(s.Columns)
		}
		values := make([]feature.Value, len(c.columns))
		for i := range values {
			if at := slices.Index(s.Columns, c.columns[i]); at >= 0 {
				values[i] = s.Values[at]
				values[i].Text = slices.Clone(s.Values[at].Text)
			}
		}
		add := func(r feature.Ring) {
			if at := open(r.At); len(at) >= 3 {
				c.points = append(c.points, feature.Point{At: middleOf(at), Placed: true, Values: values})
				c.rings, c.features = append(c.rings, at), append(c.features, number)
			}
		}
		for _, o := range s.Outlines {
			for _, r := range o.Shells {
				add(r)
			}
			holes += len(o.Holes)
		}
		for i, r := range s.Loose {
			if i > 0 && (turning(r.At) > 0) != (turning(s.Loose[0].At) > 0) {
				holes++
				continue
			}
			add(r)
		}
		return nil
	})
	if holes > 0 {
		c.notes = append(c.notes, geo.Note{Count: holes, Text: "hole in a polygon that was worked; taken as worked"})
	}
	return err
}

// note gathers a note under its text.
func (c *coverRings) note(text string) {
	for i := range c.notes {
		if c.notes[i].Text == text {
			c.notes[i].Count++
			return
		}
	}
	c.notes = append(c.notes, geo.Note{Count: 1, Text: text})
}

func (c *coverRings) each(do func(feature.Point) error) error {
	for _, p := range c.points {
		if err := do(p); err != nil {
			return err
		}
	}
	return nil
}

// usualArea is the median area of the rings, in m².
func (c *coverRings) usualArea() float64 {
	areas := make([]float64, len(c.rings))
	for i, r := range c.rings {
		const metres = 111_195 // of a degree on a sphere
		areas[i] = math.Abs(turning(r)) / 2 * metres * metres * math.Cos(r[0].Lat*math.Pi/180)
	}
	slices.Sort(areas)
	return areas[len(areas)/2]
}

// open is a ring without the last place where that is the first again.
func open(r []geo.LonLat) []geo.LonLat {
	if n := len(r); n > 1 && r[0] == r[n-1] {
		return r[:n-1]
	}
	return r
}

// middleOf is the mean of the corners of a ring.
func middleOf(r []geo.LonLat) (m geo.LonLat) {
	for _, p := range r {
		m.Lon += p.Lon / float64(len(r))
		m.Lat += p.Lat / float64(len(r))
	}
	return m
}

// turning is twice the area of a ring in square degrees, above zero where it runs
// anticlockwise.
func turning(r []geo.LonLat) (sum float64) {
	for i, p := range r {
		q := r[(i+1)%len(r)]
		sum += (p.Lon-r[0].Lon)*(q.Lat-r[0].Lat) - (q.Lon-r[0].Lon)*(p.Lat-r[0].Lat)
	}
	return sum
}
