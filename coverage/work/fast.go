package work

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"lapwing/coverage/field"
	"lapwing/coverage/track"
)

// farFaster is how many times as fast as the usual pass of a log of several machines one
// must be for it to be no pass. Judgement: who works in a hurry drives half as fast
// again, and who drives on the road several times as fast. TestPassFarTooFast fails where
// it is doubled.
const farFaster = 2.0

// withoutFast leaves out passes that are far faster than the others of a log of several
// machines which does not say which is which: they are the way of a machine that did not
// work, or from where one was to where another is. It adds to the warnings which and how
// much.
func withoutFast(l *track.Log, passes []Pass, out []field.Warning) ([]Pass, []field.Warning) {
	if len(l.Paths) < 2 || l.NoClock {
		return passes, out
	}
	usual := medianSpeed(passes)
	if usual == 0 {
		return passes, out
	}
	kept := passes[:0]
	for i := range passes {
		p := &passes[i]
		if v := p.speed(); v > farFaster*usual {
			out = append(out, field.Warning{File: l.File, Count: 1, Text: fmt.Sprintf(
				"from %s the bar goes %.0f m at %.1f m/s, where the work of the log is done at %.1f m/s: taken for the way between two of its machines and left out; a machine column, or a log for each, keeps it",
				p.Start.Time().UTC().Format(time.DateTime), p.Length.Metres(), v, usual)})
			continue
		}
		kept = append(kept, *p)
	}
	return kept, out
}

// speed is that of the pass while it moved, in m/s; 0 where it never did.
func (p *Pass) speed() float64 {
	if p.During.Moving <= 0 {
		return 0
	}
	length := p.Length
	for i := range p.Poses[:len(p.Poses)-1] {
		if p.Poses[i].Silent {
			length -= p.Poses[i+1].Along - p.Poses[i].Along
		}
	}
	return length.Metres() / p.During.Moving.Seconds()
}

// medianSpeed is the median speed of passes by the length they have; 0 for none.
func medianSpeed(passes []Pass) float64 {
	order := make([]*Pass, len(passes))
	length := 0.0
	for i := range passes {
		order[i] = &passes[i]
		length += passes[i].Length.Metres()
	}
	slices.SortFunc(order, func(a, b *Pass) int { return cmp.Compare(a.speed(), b.speed()) })
	sum := 0.0
	for _, p := range order {
		if sum += p.Length.Metres(); 2*sum >= length {
			return p.speed()
		}
	}
	return 0
}
