package coverage

import (
	"math"
	"slices"
	"sort"

	"github.com/tidwall/rtree"

	"lapwing/geo/plane"
)

// visits returns the indices of the poses at which a pass is cut into visits;
// keep are the poses that matter to its shape (see thin).
//
// The rule is the contract's: ground met again by the same pass counts as a
// new visit if the bar's centre has gone more than two working widths along
// its path since the last meeting. A closed headland round, or working round
// and round, thus counts twice where it laps; a wing that pivots back, a
// machine that backs up or stands does not.
//
// The pass is followed until the bar comes onto ground it swept more than two
// widths of travel ago. It is then cut, on the way between the two meetings,
// where it runs straightest: what was swept before the cut is one visit, and
// what comes after begins another. Near a cut on a straight nothing is met on
// both sides of it but the line of the bar itself. In a tight turn without
// lifting there is no such place, and ground near the turn that was met twice
// within the two widths may be told apart a little wrongly: it then counts as
// one visit or two in a place where the rule says two or one.
//
//	+---<---------<----+
//	|                  |
//	v   +----x---->    ^   x: swept again after the whole round,
//	+--->|------------>+   |: cut on the straight before it
func visits(poses []Pose, keep []int32, width plane.Length) []int32 {
	if len(keep) < 3 || !turnsBack(poses, keep) {
		return nil
	}
	w := float64(width)
	steps := stepsAlong(poses, keep, w/2)
	var cuts []int32
	ground := &rtree.RTreeG[int]{} // the steps of this visit
	add := func(k int) {
		lo, hi := bounds(quadOf(steps[k-1].bar, steps[k].bar, width))
		ground.Insert(lo, hi, k)
	}
	from := 0 // the step this visit begins with
	for k := 1; k < len(steps); k++ {
		quad := quadOf(steps[k-1].bar, steps[k].bar, width)
		lo, hi := bounds(quad)
		met := -1
		ground.Search(lo, hi, func(_, _ [2]float64, j int) bool {
			if j > met && steps[k].along-steps[j].along > 2*w && overlap(quad, quadOf(steps[j-1].bar, steps[j].bar, width)) {
				met = j
			}
			return true
		})
		if met >= 0 {
			if cut := straightest(steps, max(from+1, met+1), k-1, w); cut > from {
				cuts = append(cuts, poseAt(poses, steps[cut].along))
				from = cut
				ground = &rtree.RTreeG[int]{}
				for j := from + 1; j < k; j++ {
					add(j)
				}
			}
		}
		add(k)
	}
	return slices.Compact(cuts)
}

// poseAt returns the index of the first pose at or after a distance along.
func poseAt(poses []Pose, along float64) int32 {
	return int32(sort.Search(len(poses)-1, func(i int) bool { return poses[i].Along >= along }))
}

// turnsBack reports whether headings range so far that a pass may come onto
// its own ground again. While all stay within 60 degrees of one direction, two
// widths of travel advance the bar's centre by one width at least, and no part
// of the bar reaches 0.44 widths ahead or behind: it cannot.
func turnsBack(poses []Pose, keep []int32) bool {
	lo, hi, h := 0.0, 0.0, 0.0
	for i := 1; i < len(keep); i++ {
		h += turnBetween(poses[keep[i-1]].Heading, poses[keep[i]].Heading)
		lo, hi = min(lo, h), max(hi, h)
	}
	return hi-lo > 2*math.Pi/3
}

// A visitStep is the bar's stance at one step along a pass.
type visitStep struct {
	bar
	along  float64
	turned float64 // rad turned since the pass began
}

// stepsAlong returns the stances of the bar at the kept poses, and between
// them so that no step is longer than most.
func stepsAlong(poses []Pose, keep []int32, most float64) []visitStep {
	first := &poses[keep[0]]
	steps := []visitStep{{barOf(first), first.Along, 0}}
	for i := 1; i < len(keep); i++ {
		a, b := &poses[keep[i-1]], &poses[keep[i]]
		n := int(math.Ceil((b.Along - a.Along) / most))
		turn := turnBetween(a.Heading, b.Heading)
		for k := 1; k <= n; k++ {
			t := float64(k) / float64(n)
			p := Pose{Heading: a.Heading + t*turn, Bar: plane.Point{
				X: a.Bar.X + plane.Round(t*float64(b.Bar.X-a.Bar.X)),
				Y: a.Bar.Y + plane.Round(t*float64(b.Bar.Y-a.Bar.Y)),
			}}
			steps = append(steps, visitStep{barOf(&p), a.Along + t*(b.Along-a.Along), steps[len(steps)-1].turned + turn/float64(n)})
		}
	}
	return steps
}

// straightest returns the step among from to to, but no more than six widths
// before to, about which the pass turns least over a width of travel either
// way; the last of several. It returns 0 if there is none.
func straightest(steps []visitStep, from, to int, w float64) int {
	best, least := 0, math.Inf(1)
	for i := to; i >= from && steps[to].along-steps[i].along <= 6*w; i-- {
		lo, hi := steps[i].turned, steps[i].turned
		for j := i; j > 0 && steps[i].along-steps[j].along < w; j-- {
			lo, hi = min(lo, steps[j-1].turned), max(hi, steps[j-1].turned)
		}
		for j := i; j+1 < len(steps) && steps[j].along-steps[i].along < w; j++ {
			lo, hi = min(lo, steps[j+1].turned), max(hi, steps[j+1].turned)
		}
		if hi-lo < least {
			best, least = i, hi-lo
		}
	}
	return best
}

// quadOf is the ground the whole bar sweeps from a to b, as corners in order.
func quadOf(a, b bar, width plane.Length) [4]plane.Point {
	l, r := -(width / 2), width-width/2
	return [4]plane.Point{a.end(r), b.end(r), b.end(l), a.end(l)}
}

func bounds(q [4]plane.Point) (lo, hi [2]float64) {
	b := plane.Ring(q[:]).Bounds()
	return [2]float64{float64(b.Min.X), float64(b.Min.Y)}, [2]float64{float64(b.Max.X), float64(b.Max.Y)}
}

// overlap reports whether two convex quads share ground: no edge of either
// has the other wholly on its outer side. A quad of a bar that pivots may not
// be convex; the answer is then for the ground its edges hold between them,
// which may miss an overlap, and the next step finds it.
func overlap(p, q [4]plane.Point) bool {
	return !apart(p, q) && !apart(q, p)
}

// apart reports whether an edge of p has all of q on its right or on it.
func apart(p, q [4]plane.Point) bool {
	for i := range p {
		a, b := p[i], p[(i+1)%4]
		out := true
		for _, c := range q {
			if plane.Side(a, b, c) == plane.Left {
				out = false
				break
			}
		}
		if out && a != b {
			return true
		}
	}
	return false
}
