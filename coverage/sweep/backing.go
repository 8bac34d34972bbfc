package sweep

import (
	"math"
	"slices"

	"lapwing/coverage/stance"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A backing is a stretch of a pass, along it, that the bar goes in reverse.
type backing struct{ from, to plane.Distance }

// backings finds where a bar goes backward for longer than least, by the kept poses
// of a pass; bars are its stances at all poses. A pass that begins by backing up is
// left out: there is no ground behind it that it worked before.
func backings(poses []work.Pose, bars []stance.Bar, keep []int32, least plane.Distance) []backing {
	var out []backing
	for i := 1; i < len(keep); i++ {
		a, b := &poses[keep[i-1]], &poses[keep[i]]
		x, y := float64(b.Bar.X-a.Bar.X), float64(b.Bar.Y-a.Bar.Y)
		ahead := x*bars[keep[i-1]].Sin + y*bars[keep[i-1]].Cos
		if ahead > 0 || ahead > -math.Hypot(x, y)/2 || a.Silent {
			continue
		}
		if n := len(out); n > 0 && out[n-1].to == a.Along {
			out[n-1].to = b.Along
			continue
		}
		out = append(out, backing{a.Along, b.Along})
	}
	return slices.DeleteFunc(out, func(b backing) bool { return b.from == 0 || b.to-b.from <= least })
}

// withStops returns poses with others put in where visits begin, all of them
// kept, and which are to be kept.
func withStops(poses []work.Pose, keep []int32, starts []visitStart) ([]work.Pose, []int32) {
	var stops []int32
	for _, s := range starts {
		i := int(work.PoseAt(poses, s.along))
		if poses[i].Along > s.along && i > 0 {
			a, b := poses[i-1], &poses[i]
			t := float64((s.along - a.Along) / (b.Along - a.Along))
			a.Time += geo.Instant(t * float64(b.Time-a.Time))
			a.Bar = a.Bar.Add(plane.Point{X: plane.Round(t * float64(b.Bar.X-a.Bar.X)), Y: plane.Round(t * float64(b.Bar.Y-a.Bar.Y))})
			a.Heading += plane.Angle(t) * a.Heading.To(b.Heading)
			a.Along = s.along
			poses = slices.Insert(slices.Clone(poses), i, a)
			for k := range keep {
				if int(keep[k]) >= i {
					keep[k]++
				}
			}
		}
		stops = append(stops, int32(i))
	}
	keep = append(keep, stops...)
	slices.Sort(keep)
	return poses, slices.Compact(keep)
}
