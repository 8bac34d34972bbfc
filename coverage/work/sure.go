package work

import (
	"fmt"
	"math"

	"lapwing/coverage/field"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Judgement says of a stretch of a machine's way, where no log does, whether the bar
// worked, and how surely.
type Judgement struct {
	Machine      int
	Start, End   geo.Instant // they mean nothing where the log has no times
	Length       plane.Distance
	Works        bool
	Sure         float64 // how likely that is right of a metre of its way, 0.5 to 1
	SureOfGround float64 // and of a square metre that it makes a skip or an overlap; 0 where it is [Sure]
	Poses        []Pose  // of the bar where it is not [Sure], else nil
}

// Sure is how likely a judgement is right that is not doubtful.
const Sure = 0.9

// A circumstance is what speaks for a judgement, or against it.
type circumstance int

const (
	endsInBend    circumstance = iota // works, near an end, in a bend
	endsOverOld                       // works, at its very end, with part of the bar over new ground
	endsPartly                        // works, near an end, with part of the bar over new ground
	winsLittle                        // works, far from an end, with little of the bar over new ground
	worksShortly                      // works for a short way, with part of the bar over new ground
	worksPartly                       // works, far from an end, with part of the bar over new ground
	endsAtEdge                        // works along the boundary, near an end, with all of the bar over new ground
	endsWholly                        // works elsewhere, near an end, with all of the bar over new ground
	worksWholly                       // works, far from an end, with all of the bar over new ground
	nextAtEdge                        // travels along the boundary, next to work
	turnsAtEdge                       // turns along the boundary, right beside work
	turnsNearEdge                     // turns along the boundary, near work
	nextToWork                        // travels elsewhere for a short way, next to work
	nextOnLong                        // travels elsewhere for a long way, next to work
	nextOverNew                       // travels elsewhere over ground that stays bare, right beside work
	nearOverNew                       // travels elsewhere over ground that stays bare, near work
	travelsNew                        // travels over ground that stays bare, far from work
	turnsNew                          // turns over ground that stays bare, far from work
	travelsWorked                     // travels over worked ground, far from work
	outside                           // travels outside the field
	circumstances                     // how many there are
)

// sureness is the share of the way, under each circumstance, on which the judgement was right
// on 800 made-up fields (covertest.RandomFieldwork, 20 a kind, mounted and towed, of seeds
// other than those of any test). TestSureness asks of fresh fields whether that is so.
var sureness = [circumstances]float64{
	endsInBend: 0.52, endsOverOld: 0.65, endsPartly: 0.89, winsLittle: 0.92, worksShortly: 0.93, worksPartly: 0.99,
	endsAtEdge: 0.97, endsWholly: 0.995, worksWholly: 0.999,
	nextAtEdge: 0.76, turnsAtEdge: 0.87, turnsNearEdge: 0.97, nextToWork: 0.99, nextOnLong: 0.95,
	nextOverNew: 0.59, nearOverNew: 0.95, travelsNew: 0.84, turnsNew: 0.97, travelsWorked: 0.994, outside: 0.999,
}

// ofGround is the share of the ground of skips and overlaps that was one, on 400 such fields,
// where the bar went over most of it and was judged in doubt. There a judgement is wrong more
// often than along its way: most of a doubtful way lies over ground that other work decides
// on, and a skip is there only because the judgement left it. TestDoubtOfPatches asks of
// fresh fields whether that is so.
var ofGround = [circumstances]float64{
	endsInBend: 0.42, endsOverOld: 0.46, endsPartly: 0.82,
	nextAtEdge: 0.05, turnsAtEdge: 0.45, nextOverNew: 0.15, travelsNew: 0.60,
}

// What circumstances mean in figures. sureness was counted with these.
const (
	nearEnd     = 1.0  // working widths from work to travel
	atEnd       = 0.5  // at a place over ground that stays bare,
	rightAtEnd  = 0.25 // in a turn,
	veryEnd     = 0.1  // and at work
	bending     = 0.1  // working widths that a bar turns by, in radians, in a width of way, in a bend
	wholly      = 0.9  // of the bar over new ground
	little      = 0.1  // of it
	some        = 0.025
	shortWork   = 8.0 // working widths
	looksAcross = 20  // at the ground under a bar, at most
)

// judgeAll tells of the way of each track how surely its bar was told to work or to travel.
// Tracks that record only work are not judged: no stretch of theirs is likelier than another.
func (cs *claims) judgeAll(unclear []*unstated, legs []*leg) {
	for _, l := range unclear {
		if l.onlyWork {
			continue
		}
		places := make([][]place, len(l.samples))
		for i, p := range l.samples {
			places[i] = make([]place, len(p))
		}
		for _, r := range legs {
			if r.by == l {
				for i := range r.samples {
					places[r.part][r.first+i] = place{leg: r, at: i}
				}
			}
		}
		for _, c := range cs.standing() {
			if r := c.leg; r.by == l {
				for i := c.begin; i <= c.end; i++ {
					if w := &r.samples[i]; w.at >= c.from.at && w.at <= c.to.at {
						places[r.part][r.first+i] = place{leg: r, at: i, works: true}
					}
				}
			}
		}
		for i, p := range l.samples {
			cs.judgePart(l, p, places[i])
		}
	}
}

// A place is a sample's, on a leg or, with nil, in a turn.
type place struct {
	leg   *leg
	at    int // index of the sample on the leg
	works bool
	away  float64 // m to where work begins or ends
	run   float64 // m that the machine works, or travels, at once
}

// judgePart judges a part of the way of a track.
func (cs *claims) judgePart(l *unstated, p []sample, places []place) {
	measureRuns(p, places)
	last := circumstances
	for i := range p {
		if i == 0 {
			continue // no way leads to the first
		}
		c := cs.circumstanceOf(l, &p[i], &places[i])
		if c != last { // which says whether it works, too
			j := Judgement{Machine: l.pass.Machine, Start: p[i-1].at, Works: places[i].works, Sure: sureness[c]}
			if j.Sure < Sure {
				j.SureOfGround = ofGround[c]
				j.Poses = append(j.Poses, p[i-1].pose())
			}
			l.judged, last = append(l.judged, j), c
		}
		j := &l.judged[len(l.judged)-1]
		j.End = p[i].at
		j.Length += plane.DistanceOf(p[i].step)
		if j.Sure < Sure {
			j.Poses = append(j.Poses, p[i].pose())
		}
	}
}

// measureRuns fills in how far each place is from where work begins or ends, and how long its
// run is. The ends of a part are no such places: what lies beyond is not known.
func measureRuns(p []sample, places []place) {
	for from := 0; from < len(p); {
		to, run := from, 0.0
		for ; to < len(p) && places[to].works == places[from].works; to++ {
			run += p[to].step
		}
		before, after := math.Inf(1), math.Inf(1)
		if from > 0 {
			before = -p[from].step / 2
		}
		if to < len(p) {
			after = p[to].step / 2
		}
		for i := from; i < to; i++ {
			before += p[i].step
			places[i].run, places[i].away = run, before
		}
		for i := to - 1; i >= from; i-- {
			places[i].away = min(places[i].away, after)
			after += p[i].step
		}
		from = to
	}
}

// circumstanceOf tells what speaks for the judgement of a sample.
func (cs *claims) circumstanceOf(l *unstated, w *sample, at *place) circumstance {
	width := l.im.Width.Metres()
	away, run, bend := at.away/width, at.run/width, math.Abs(w.turn)*width >= bending
	over := 0
	if at.works {
		over = 1 // its own
	}
	var where side
	along := false
	if at.leg != nil {
		where, along = at.leg.sides[at.at], at.leg.headland
	} else {
		where = cs.in.sideOf(w.bar(), l.im.Width)
	}
	if !at.works && where != within && (away >= nearEnd || along) {
		return outside
	}
	bare := cs.bare(l, over)
	new := bare.width(w.bar(), l.im, max(cs.in.every, l.im.Width/looksAcross)) / width
	if at.works {
		switch {
		case away < nearEnd && bend:
			return endsInBend
		case away < veryEnd && new < wholly:
			return endsOverOld
		case away < nearEnd && new < wholly:
			return endsPartly
		case new < little:
			return winsLittle
		case new < wholly && run < shortWork:
			return worksShortly
		case new < wholly:
			return worksPartly
		case away < nearEnd && along:
			return endsAtEdge
		case away < nearEnd:
			return endsWholly
		}
		return worksWholly
	}
	switch {
	case away < nearEnd && along && !bend:
		return nextAtEdge
	case away < rightAtEnd && along:
		return turnsAtEdge
	case away < nearEnd && along:
		return turnsNearEdge
	case away < nearEnd && new < some && run < shortWork:
		return nextToWork
	case away < nearEnd && new < some:
		return nextOnLong
	case away < atEnd:
		return nextOverNew
	case away < nearEnd:
		return nearOverNew
	case new >= some && bend:
		return turnsNew
	case new >= some:
		return travelsNew
	}
	return travelsWorked
}

// tell says how the working state was found, and how surely.
func (l *unstated) tell() field.Warning {
	text := inferredText
	if l.onlyWork {
		text += "; it falls silent in the turns, so it is taken to record only work"
	} else if sure, way := l.sureWay(); way > 0 {
		text += fmt.Sprintf(" and the ground: on %.0f %% of its way that is right nine times in ten at least, on the rest five times in ten; a bar lifted over new ground that nobody works later, and ground worked again on purpose, cannot be seen so", 100*float64(sure/way))
	}
	return field.Warning{File: l.log.File, Text: text}
}

const inferredText = "the log does not say when the machine was working; working stretches are worked out from its motion"

// sureWay is the way that is not in doubt, and all of it.
func (l *unstated) sureWay() (sure, way plane.Distance) {
	for i := range l.judged {
		j := &l.judged[i]
		way += j.Length
		if j.Sure >= Sure {
			sure += j.Length
		}
	}
	return sure, way
}
