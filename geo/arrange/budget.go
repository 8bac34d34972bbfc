package arrange

import (
	"errors"
	"sync"
	"sync/atomic"
)

// ErrSpent says that the edges cross one another more often than a budget
// allows.
var ErrSpent = errors.New("edges cross one another too often")

// A Budget is how much several arrangements may cost together. It is counted in
// crossings: what an arrangement takes, in time and in memory, grows with the
// corners of its rings, which the caller knows, and with these, of which there
// may be as many as pairs of edges.
//
// An edge spends one crossing at every hot cell that it bends through (see the
// package doc), so that two edges that simply cross spend two, and one more for
// each border between labels that begins there. A combination of many layers spends
// one for every [layersPerCrossing] of them, and edges so near to one another that
// each must be compared with all others spend one for every [pairsPerCrossing]
// pairs.
//
// Whether a budget is enough depends on the layers alone: not on the number of
// processors, nor on what is arranged at the same time. A nil Budget has no end.
// It is safe for use by several goroutines at once.
type Budget struct {
	most  cost
	spent atomic.Int64 // a cost
}

// A cost is what is spent of a budget: it counts pairs compared, the least that
// is counted.
type cost = int64

// What takes about the time or the memory of a crossing: a pair is compared in
// 5 to 10 ns, and a crossing takes most of a microsecond until all is arranged; a
// layer takes 16 bytes of every combination it is in, and a crossing 50 to 100.
const (
	pairsPerCrossing  = 128
	layersPerCrossing = 8
)

// NewBudget returns a budget of so many crossings.
func NewBudget(crossings int) *Budget { return &Budget{most: cost(crossings) * pairsPerCrossing} }

// Spent returns how many crossings were spent so far.
func (b *Budget) Spent() int { return int(b.spent.Load() / pairsPerCrossing) }

// Cut is [Cut] for as long as the budget lasts. It fails with [ErrSpent].
func (b *Budget) Cut(layers []Layer, label func(under []int) Label) (*Arrangement, error) {
	segs, corners := segments(layers)
	bends, lasts := snap(segs, b)
	if !lasts {
		return nil, ErrSpent
	}
	var along bendsAlong
	var meanwhile sync.WaitGroup
	meanwhile.Go(func() { along = alongSegs(segs, bends) })
	nodes := number(corners, bends, viewOf(segs))
	meanwhile.Wait()
	edges := join(segs, along, nodes)
	covers := newCovers(label, b)
	web, lasts := sweep(nodes, len(bends), edges, covers)
	if !lasts {
		return nil, ErrSpent
	}
	return &Arrangement{Covers: covers.result(), Faces: web.faces()}, nil
}

// Areas is [Areas] for as long as the budget lasts. It fails with [ErrSpent].
func (b *Budget) Areas(layers []Layer) ([]Cover, error) {
	a, err := b.Cut(layers, func([]int) Label { return None })
	if err != nil {
		return nil, err
	}
	return a.Covers, nil
}

// A purse is what one goroutine spends of a budget. It tells the budget now and
// then only, so that processors don't wait for one another.
type purse struct {
	budget *Budget
	spent  cost // not yet told the budget
	empty  bool // the budget is spent: what is being worked out will not be used
}

// seldom is how much a purse spends before it tells the budget: few enough that
// all processors together overspend by little, enough that telling takes no time.
const seldom = 512 * pairsPerCrossing

// spend reports whether the budget lasts.
func (p *purse) spend(c cost) bool {
	if p.spent += c; p.spent >= seldom {
		p.close()
	}
	return !p.empty
}

func (p *purse) crossings(n int) bool { return p.spend(cost(n) * pairsPerCrossing) }
func (p *purse) layers(n int) bool    { return p.spend(cost(n) * (pairsPerCrossing / layersPerCrossing)) }
func (p *purse) pairs(n int) bool     { return p.spend(cost(n)) }

// holds reports whether the whole of the budget would do for so many crossings.
func (p *purse) holds(n int) bool {
	if b := p.budget; b != nil && cost(n)*pairsPerCrossing > b.most {
		p.empty = true
	}
	return !p.empty
}

// close tells the budget what was spent, and reports whether it lasts.
func (p *purse) close() bool {
	if b := p.budget; b != nil && b.spent.Add(p.spent) > b.most {
		p.empty = true
	}
	p.spent = 0
	return !p.empty
}
