package track

import (
	"cmp"
	"math"
	"slices"
	"time"

	"lapwing/geo"
)

// A log may hold the fixes of several machines, one among the other, without saying
// so. Taken as one machine, the fixes of each would be spikes on the way of the
// other. The figures are judgement; TestTwoMachinesInOneLog and TestMachinesToldApart
// show what they do, and hold none of them closely.
const (
	farApart    = 30.0 // m; two machines are at least so far apart, mostly
	streamLeast = 20   // leaps to and fro in a log of several machines, and fixes of each, at least
	streamShare = 0.02 // of the fixes of such a log are leaps, at least
	mostStreams = 8    // machines in one log, mostly: how far the fixes of one may lie apart
	mainShare   = 10   // a machine has at least a tenth of the fixes of the one with the most

	strandSlack = 3.0              // m that a fix may be off where its machine was going, besides as far as it goes
	strandTimes = 1.5              // times the speed of nearly all steps that a machine drives at most
	nearlyAll   = 0.95             // of the steps
	mostLive    = 64               // strands looked at for each fix
	longestLink = 30 * time.Minute // between two strands of a machine; after more, any machine may begin anew
)

// streams separates the places of several machines, each in order; nil where
// they are those of one.
//
// Fixes that follow each other closely make strands first. Strands are then linked, the
// nearest in place and time first whichever comes earlier in the log: the end of each is
// taken to the start that is best for both. What no machine could drive is not linked
// but begins anew.
func (l *Log) streams(places []Station) [][]Station {
	leaps := 0
	for i := 1; i < len(places); i++ {
		if l.leapsAway(&places[i-1], &places[i]) {
			leaps++
		}
	}
	if leaps < streamLeast || float64(leaps) < streamShare*float64(len(places)) {
		return nil
	}
	t := teller{log: l, places: places, fastest: topSpeed}
	t.unbroken = time.Duration(mostStreams) * unbroken(Beat{len(places), func(i int) geo.Instant { return l.fix(&places[i]).Time }}.Usual(1, len(places)))
	t.strandsOf()
	t.unbroken, t.fastest = t.habits() // now that it is known how often each writes, and how fast it drives
	t.strandsOf()
	return t.machines()
}

// A teller tells the machines of a log apart.
type teller struct {
	log      *Log
	places   []Station
	unbroken time.Duration // the longest time between two fixes of a strand
	fastest  float64       // m/s that a machine drives at most
	strands  []strand
}

// A strand is a run of fixes that one machine left beyond doubt: each lies where the
// fixes before it lead.
type strand struct{ at []int } // indices of places

func (s *strand) first() int { return s.at[0] }
func (s *strand) last() int  { return s.at[len(s.at)-1] }

// strandsOf makes the strands.
func (t *teller) strandsOf() {
	t.strands = t.strands[:0]
	var live []int // strands that may go on, the latest last
	for i := range t.places {
		n := 0
		for _, s := range live {
			if t.since(t.strands[s].last(), i) <= t.unbroken {
				live[n] = s
				n++
			}
		}
		live = live[max(0, n-mostLive):n]
		best := t.goesOn(live, i)
		if best < 0 {
			t.strands = append(t.strands, strand{at: []int{i}})
			live = append(live, len(t.strands)-1)
			continue
		}
		s := live[best]
		t.strands[s].at = append(t.strands[s].at, i)
		live = append(slices.Delete(live, best, best+1), s)
	}
}

// goesOn returns which of some live strands place i goes on from: the one that leads
// nearest to it, or the longest that is as good as at the same place, since the shorter
// was begun by a fix astray; -1 for none.
func (t *teller) goesOn(live []int, i int) int {
	var may []int
	best, least := -1, math.Inf(1)
	for k, s := range live {
		if off, leads := t.leads(&t.strands[s], i); leads && !t.contested(&t.strands[s], i, off) {
			may = append(may, k)
			if off < least {
				best, least = k, off
			}
		}
	}
	nearest := best
	for _, k := range may {
		if s := &t.strands[live[k]]; len(s.at) > len(t.strands[live[best]].at) && t.apart(s.last(), t.strands[live[nearest]].last()) <= 2*strandSlack {
			best = k
		}
	}
	return best
}

// since is the time from one place to a later one.
func (t *teller) since(a, b int) time.Duration { return t.log.since(&t.places[a], &t.places[b]) }

// apart is how far two places are apart, in metres.
func (t *teller) apart(a, b int) float64 {
	return t.places[a].apart(&t.places[b])
}

// leads returns how far place i is off where a strand leads, in metres, and whether a
// machine that drove on may be there.
func (t *teller) leads(s *strand, i int) (off float64, may bool) {
	last := s.last()
	dt := t.since(last, i).Seconds()
	if t.apart(last, i) > t.fastest*dt+strandSlack {
		return 0, false
	}
	b := &t.places[last]
	x, y, goes := b.X, b.Y, t.fastest
	for n := len(s.at) - 2; n >= 0; n-- {
		if before := t.since(s.at[n], last).Seconds(); before > 0 { // clocks that tick seldom give several fixes one time
			a := &t.places[s.at[n]]
			x, y = b.X+(b.X-a.X)/before*dt, b.Y+(b.Y-a.Y)/before*dt
			goes = t.apart(s.at[n], last) / before
			break
		}
	}
	off = math.Hypot(t.places[i].X-x, t.places[i].Y-y)
	return off, off <= strandSlack+goes*dt
}

// contested reports whether a place that comes soon after i, and not beside it, lies far
// nearer to where a strand leads: then i is another machine's.
func (t *teller) contested(s *strand, i int, off float64) bool {
	if off <= strandSlack {
		return false
	}
	soon := t.since(s.last(), i) / 2
	for j := i + 1; j < len(t.places) && j <= i+mostStreams && t.since(i, j) <= soon; j++ {
		if other, leads := t.leads(s, j); leads && other < off/2 && t.apart(i, j) > 2*strandSlack {
			return true
		}
	}
	return false
}

// habits returns how long a machine may be silent within a strand, by the usual time
// between its fixes, and how fast it drives at most, by how fast it nearly always does.
func (t *teller) habits() (time.Duration, float64) {
	var steps []time.Duration
	var speeds []float64
	for k := range t.strands {
		at := t.strands[k].at
		for j := 1; j < len(at); j++ {
			if dt := t.since(at[j-1], at[j]); dt > 0 {
				steps = append(steps, dt)
				speeds = append(speeds, t.apart(at[j-1], at[j])/dt.Seconds())
			}
		}
	}
	if len(steps) == 0 {
		return t.unbroken, t.fastest
	}
	slices.Sort(steps)
	slices.Sort(speeds)
	return unbroken(steps[len(steps)/2]), min(topSpeed, strandTimes*speeds[int(nearlyAll*float64(len(speeds)))])
}

// A chain is what strands that are linked hold, in order: the work of one machine
// without a doubt.
type chain struct {
	at       []int
	longest  int // fixes of its longest strand
	from, to geo.Instant
}

// chains links the strands.
func (t *teller) chains() []chain {
	type link struct {
		end, start int // strands
		cost       float64
	}
	var links []link
	for e := range t.strands { // strands begin in order of time
		end := t.strands[e].last()
		from, _ := slices.BinarySearchFunc(t.strands, end, func(s strand, end int) int { return cmp.Compare(s.first(), end+1) })
		for s := max(from, e+1); s < len(t.strands) && s < from+mostLive; s++ {
			start := t.strands[s].first()
			gap := t.since(end, start)
			if gap > longestLink {
				break
			}
			if d := t.apart(end, start); gap > 0 && d <= t.fastest*gap.Seconds()+strandSlack {
				links = append(links, link{e, s, d + t.fastest*gap.Seconds()/2}) // metres, and time in metres
			}
		}
	}
	slices.SortFunc(links, func(a, b link) int {
		return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.end, b.end), cmp.Compare(a.start, b.start))
	})
	next, before := make([]int, len(t.strands)), make([]bool, len(t.strands)) // next is 0 for none: no strand leads to the first
	for _, l := range links {
		if next[l.end] == 0 && !before[l.start] {
			next[l.end], before[l.start] = l.start, true
		}
	}
	var out []chain
	for k := range t.strands {
		if before[k] {
			continue
		}
		var c chain
		for s := k; ; s = next[s] {
			c.at = append(c.at, t.strands[s].at...)
			c.longest = max(c.longest, len(t.strands[s].at))
			if next[s] == 0 {
				break
			}
		}
		c.from, c.to = t.log.fix(&t.places[c.at[0]]).Time, t.log.fix(&t.places[c.at[len(c.at)-1]]).Time
		out = append(out, c)
	}
	return out
}

// machines gives the chains to machines, as few as there were at once, and returns the
// places of each; nil where there is but one. Where a chain does not go on from another
// one, its machine begins anew.
func (t *teller) machines() [][]Station {
	of := slices.Repeat([]int{-1}, len(t.places)) // the machine of each place
	var ends []geo.Instant                        // of the last chain of each machine
	var count []int
	for _, c := range t.chains() {
		if c.longest <= spikeFixes {
			continue
		}
		best := -1
		for m, end := range ends {
			if end < c.from && (best < 0 || end > ends[best]) {
				best = m
			}
		}
		if best < 0 {
			best = len(ends)
			ends, count = append(ends, 0), append(count, 0)
		} else {
			t.places[c.at[0]].Fresh = true
		}
		for _, i := range c.at {
			of[i] = best
		}
		ends[best] = c.to
		count[best] += len(c.at)
	}
	if len(count) == 0 {
		return nil
	}
	most := slices.Max(count)
	var main []int
	for m, n := range count {
		if n >= streamLeast && n*mainShare >= most {
			main = append(main, m)
		}
	}
	turns, last := 0, -1 // from one of the machines to another
	for _, m := range of {
		if !slices.Contains(main, m) {
			continue
		}
		if last >= 0 && m != last {
			turns++
		}
		last = m
	}
	if len(main) < 2 || turns < streamLeast {
		return nil
	}
	out := make([][]Station, len(main))
	for i := range t.places {
		at := slices.Index(main, of[i])
		if at < 0 {
			at = t.missing(out, i) // a fix of no machine is a spike of one
		}
		out[at] = append(out[at], t.places[i])
	}
	return out
}

// missing returns which of the machines, whose places so far are given, has been without
// a fix for longest at place i, and is likely to have it.
func (t *teller) missing(out [][]Station, i int) int {
	best, longest := 0, time.Duration(-1)
	for m := range out {
		n := len(out[m])
		if n == 0 {
			continue
		}
		if silent := t.log.since(&out[m][n-1], &t.places[i]); silent <= t.unbroken && silent > longest {
			best, longest = m, silent
		}
	}
	return best
}

// leapsAway reports whether no machine gets from a to b.
func (l *Log) leapsAway(a, b *Station) bool {
	d := a.apart(b)
	return d > farApart && d > topSpeed*l.since(a, b).Seconds()
}
