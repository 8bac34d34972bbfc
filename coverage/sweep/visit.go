package sweep

import (
	"math"
	"slices"

	"lapwing/coverage/stance"
	"lapwing/coverage/work"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// A visitPart is a stretch of a pass that belongs to one visit: its first pose
// and its last, which is the next part's first. Visits are numbered from 0 in
// the order they begin; a part that meets the ground of one again has its number.
type visitPart struct{ visit, from, to int32 }

// A visitStart is where a part of a pass begins, in ticks along it, and the number
// of its visit; of backStarts, one of the marks below instead.
type visitStart struct {
	along plane.Distance
	visit int
}

// How the visit of a part follows on that of the part before, in [backStarts].
const (
	visitBefore = -1 // the visit before that one goes on
	visitSame   = 0  // the visit that visitBefore broke into goes on
	visitNext   = 1  // another begins
)

// cutByVisit cuts a pass into visits; bars are the stances at its poses, keep
// the poses that matter to its shape (see [work.Keep]). It returns the poses, with
// others put in where backing up cuts the pass between two, and which of them
// matter then.
func cutByVisit(poses []work.Pose, bars []stance.Bar, keep []int32, width plane.Length) ([]work.Pose, []int32, []visitPart) {
	var given []visitStart
	if back := backings(poses, bars, keep, plane.Distance(width)); len(back) > 0 {
		given = backStarts(back, plane.Distance(width), poses[len(poses)-1].Along)
		poses, keep = withStops(poses, keep, given)
	}
	starts := visits(poses, keep, width, given)
	parts := make([]visitPart, len(starts))
	cuts := make([]int32, len(starts))
	for i, s := range starts {
		cuts[i] = work.PoseAt(poses, s.along)
		parts[i] = visitPart{int32(s.visit), cuts[i], int32(len(poses) - 1)}
		if i > 0 {
			parts[i-1].to = cuts[i]
		}
	}
	return poses, merged(keep, cuts), parts
}

// of returns the poses of a part among those that matter, the part's first and
// last among them.
func (p *visitPart) of(keep []int32) []int32 {
	return keep[index(keep, p.from) : index(keep, p.to)+1]
}

// index returns where in a rising list a pose is.
func index(list []int32, pose int32) int32 {
	i, _ := slices.BinarySearch(list, pose)
	return int32(i)
}

// How a pass is followed to find its visits, in working widths. Judgement. TestStraightest
// fails where cutReach is doubled; no test holds stepMost closely.
const (
	stepMost = 0.5 // the longest step
	cutReach = 6.0 // how far back from a meeting the straightest place is looked for
)

// visits returns where a pass is cut into visits; keep are the poses that matter
// to its shape (see [work.Keep]).
//
// The rule: ground met again by the same pass counts as a new visit if the bar's
// centre has gone more than two working widths along its path since the last
// meeting. So a closed headland round, or working round and round, counts twice
// where it laps; a wing that pivots back, or a machine that stands or backs up by a
// width, does not.
//
// The pass is followed until the bar comes onto ground it swept more than two
// widths of travel ago. It is then cut, on the way between the two meetings,
// where it runs straightest: what was swept before the cut is one visit, and
// what comes after begins another. On a straight, no ground lies on both sides of
// the cut. A tight turn without lifting has no such place: ground near the cut that
// was met twice within the two widths may then count as one visit where the rule
// says two, or as two where it says one.
//
//	+---<---------<----+
//	|                  |
//	v   +----x---->    ^   x: swept again after the whole round,
//	+--->|------------>+   |: cut on the straight before it
//
// Where it backs up it meets its ground in reverse order, and the cuts follow
// from that (see backStarts).
//
// given is where backing up cuts the pass; there are poses there.
func visits(poses []work.Pose, keep []int32, width plane.Length, given []visitStart) []visitStart {
	starts := []visitStart{{}}
	if len(keep) < 3 || len(given) == 0 && !turnsBack(poses, keep) {
		return starts
	}
	w := plane.Distance(width)
	steps := stepsAlong(poses, keep, max(stepMost*w, poses[len(poses)-1].Along/plane.Distance(mostSteps*len(poses))))
	quads := make([][4]plane.Point, len(steps)) // swept up to each step
	boxes := make([]plane.Box, len(steps))
	for k := range steps {
		quads[k] = quadOf(steps[max(0, k-1)].Bar, steps[k].Bar, width)
		boxes[k] = plane.Ring(quads[k][:]).Bounds()
	}
	ground := near.NewBoxes(boxes)
	from, visit := 0, 0                 // the step this visit begins with, and its number
	behind := 0                         // the first step that is not over two widths of travel ago
	aside := false                      // on ground of an earlier visit
	leftOut := make([]bool, len(steps)) // steps aside, which later ones do not meet
	for k := 1; k < len(steps); k++ {
		for len(given) > 0 && given[0].along < steps[k-1].along+1 {
			if aside = given[0].visit == visitBefore; aside {
				starts = append(starts, visitStart{given[0].along, max(0, visit-1)})
			} else {
				if given[0].visit == visitNext {
					visit++
					from = k - 1
				}
				starts = append(starts, visitStart{given[0].along, visit})
			}
			given = given[1:]
		}
		if leftOut[k] = aside; aside {
			continue
		}
		for steps[k].along-steps[behind].along > 2*w {
			behind++
		}
		met := from
		for j := range ground.Backward(boxes[k], from+1, behind) {
			if !leftOut[j] && overlap(quads[k], quads[j]) {
				met = j
				break
			}
		}
		if met > from {
			if cut := straightest(steps, max(from+1, met+1), k-1, w); cut > from {
				if at := poses[work.PoseAt(poses, steps[cut].along)].Along; at > starts[len(starts)-1].along {
					visit++
					starts = append(starts, visitStart{at, visit})
				}
				from = cut
				clear(leftOut[from+1 : k])
			}
		}
	}
	return starts
}

// backStarts returns where visits begin by the rule on a way that goes back on
// itself by b, more than a width w, and then on over the same ground. Ground a
// distance x behind the place of turning back is met three times, with 2x of
// travel between the first two and 2b - 2x between the last:
//
//	x      0           b-w          w           b
//	       |  1, 1, 2   |  1, 1, 1  |  1, 2, 2  |    b up to 2w: the visits of
//	       |  1, 1, 3   |  1, 2, 3  |  1, 2, 2  |    b over 2w:  the meetings
//	               or w ^           ^ or b-w
//
// So a visit begins w after it turned back. If b is more than 2w another begins
// w after it went on; else the first visit goes on over the ground from w to b - w,
// and after that the second. A bar of 10 m that turns back at 100 m along the pass
// and forward again at 115 m begins visitNext at 110 m, visitBefore at 120 m and
// visitSame at 125 m.
func backStarts(back []backing, w, end plane.Distance) []visitStart {
	var out []visitStart
	add := func(from plane.Distance, visit int) {
		if from < end {
			out = append(out, visitStart{from, visit})
		}
	}
	for i, b := range back {
		add(b.from+w, visitNext)
		if b.to-b.from > 2*w {
			add(b.to+w, visitNext)
			continue
		}
		next := plane.Distance(math.Inf(1)) // where it backs up again
		if i+1 < len(back) {
			next = back[i+1].from
		}
		add(min(next, 2*b.to-b.from-w), visitBefore)
		add(min(next, b.to+w), visitSame)
	}
	return out
}

// turnsBack reports whether headings range so far that a pass may come onto
// its own ground again. While all stay within 60 degrees of one direction it cannot:
// two widths of travel advance the bar's centre by one width at least (cos 60° =
// 1/2), and no part of the bar reaches farther than half a width × sin 60° = 0.44
// widths ahead of its centre or behind.
func turnsBack(poses []work.Pose, keep []int32) bool {
	var lo, hi, h plane.Angle
	for i := 1; i < len(keep); i++ {
		h += poses[keep[i-1]].Heading.To(poses[keep[i]].Heading)
		lo, hi = min(lo, h), max(hi, h)
	}
	return hi-lo > 2*math.Pi/3
}

// mostSteps is how many steps there are for each pose at most, so that a bar of a
// centimetre takes no more than one of a metre does: poses 50 m apart of that have
// as many. No test holds it closely.
const mostSteps = 100

// A visitStep is the bar's stance at one step along a pass.
type visitStep struct {
	stance.Bar
	along  plane.Distance
	turned plane.Angle // since the pass began
}

// stepsAlong returns the stances of the bar at the kept poses, and between
// them so that no step is longer than most.
func stepsAlong(poses []work.Pose, keep []int32, most plane.Distance) []visitStep {
	first := &poses[keep[0]]
	steps := []visitStep{{work.BarOf(first), first.Along, 0}}
	for i := 1; i < len(keep); i++ {
		a, b := &poses[keep[i-1]], &poses[keep[i]]
		n := int(math.Ceil(float64((b.Along - a.Along) / most)))
		turn := a.Heading.To(b.Heading)
		for k := 1; k <= n; k++ {
			t := float64(k) / float64(n)
			p := work.Pose{Heading: a.Heading + plane.Angle(t)*turn, Bar: plane.Point{
				X: a.Bar.X + plane.Round(t*float64(b.Bar.X-a.Bar.X)),
				Y: a.Bar.Y + plane.Round(t*float64(b.Bar.Y-a.Bar.Y)),
			}}
			steps = append(steps, visitStep{work.BarOf(&p), a.Along + plane.Distance(t)*(b.Along-a.Along), steps[len(steps)-1].turned + turn/plane.Angle(n)})
		}
	}
	return steps
}

// straightest returns the step among from to to, but no more than cutReach
// widths before to, about which the pass turns least over a width of travel either
// way; the last of several. It returns 0 if there is none.
//
// It goes backward and finds the least and the most turned of the steps within a
// width by a sliding window over monotonic queues: lows and highs hold the steps
// that may yet be either, the farthest ahead first, which is the least (or most)
// turned of them.
func straightest(steps []visitStep, from, to int, w plane.Distance) int {
	best, least := 0, plane.Angle(math.Inf(1))
	var lows, highs []int
	behind, ahead := to+1, to // the steps within a width of step i, and the first that is not either way
	for ahead+1 < len(steps) && steps[ahead].along-steps[to].along < w {
		ahead++
	}
	add := func(j int) {
		for n := len(lows); n > 0 && steps[lows[n-1]].turned >= steps[j].turned; n-- {
			lows = lows[:n-1]
		}
		for n := len(highs); n > 0 && steps[highs[n-1]].turned <= steps[j].turned; n-- {
			highs = highs[:n-1]
		}
		lows, highs = append(lows, j), append(highs, j)
	}
	for j := ahead; j > to; j-- {
		add(j)
	}
	for i := to; i >= from && steps[to].along-steps[i].along <= cutReach*w; i-- {
		for behind > 0 && (behind > i || steps[i].along-steps[behind].along < w) {
			behind--
			add(behind)
		}
		for ahead > i && steps[ahead-1].along-steps[i].along >= w {
			ahead--
		}
		for lows[0] > ahead {
			lows = lows[1:]
		}
		for highs[0] > ahead {
			highs = highs[1:]
		}
		if turned := steps[highs[0]].turned - steps[lows[0]].turned; turned < least {
			best, least = i, turned
		}
	}
	return best
}

// quadOf is the ground the whole bar sweeps from a to b, as corners in order.
func quadOf(a, b stance.Bar, width plane.Length) [4]plane.Point {
	l, r := -(width / 2), width-width/2
	return [4]plane.Point{a.End(r), b.End(r), b.End(l), a.End(l)}
}

// overlap reports whether two convex quads share ground: no edge of either
// has the other wholly on its outer side (the separating axis theorem). A quad of
// a bar that pivots may not be convex; an overlap may then be missed here, and the
// next step finds it.
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
