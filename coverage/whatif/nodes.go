package whatif

import (
	"math"
	"math/rand/v2"
	"slices"

	"lapwing/coverage"
	"lapwing/geo/plane"
)

// The error is sampled at nodes, moments of each pass, and is linear in time between
// them. Nodes closer than a third of the short-term memory show no more of the
// error. More than mostNodes would take seconds; fewer, farther apart, lengthen its
// correlation, so that it averages out less than it would. Judgement.
const (
	nodeSpacing = shortMemory / 3 // s
	mostNodes   = 400
)

// nodes are the moments of all passes.
type nodes struct {
	passes  []passNodes
	count   int
	machine []int     // of each node
	seconds []float64 // of each node
	larger  []float64 // by how much the short-term error is taken larger at each node
	spacing float64   // s
	prior   []prior   // one for each machine
}

// passNodes are the nodes of one pass.
type passNodes struct {
	first int              // the number of its first node
	along []plane.Distance // along the pass, of each
}

// A prior is what is known of a machine's error before its laps are looked at.
type prior struct {
	order  []int // the nodes of the machine, in order of time
	factor lower
}

// nodesOf places the nodes of a map's passes.
func nodesOf(m *coverage.Map, errors []ReceiverError) *nodes {
	n := &nodes{passes: make([]passNodes, len(m.Passes))}
	times := clockOf(m)
	worked := 0.0
	for i := range m.Passes {
		worked += times[i].last - times[i].first
	}
	n.spacing = nodeSpacing
	if room := mostNodes - 2*len(m.Passes); room > 0 {
		n.spacing = max(n.spacing, worked/float64(room))
	} else {
		n.spacing = math.Inf(1)
	}
	for i := range m.Passes {
		p := &n.passes[i]
		p.first = n.count
		parts := int(math.Ceil((times[i].last - times[i].first) / n.spacing))
		parts = max(1, parts)
		for k := range parts + 1 {
			share := float64(k) / float64(parts)
			p.along = append(p.along, plane.Distance(share)*m.Passes[i].Length)
			n.seconds = append(n.seconds, times[i].first+share*(times[i].last-times[i].first))
			n.machine = append(n.machine, m.Passes[i].Machine)
			n.larger = append(n.larger, largerAt((times[i].last-times[i].first)/float64(parts)))
			n.count++
		}
	}
	n.prior = make([]prior, len(m.Machines))
	for k := range n.prior {
		p := &n.prior[k]
		for i, of := range n.machine {
			if of == k {
				p.order = append(p.order, i)
			}
		}
		p.factor = factor(len(p.order), func(i, j int) float64 { return n.together(errors, p.order[i], p.order[j]) })
	}
	return n
}

// together is the covariance of the errors at two nodes, on one axis. Errors
// of two machines have nothing to do with each other.
func (n *nodes) together(errors []ReceiverError, i, j int) float64 {
	if n.machine[i] != n.machine[j] {
		return 0
	}
	short, drift := errors[n.machine[i]].together(n.seconds[i] - n.seconds[j])
	return n.larger[i]*n.larger[j]*short + drift
}

// largerAt is by how much the short-term error must be larger at nodes so many
// seconds apart for its mean square between them to be right: linear between two
// nodes, it is (2 + the correlation of the two) / 3 of the nodes' own.
func largerAt(spacing float64) float64 {
	return math.Sqrt(3 / (2 + correlation(spacing, shortMemory)))
}

// draw returns an error for each node, in metres, as the prior has it.
func (n *nodes) draw(r *rand.Rand) []plane.Vector {
	out := make([]plane.Vector, n.count)
	for k := range n.prior {
		p := &n.prior[k]
		east, north := p.factor.times(normals(r, len(p.order))), p.factor.times(normals(r, len(p.order)))
		for i, node := range p.order {
			out[node] = plane.Vector{X: east[i], Y: north[i]}
		}
	}
	return out
}

// A share is a part of a node's error.
type share struct {
	node int
	part float64
}

// at returns the nodes about a distance along a pass, and their parts.
func (n *nodes) at(pass int, along plane.Distance) [2]share {
	p := &n.passes[pass]
	i, _ := slices.BinarySearch(p.along, along)
	i = max(1, min(i, len(p.along)-1))
	part := 0.0
	if d := p.along[i] - p.along[i-1]; d > 0 {
		part = max(0, min(1, float64((along-p.along[i-1])/d)))
	}
	return [2]share{{p.first + i - 1, 1 - part}, {p.first + i, part}}
}

// A spell is when a pass was driven, in seconds.
type spell struct{ first, last float64 }

// usualTurn is the time, in seconds, that a turn is taken to last where the log has
// no times. Judgement; no test holds it closely.
const usualTurn = 60.0

// clockOf returns when each pass was driven.
func clockOf(m *coverage.Map) []spell {
	out := make([]spell, len(m.Passes))
	for i := range m.Passes {
		p := &m.Passes[i]
		out[i] = spell{float64(p.Start) / 1e9, float64(p.End) / 1e9}
	}
	if slices.ContainsFunc(out, func(s spell) bool { return s.last > s.first }) {
		return out
	}
	now := 0.0
	for i := range m.Passes {
		last := now + m.Passes[i].Length.Metres()/coverage.UsualSpeed
		out[i] = spell{now, last}
		now = last + usualTurn
	}
	return out
}
