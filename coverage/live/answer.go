package live

import (
	"bytes"
	"slices"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/beside"
	"lapwing/coverage/job"
	"lapwing/coverage/locate"
	"lapwing/coverage/machine"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/gnsslog"
	"lapwing/geo/plane"
)

// A Question is the whole field as of one moment, to be measured. It may be answered
// by any goroutine.
type Question struct {
	job     *job.Live
	sources []Source
	taken   []snapshot
	cuts    []geo.Instant
	frame   geo.Frame
	cell    plane.Length
	allow   plane.Length // the stand-off from the boundary that the job leaves on purpose

	products []agronomy.Product
	fills    [][]geo.Instant // of the tanks, by source
}

// An Answer is a field measured as of one moment.
type Answer struct {
	*assess.Assessment
	Summary []byte // summary.json
	Fixes   int    // of the journals, that are in it

	cuts  []geo.Instant
	near  *beside.Neighbourhood
	exact int // passes of it
	edge  openings
	left  remainder
	tanks []usage // by source
}

// Assess measures the field as assess does. When the stream has ended, this is the answer.
func (q *Question) Assess(opt assess.Options) (*assess.Assessment, error) {
	var logs []job.LiveLog
	for i := range q.taken {
		if q.taken[i].count == 0 {
			continue
		}
		log, err := q.Log(i)
		if err != nil {
			return nil, err
		}
		logs = append(logs, job.LiveLog{Machine: q.sources[i].Machine, Path: q.sources[i].Journal, Log: log})
	}
	j, err := q.job.With(logs)
	if err != nil {
		return nil, err
	}
	return assess.Do(j, j.Fields[0], opt)
}

// HasOthers reports whether ground of other cabs is part of it.
func (q *Question) HasOthers() bool {
	return slices.ContainsFunc(q.sources, func(s Source) bool { return s.Other })
}

// Log is what the reader of logs gives for the journal of a source, as of the question.
func (q *Question) Log(source int) (*gnsslog.Log, error) { return q.taken[source].log(q.job.Keeps) }

// ErrNoFix says that there is no answer yet: the field has no boundary, and no fix has come
// that tells where it is.
var ErrNoFix = coverage.ErrNoPosition

// Answer measures the field, and makes of it what the engine goes on with.
func (q *Question) Answer(opt assess.Options) (*Answer, error) {
	assessed, err := q.Assess(opt)
	if err != nil {
		return nil, err
	}
	a := &Answer{Assessment: assessed, cuts: q.cuts, tanks: q.usages(assessed)}
	for i := range q.taken {
		a.Fixes += q.taken[i].count
	}
	var summary bytes.Buffer
	if err := assessed.WriteSummary(&summary); err != nil {
		return nil, err
	}
	a.Summary = summary.Bytes()
	m := assessed.Map
	passes := m.WorkPasses()
	if m.Field.Frame.Centre != q.frame.Centre {
		laid(passes, &m.Field.Frame, &q.frame)
	}
	for i := range passes {
		thin(&passes[i])
	}
	a.near = beside.New(&m.Field, m.Machines, locate.Ways(m.Machines, passes))
	a.exact = len(passes)
	a.left = newRemainder(m.Regions, m.Totals.Skip+m.Totals.Unlogged)
	if f := assessed.Forecast; f != nil {
		a.left.area, a.left.capacity = f.Left.SquareMetres(), f.Capacity
	}
	if !m.Field.Worked {
		a.edge = newOpenings(&m.Headland.Edge, q.allow, q.cell)
	}
	return a, nil
}

// laid moves passes from the plane of one frame to that of another. A field that is the
// worked ground has its frame in the middle of it, which moves from answer to answer.
func laid(passes []work.Pass, from, to *geo.Frame) {
	for i := range passes {
		poses := append([]work.Pose(nil), passes[i].Poses...)
		for k := range poses {
			p := &poses[k]
			at := p.Bar
			p.Bar, _ = to.ToPlane(from.ToEarth(at))
			sin, cos := p.Heading.Sincos()
			const far = float64(10 * plane.Metre) // a tick there turns the heading by 1e-5 rad
			ahead, _ := to.ToPlane(from.ToEarth(plane.Point{X: at.X + plane.Round(far*sin), Y: at.Y + plane.Round(far*cos)}))
			p.Heading = plane.Direction(float64(ahead.X-p.Bar.X), float64(ahead.Y-p.Bar.Y))
		}
		passes[i].Poses = poses
	}
}

// thin drops the poses of a pass that lie on a straight way between two others, so that an
// answer takes less memory.
func thin(p *work.Pass) {
	slim := driven{}
	for i := range p.Poses {
		pose := p.Poses[i]
		step := pose.Along - slim.Length
		if i > 0 && p.Poses[i-1].Silent {
			slim.Poses = append(slim.Poses, pose)
			slim.Length = pose.Along
			continue
		}
		slim.push(pose, step, i > 0)
	}
	p.Poses = slices.Clip(slim.Poses)
}

// cellOf is the farthest that the end of a bar is from its middle, of all machines.
func cellOf(machines []machine.Machine) plane.Length {
	cell := plane.Metre
	for i := range machines {
		for _, s := range machines[i].Implement.Sections {
			cell = max(cell, -s.Left, s.Right)
		}
	}
	return cell
}
