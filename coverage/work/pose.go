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
