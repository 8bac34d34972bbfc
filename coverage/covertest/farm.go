package covertest

import (
	"math"
	"time"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// farm is the frame of the fields of [Paddock].
var farm = geo.NewFrame(somewhere)

// Morning is when work begins on the farms made here.
var Morning = time.Date(2025, 4, 2, 8, 0, 0, 0, time.UTC)

// Paddock is a rectangular field from one corner, in metres east and north of a
// place that all of them share, to the other.
func Paddock(name string, x0, y0, x1, y1 float64) field.Field {
	at := func(x, y float64) plane.Point { return plane.Point{X: plane.Metres(x), Y: plane.Metres(y)} }
	return field.Field{Name: name, Frame: farm, Boundary: []plane.Polygon{{Shell: plane.Ring{at(x0, y0), at(x1, y0), at(x1, y1), at(x0, y1)}}}}
}

// A Lane is a straight pass from x, y to x, y, in metres as of a [Paddock].
type Lane [4]float64

// Driven is a log of straight passes: a fix each second at 2 m/s, and half a minute
// between two passes. Places are whole 1e-7 degrees.
func Driven(at time.Time, passes ...Lane) machine.Track {
	t := machine.Track{WorkingLogged: true, States: []machine.State{nil}}
	for _, p := range passes {
		n := int(math.Round(math.Hypot(p[2]-p[0], p[3]-p[1]) / 2))
		for i := range n + 2 {
			k := float64(i) / float64(n)
			place := farm.FromMetres(p[0]+k*(p[2]-p[0]), p[1]+k*(p[3]-p[1]))
			place = geo.LonLat{Lon: math.Round(place.Lon*1e7) / 1e7, Lat: math.Round(place.Lat*1e7) / 1e7}
			fix := machine.Fix{Fix: geo.Fix{At: place, Time: geo.InstantOf(at), Quality: geo.Fixed}, Working: i <= n}
			fix.Heading, fix.Speed = geo.Bearing(math.NaN()), math.NaN()
			t.Fixes = append(t.Fixes, fix)
			at = at.Add(time.Second)
		}
		at = at.Add(30 * time.Second)
	}
	return t
}

// lanes are the passes up and down a field of 200 m by 40 m that begins at y.
func lanes(y float64) []Lane {
	return []Lane{{0, y + 5, 200, y + 5}, {200, y + 15, 0, y + 15}, {0, y + 25, 200, y + 25}, {200, y + 35, 0, y + 35}}
}

// barOf is a machine with a bar of 10 m right under the antenna.
func barOf(name string) machine.Logged {
	return machine.Logged{Machine: machine.Machine{Name: name, Implement: Mounted(10, 0, 1)}}
}

// Neighbours are two fields of 200 m by 40 m side by side, South and North, each
// worked by four passes of 10 m of its own task. Those of North lie 3 m too far to
// the south.
func Neighbours() TaskSet {
	return TaskSet{
		Fields:   []field.Field{Paddock("South", 0, 0, 200, 40), Paddock("North", 0, 40, 200, 80)},
		Machines: []machine.Logged{barOf("drill")},
		Tasks: []SetTask{
			{Field: 0, Track: Driven(Morning, lanes(0)...)},
			{Field: 1, Track: Driven(Morning.Add(2*time.Hour), lanes(37)...)},
		},
	}
}

// SeededAndSprayed is a field of 200 m by 40 m that a drill seeded in two tasks and
// a sprayer sprayed in one, between them. The set says that the field is 100 m²
// larger, that the drill worked 7,900 m² in 790 m with 79 kg, and that the sprayer
// put down 160 L.
func SeededAndSprayed() TaskSet {
	all := lanes(0)
	return TaskSet{
		Fields:   []field.Field{Paddock("South", 0, 0, 200, 40)},
		Areas:    []float64{8100},
		Machines: []machine.Logged{barOf("drill"), barOf("sprayer")},
		Tasks: []SetTask{
			{Practice: "Seeding", Track: Driven(Morning, all[:2]...), Totals: map[int]int{116: 4000, 117: 400_000, 119: 200, 81: 40}},
			{Practice: "Spraying", Machine: 1, Track: Driven(Morning.Add(time.Hour), all...), Totals: map[int]int{80: 160}},
			{Practice: "Seeding", Track: Driven(Morning.Add(3*time.Hour), all[2:]...), Totals: map[int]int{116: 3900, 117: 390_000, 81: 39}},
		},
	}
}

// Combine is a field of 200 m by 40 m cut by a header of 10 m that is 2.8 m ahead of
// where the positions are of, and 0.3 m to the right of it. The description of the
// combine does not say so; its log does, from when it works.
func Combine() TaskSet {
	const ahead, right = 2.8, 0.3
	header := Mounted(10, -ahead, 1)
	header.Offset = plane.Metres(right)
	var antenna []Lane
	for i, l := range lanes(0) {
		way := 1 - 2*float64(i%2) // east, then west
		antenna = append(antenna, Lane{l[0] - way*ahead, l[1] + way*right, l[2] - way*ahead, l[3] + way*right})
	}
	track := Driven(Morning, antenna...)
	idle := track.Fixes[0]
	idle.Working, idle.Time = false, idle.Time-geo.Instant(time.Second)
	track.Fixes = append([]machine.Fix{idle}, track.Fixes...)
	return TaskSet{
		Fields:      []field.Field{Paddock("South", 0, 0, 200, 40)},
		Machines:    []machine.Logged{{Machine: machine.Machine{Name: "combine", Implement: header}}},
		Tasks:       []SetTask{{Track: track}},
		LogsOffsets: true,
	}
}
