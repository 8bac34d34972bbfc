package covertest

import (
	"fmt"
	"math"
	"slices"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Scene is a field, the machines that worked it, and where their bars
// really went.
type Scene struct {
	Field    field.Field
	Machines []machine.Logged
	Trails   []Trail
}

// somewhere is the middle of the fields made here: a shoal in the North Sea,
// where there is no farm.
var somewhere = geo.LonLat{Lon: 2.3125, Lat: 54.7125}

// NewScene returns a scene without machines, around a place of no meaning.
func NewScene(name string, shell Shape, holes ...Shape) *Scene {
	return NewSceneAt(somewhere, name, shell, holes...)
}

// NewSceneAt returns a scene without machines whose plane is centred on a
// place. Shell and holes are anticlockwise.
func NewSceneAt(at geo.LonLat, name string, shell Shape, holes ...Shape) *Scene {
	p := plane.Polygon{Shell: shell.Ring()}
	for _, h := range holes {
		p.Holes = append(p.Holes, h.Ring().Reversed())
	}
	return &Scene{Field: field.Field{Name: name, Frame: geo.NewFrame(at), Boundary: []plane.Polygon{p}}}
}

// Drive adds a machine and where it went.
func (s *Scene) Drive(r Rig) *Scene {
	s.Machines = append(s.Machines, r.Machine(s.Field.Frame))
	s.Trails = append(s.Trails, r.Trails()...)
	return s
}

// Passes returns the trails as passes, on the grid: what a perfect
// understanding of the logs would find. Machine is the index by name; all
// passes share one table of states.
func (s *Scene) Passes() []work.Pass {
	var passes []work.Pass
	states := []machine.State{nil}
	ids := map[string]machine.StateID{}
	for _, t := range s.Trails {
		p := work.Pass{Length: plane.DistanceOf(t.Length())}
		p.Machine = slices.IndexFunc(s.Machines, func(m machine.Logged) bool { return m.Name == t.Machine })
		sections := s.Machines[p.Machine].Implement.Sections
		whole := fmt.Sprint(stretches(sections, full(sections)))
		var id machine.StateID
		for k, at := range t.Poses {
			if key := fmt.Sprint(at.Open); key == whole {
				id = 0
			} else if k < len(t.Poses)-1 { // the last pose's state means nothing
				known := false
				if id, known = ids[key]; !known {
					id = machine.StateID(len(states))
					ids[key], states = id, append(states, at.Open)
				}
			}
			p.Poses = append(p.Poses, work.Pose{
				Time: geo.InstantOf(t.Begin) + geo.Instant(math.Round(at.Time*1e9)),
				Bar:  onGrid(at.XY), Heading: plane.Angle(at.Heading), State: id, Along: plane.DistanceOf(at.Along),
			})
		}
		p.Start, p.End = p.Poses[0].Time, p.Poses[len(p.Poses)-1].Time
		passes = append(passes, p)
	}
	for i := range passes {
		passes[i].States = states
	}
	return passes
}
