package assess

import (
	"cmp"
	"slices"

	"lapwing/coverage/beside"
	"lapwing/coverage/cause"
	"lapwing/coverage/machine"
	"lapwing/coverage/mend"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
)

// A Finding is what is wrong, or not known, after the last pass.
type Finding string

// The findings, the one to act on first at the head.
const (
	HeadlandOpen Finding = "headland open" // along a stretch worth driving for
	GoBack       Finding = "go back"       // for skips beside the pass
	CannotSay    Finding = "cannot say"    // no neighbour beside it, for part of its way
	WideLap      Finding = "wide lap"      // a row more than planned, along a tenth of it
	CarryOn      Finding = "carry on"      // none of these
)

// A Verdict is what to do now that the last passes are driven: what was found, the
// first thing to act on at the head. It is empty before the first pass.
type Verdict struct {
	Findings []Finding
	// Openings are the stretches of the boundary that are worth driving for, the longest
	// first; NotWorkedYet is how much of the boundary no pass was driven along yet.
	Openings     []OpenStretch
	NotWorkedYet plane.Distance
	Back         *Mending // for skips beside the passes; nil where there is none
	// Alone and Wide are the passes that have no neighbour for part of their way, and
	// those that lap too wide.
	Alone []LonePass
	Wide  []WidePass
}

// First is the finding to act on first; "" before the first pass.
func (v *Verdict) First() Finding {
	if len(v.Findings) == 0 {
		return ""
	}
	return v.Findings[0]
}

// An OpenStretch is a stretch of the boundary with bare ground along it that is wider
// than a row, narrower than a pass, and longer than the bar is wide.
type OpenStretch struct {
	Opening     int // index into Edge.Openings of the one that it is all or part of
	Length, Max plane.Distance
	At          plane.Point // where most is bare
}

// A LonePass is a pass whose better known side has no neighbour along some of it.
type LonePass struct {
	ID            int
	Alone, Length plane.Distance
}

// A WidePass is a side of a pass that laps its neighbour by a row more than planned.
type WidePass struct {
	ID    int
	Right bool           // else left
	Along plane.Distance // of the pass
	Mean  plane.Distance // lap, along there
	Plan  plane.Length
}

// unknownRow is the row spacing where the job tells none: a foot.
const unknownRow = plane.Length(quantity.Foot * float64(plane.Metre))

// wideShare is the share of a pass along which a lap must be wide to be told of.
const wideShare = 0.1

// Judge judges the passes that were asked about, in a.Last.
func (a *Assessment) Judge(q LastQuestion) (Verdict, error) {
	var v Verdict
	if len(a.Last) == 0 {
		return v, nil
	}
	a.lookAlongEdge(&v)
	var err error
	if v.Back, err = a.backBeside(q); err != nil {
		return v, err
	}
	for i := range a.Last {
		p := &a.Last[i]
		if lone, is := a.lone(p); is {
			v.Alone = append(v.Alone, lone)
		}
		v.Wide = append(v.Wide, a.wide(p)...)
	}
	for _, f := range []struct {
		finding Finding
		holds   bool
	}{
		{HeadlandOpen, len(v.Openings) > 0}, {GoBack, v.Back != nil && len(v.Back.Plan.Stops) > 0},
		{CannotSay, len(v.Alone) > 0}, {WideLap, len(v.Wide) > 0},
	} {
		if f.holds {
			v.Findings = append(v.Findings, f.finding)
		}
	}
	if len(v.Findings) == 0 {
		v.Findings = []Finding{CarryOn}
	}
	return v, nil
}

// row is the row spacing of a pass's machine, or what stands in for it.
func (a *Assessment) row(pass int) plane.Length {
	if row := a.implementOf(pass).RowSpacing; row > 0 {
		return row
	}
	return unknownRow
}

// lookAlongEdge finds the stretches of the boundary that are worth driving for. Where a
// whole pass fits between the boundary and the work, it is still to be driven; along
// sides where the outline is likely off, only what is a row more than that is bare.
func (a *Assessment) lookAlongEdge(v *Verdict) {
	e := &a.Map.Headland.Edge
	if a.Map.Field.Worked {
		return
	}
	bar := plane.Distance(a.implementOf(a.Last[0].ID).Width)
	row, pass := plane.Distance(a.row(a.Last[0].ID)), beside.MissedWidth*bar
	for i := range e.Openings {
		least := plane.Distance(0)
		if outlined := a.Map.Headland.Outlined; i < len(outlined) && outlined[i] {
			for _, m := range a.Map.Headland.Fit.Misfits {
				least = max(least, m.Mean+row)
			}
		}
		var now OpenStretch
		end := func() {
			if now.Max > row && now.Length > bar {
				v.Openings = append(v.Openings, now)
			}
			now = OpenStretch{Opening: i}
		}
		end()
		for _, s := range e.Steps(&e.Openings[i]) {
			if s.StandOff >= pass {
				v.NotWorkedYet += s.Length
				end()
				continue
			}
			if s.StandOff < least {
				end()
				continue
			}
			now.Length += s.Length
			if s.StandOff > now.Max {
				now.Max, now.At = s.StandOff, s.At
			}
		}
		end()
	}
	slices.SortStableFunc(v.Openings, func(a, b OpenStretch) int { return cmp.Compare(b.Length, a.Length) })
}

// backBeside plans the drive for the skips beside the passes that are worth it. Ground
// along the boundary is told of as the headland.
func (a *Assessment) backBeside(q LastQuestion) (*Mending, error) {
	near := []int{}
	yet := a.besideUnworked()
	for i := range a.Map.Skips {
		s := &a.Map.Skips[i]
		if s.Unworked() || yet[i] || s.Cause == cause.BoundaryEdge {
			continue
		}
		// A strip that a whole pass fits on is the next pass or round, to be driven yet,
		// unless passes lie on both sides of it.
		if s.Cause != cause.MissedPass && s.Width >= beside.MissedWidth*plane.Distance(a.implementOf(a.Last[0].ID).Width) {
			continue
		}
		if slices.ContainsFunc(a.Last, func(p LastPass) bool { return slices.Contains(s.Passes, p.ID) }) {
			near = append(near, i)
		}
	}
	if len(near) == 0 {
		return nil, nil
	}
	return a.PlanDrive(MendQuestion{Machine: a.Map.Passes[a.Last[0].ID-1].Machine, Only: near, GoingBack: q.GoingBack})
}

// lone reports whether a pass has no neighbour along more of its better known side
// than its bar is wide, so that whether it joined cannot be said.
func (a *Assessment) lone(p *LastPass) (LonePass, bool) {
	alone := min(p.Left.Alone, p.Right.Alone)
	return LonePass{p.ID, alone, a.Map.Passes[p.ID-1].Length}, alone > plane.Distance(a.implementOf(p.ID).Width)
}

// wide returns the sides of a pass that lap too wide.
func (a *Assessment) wide(p *LastPass) (out []WidePass) {
	pass := &a.Map.Passes[p.ID-1]
	plan, _ := a.aimedFor(pass)
	most := plane.Distance(plan + a.row(p.ID))
	for _, side := range []*beside.Seam{&p.Left, &p.Right} {
		w := WidePass{ID: p.ID, Right: side == &p.Right, Plan: plan}
		for _, m := range side.Marks {
			if m.Beside && m.By > most {
				w.Along += m.To - m.From
				w.Mean += m.By * (m.To - m.From)
			}
		}
		if w.Along > 0 && w.Along >= wideShare*pass.Length {
			w.Mean /= w.Along
			out = append(out, w)
		}
	}
	return out
}

func (a *Assessment) implementOf(pass int) *machine.Implement {
	return &a.Map.Machines[a.Map.Passes[pass-1].Machine].Implement
}

// besideUnworked tells of each skip whether it shares an edge with ground that is simply
// not worked yet: the headland's inner edge parts the two, not the work.
func (a *Assessment) besideUnworked() map[int]bool {
	all := make([]int, len(a.Map.Skips))
	for i := range all {
		all[i] = i
	}
	out := map[int]bool{}
	for i, other := range mend.Touching(a.Map, all) {
		out[i] = out[i] || a.Map.Skips[other].Unworked()
		out[other] = out[other] || a.Map.Skips[i].Unworked()
	}
	return out
}
