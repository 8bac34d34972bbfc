package whatif

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"lapwing/coverage"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// The error is sampled at nodes, moments of each pass, and is linear in time between
// them. Nodes closer than a third of the shortest memory show no more of the
// error. More than mostNodes would take seconds; fewer, farther apart, lengthen its
// correlation, so that it averages out less than it would. Judgement: with mostNodes
// halved or doubled the ends of the intervals of samples/tern-bank move by a quarter of the
// interval at most; with nodeSpacing they do not, for that field has nodes farther apart.
const (
	nodeSpacing = 7.0 // s
	mostNodes   = 400

	// Passes in short pieces have more, two each. What one kind of error takes grows with
	// the square of the nodes, and its time with their third power: with more than so
	// many only one kind is tried.
	mostWithMemories = 2 * mostNodes
)

// nodes are the moments of all passes.
type nodes struct {
	passes  []passNodes
	count   int
	errors  []ReceiverError
	machine []int     // of each node
	seconds []float64 // of each node
	gap     []float64 // s, from each node to the next of its pass
	kinds   []errorKind
}

// passNodes are the nodes of one pass.
type passNodes struct {
	first int              // the number of its first node
	along []plane.Distance // along the pass, of each
}

// An errorKind is what is known of the machines' errors before their laps are looked
// at, if the short-term error has one of the memories.
type errorKind struct {
	memory   memory
	together []float64 // covariances of the nodes, on one axis: a lower triangle row by row

	once   sync.Once
	priors []prior // one for each machine; see [nodes.priors]
}

// A prior is the error of one machine.
type prior struct {
	order  []int // the nodes of the machine, in order of time
	factor lower
}

// nodesOf places the nodes of a map's passes.
func nodesOf(m *coverage.Map, errors []ReceiverError) *nodes {
	n := &nodes{passes: make([]passNodes, len(m.Passes)), errors: errors}
	times := clockOf(m)
	worked := 0.0
	for i := range m.Passes {
		worked += times[i].last - times[i].first
	}
	spacing := nodeSpacing
	if room := mostNodes - 2*len(m.Passes); room > 0 {
		spacing = max(spacing, worked/float64(room))
	} else {
		spacing = math.Inf(1)
	}
	for i := range m.Passes {
		p := &n.passes[i]
		p.first = n.count
		parts := int(math.Ceil((times[i].last - times[i].first) / spacing))
		parts = max(1, parts)
		for k := range parts + 1 {
			share := float64(k) / float64(parts)
			p.along = append(p.along, plane.Distance(share)*m.Passes[i].Length)
			n.seconds = append(n.seconds, times[i].first+share*(times[i].last-times[i].first))
			n.machine = append(n.machine, m.Passes[i].Machine)
			n.gap = append(n.gap, (times[i].last-times[i].first)/float64(parts))
			n.count++
		}
	}
	memories := shortMemories
	if n.count > mostWithMemories {
		memories = []memory{usualMemory}
	}
	n.kinds = make([]errorKind, len(memories))
	parallel.Each(len(n.kinds), func(k int) {
		kind := &n.kinds[k]
		kind.memory = memories[k]
		larger := make([]float64, n.count)
		for i := range larger {
			larger[i] = kind.memory.largerAt(n.gap[i])
		}
		kind.together = make([]float64, n.count*(n.count+1)/2)
		for i := range n.count {
			row := kind.together[i*(i+1)/2:]
			for j := range i + 1 {
				if n.machine[i] == n.machine[j] { // errors of two machines have nothing to do with each other
					short, drift := errors[n.machine[i]].together(kind.memory, n.seconds[i]-n.seconds[j])
					row[j] = larger[i]*larger[j]*short + drift
				}
			}
		}
	})
	return n
}

// between is the covariance of the errors at two nodes, on one axis.
func (k *errorKind) between(i, j int) float64 {
	if i < j {
		i, j = j, i
	}
	return k.together[i*(i+1)/2+j]
}

// largerAt is by how much the short-term error must be larger at nodes so many
// seconds apart for its mean square between them to be right: linear between two
// nodes, it is (2 + the correlation of the two) / 3 of the nodes' own.
func (m memory) largerAt(spacing float64) float64 {
	return math.Sqrt(3 / (2 + m.correlation(spacing)))
}

// priors are those of the machines if the error is of one kind.
func (n *nodes) priors(kind int) []prior {
	k := &n.kinds[kind]
	k.once.Do(func() {
		k.priors = make([]prior, len(n.errors))
		for at := range k.priors {
			p := &k.priors[at]
			for i, of := range n.machine {
				if of == at {
					p.order = append(p.order, i)
				}
			}
			p.factor = factor(len(p.order), func(i, j int) float64 { return k.between(p.order[i], p.order[j]) })
		}
	})
	return k.priors
}

// draw returns an error of one kind for each node, in metres, as the prior has it.
func (n *nodes) draw(r *rand.Rand, kind int) []plane.Vector {
	out := make([]plane.Vector, n.count)
	for _, p := range n.priors(kind) {
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
