package propose

import (
	"math"

	"lapwing/coverage"
	"lapwing/coverage/field"
	"lapwing/coverage/work"
	"lapwing/coverage/worklog"
)

// spacings returns for each pass how far the nearest pass of the same machine
// beside it lies, in metres.
func (p *Proposal) spacings() (apart []float64) {
	machines := p.Job.Machines
	land := p.Job.Fields[0]
	if land.Worked {
		var ok bool
		if land, ok = coverage.FieldAround(machines); !ok {
			return nil
		}
	}
	passes, _ := coverage.Split(land, machines, field.Options{})
	var lines []straight
	for i := range passes {
		if s, ok := straightOf(&passes[i]); ok {
			lines = append(lines, s)
		}
	}
	for i, a := range lines {
		nearest := math.Inf(1)
		for j, b := range lines {
			if i == j || a.machine != b.machine {
				continue
			}
			if d, ok := a.beside(b); ok {
				nearest = min(nearest, d)
			}
		}
		if nearest < worklog.WidestBar {
			apart = append(apart, nearest)
		}
	}
	return apart
}

// A straight is a pass that runs straight, in metres.
type straight struct {
	machine        int
	x, y, ux, uy   float64 // its start, and the way it goes
	length, middle float64
}

// straightOf returns a pass as its chord, if the path is hardly longer than that.
func straightOf(p *work.Pass) (straight, bool) {
	const shortest, hardly = 20.0, 1.01 // m of chord, and ratio of path to chord; judgement, no test holds them closely
	if len(p.Poses) < 2 {
		return straight{}, false
	}
	a, b := p.Poses[0].Bar, p.Poses[len(p.Poses)-1].Bar
	dx, dy := (b.X - a.X).Metres(), (b.Y - a.Y).Metres()
	chord := math.Hypot(dx, dy)
	if chord < shortest || p.Length.Metres() > hardly*chord {
		return straight{}, false
	}
	return straight{p.Machine, a.X.Metres(), a.Y.Metres(), dx / chord, dy / chord, chord, chord / 2}, true
}

// beside returns how far b lies from the middle of a, if it runs beside it
// within a few degrees, and no nearer than ground worked twice.
func (a straight) beside(b straight) (float64, bool) {
	const parallel = 0.05 // radians; judgement, no test holds it closely
	if math.Abs(a.ux*b.uy-a.uy*b.ux) > parallel {
		return 0, false
	}
	mx, my := a.x+a.ux*a.middle-b.x, a.y+a.uy*a.middle-b.y
	if along := mx*b.ux + my*b.uy; along < 0 || along > b.length {
		return 0, false
	}
	d := math.Abs(mx*b.uy - my*b.ux)
	return d, d > worklog.NarrowestBar
}
