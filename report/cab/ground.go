package cab

import (
	"encoding/json"
	"slices"

	"lapwing/coverage/assess"
	"lapwing/coverage/sweep"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Ground is the ground of the last answer as pages draw it: of all machines, of logs
// and of earlier journals too. Each strip of it is sent to a page once; what an answer
// changes is sent anew under a new number, and the old number is called back.
//
// The zero Ground is that before the first answer.
type Ground struct {
	strips []Strip // by number
	gone   []int   // numbers that were called back, in that order
	next   int
}

// A Strip is one swath of an answer, thinned for the drawing.
type Strip struct {
	Number int             `json:"n"`
	Rings  json.RawMessage `json:"rings"`           // each x, y, and then the way to the next corner, in centimetres
	Other  bool            `json:"other,omitempty"` // of a machine of another cab

	of      stripOf
	to      geo.Instant
	bounds  plane.Box
	corners int
}

// stripOf is which swath it is, whatever answer it comes from.
type stripOf struct {
	machine string
	from    geo.Instant
	visit   int
}

const (
	// stripOff is how far the outline of a strip on the drawing may lie from the
	// swath's: a third of a pixel where the drawing is near the bar.
	stripOff = plane.Distance(3 * plane.Centimetre)
	// stripSame is how far the bounds of a swath move from one answer to the next
	// though its ground stays: a field that is the worked ground has a new middle then,
	// and another plane, whose ticks differ, and whose lengths do by a few millimetres.
	stripSame = plane.Distance(2 * plane.Centimetre)
)

// StripsOf are the swaths of an answer on the plane of a frame; others are the names of
// machines that other cabs hear. Any goroutine may ask.
func StripsOf(a *assess.Assessment, frame *geo.Frame, others []string) []Strip {
	m := a.Map
	out := make([]Strip, 0, len(m.Swaths))
	for i := range m.Swaths {
		s := &m.Swaths[i]
		p := &m.Passes[s.Pass]
		name := m.Machines[p.Machine].Name
		strip := Strip{Other: slices.Contains(others, name), of: stripOf{name, p.Start, s.Visit}, to: p.End}
		strip.draw(s, &m.Field.Frame, frame)
		if strip.corners > 0 {
			out = append(out, strip)
		}
	}
	return out
}

// draw lays the rings of a swath on the plane of another frame.
func (s *Strip) draw(swath *sweep.Swath, from, to *geo.Frame) {
	rings := [][]int64{}
	s.bounds = plane.Empty()
	for _, ring := range swath.Rings {
		thin := ring.Thinned(stripOff)
		if len(thin) < 3 {
			continue
		}
		var flat []int64
		var x, y int64
		for _, corner := range thin {
			at := lay(corner, from, to)
			s.bounds = s.bounds.Add(at)
			toX, toY := wholeCentimetres(at.X), wholeCentimetres(at.Y)
			flat = append(flat, toX-x, toY-y)
			x, y = toX, toY
		}
		s.corners += len(thin)
		rings = append(rings, flat)
	}
	s.Rings, _ = json.Marshal(rings) // of whole numbers, which JSON holds
}

func wholeCentimetres(l plane.Length) int64 { return int64(plane.Round(l.Metres() * 100)) }

// is reports whether a strip is as another of the same swath.
func (s *Strip) is(other *Strip) bool {
	near := func(a, b plane.Length) bool { return plane.Distance(a-b).Abs() <= stripSame }
	return s.to == other.to && s.corners == other.corners &&
		near(s.bounds.Min.X, other.bounds.Min.X) && near(s.bounds.Min.Y, other.bounds.Min.Y) &&
		near(s.bounds.Max.X, other.bounds.Max.X) && near(s.bounds.Max.Y, other.bounds.Max.Y)
}

// Take goes on with the strips of a new answer.
func (g *Ground) Take(strips []Strip) {
	had := map[stripOf]*Strip{}
	for i := range g.strips {
		had[g.strips[i].of] = &g.strips[i]
	}
	var kept, fresh []Strip
	stays := map[int]bool{}
	for _, s := range strips {
		if old := had[s.of]; old != nil && old.is(&s) && !stays[old.Number] {
			stays[old.Number] = true
			continue
		}
		s.Number = g.next
		g.next++
		fresh = append(fresh, s)
	}
	for _, s := range g.strips {
		if stays[s.Number] {
			kept = append(kept, s)
		} else {
			g.gone = append(g.gone, s.Number)
		}
	}
	g.strips = append(kept, fresh...)
}

// mostCorners is how many corners of strips one update carries: a page that is opened
// late is told of them in several, and shows what is now in between.
const mostCorners = 20_000

// since are the strips from a number on, as many as one update carries, and the numbers
// called back since so many were; next is the number to go on from.
func (g *Ground) since(number, gone int) (strips []Strip, back []int, next int) {
	corners := 0
	next = number
	for _, s := range g.strips {
		if s.Number < number {
			continue
		}
		if corners > 0 && corners+s.corners > mostCorners {
			return strips, g.gone[min(gone, len(g.gone)):], next
		}
		corners += s.corners
		strips = append(strips, s)
		next = s.Number + 1
	}
	return strips, g.gone[min(gone, len(g.gone)):], g.next
}
