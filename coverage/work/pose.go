package work

import (
	"sort"

	"lapwing/coverage/machine"
	"lapwing/coverage/stance"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Pose is the bar's own stance at one time.
type Pose struct {
	Time    geo.Instant
	Bar     plane.Point     // the bar's centre
	Heading plane.Angle     // of the bar
	Along   plane.Distance  // travelled by the bar's centre since the pass began
	State   machine.StateID // the sections that work from here to the next pose
	Silent  bool            // the log is silent from here to the next pose
}

// BarOf returns the bar of a pose.
func BarOf(p *Pose) stance.Bar { return stance.BarAt(p.Bar, p.Heading) }

// PoseAt returns the index of the first pose at or after a distance along.
func PoseAt(poses []Pose, along plane.Distance) int32 {
	return int32(sort.Search(len(poses)-1, func(i int) bool { return poses[i].Along >= along }))
}

// PoseBetween returns the bar's centre at a distance along, and its heading, from
// the last pose that is no farther along.
func PoseBetween(poses []Pose, i int, along plane.Distance) (x, y float64, heading plane.Angle) {
	a := &poses[i]
	x, y, heading = float64(a.Bar.X), float64(a.Bar.Y), a.Heading
	if i+1 < len(poses) {
		b := &poses[i+1]
		if d := b.Along - a.Along; d > 0 {
			t := float64((along - a.Along) / d)
			x += t * float64(b.Bar.X-a.Bar.X)
			y += t * float64(b.Bar.Y-a.Bar.Y)
			heading += plane.Angle(t) * a.Heading.To(b.Heading)
		}
	}
	return x, y, heading
}
