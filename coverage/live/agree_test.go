package live_test

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/coverage/beside"
	"lapwing/coverage/live"
	"lapwing/coverage/locate"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/journal"
	"lapwing/geo/plane"
)

// A told is what the engine said at one fix.
type told struct {
	source  int
	at      geo.Instant
	sides   [2]live.Side
	turning bool
	heading plane.Angle
}

// offs are by how much what was said differs from the final map, in metres.
type offs struct {
	straight, turns []float64
	missed, cases   int // the final map has an earlier neighbour there, and nothing was said
	opposed         int // of the cases, the machine was said to be in reverse and was not, or the other way round
}

func (o *offs) add(other offs) {
	o.straight, o.turns = append(o.straight, other.straight...), append(o.turns, other.turns...)
	o.missed, o.cases, o.opposed = o.missed+other.missed, o.cases+other.cases, o.opposed+other.opposed
}

func quantile(sizes []float64, q float64) float64 {
	if len(sizes) == 0 {
		return 0
	}
	slices.Sort(sizes)
	return sizes[min(len(sizes)-1, int(q*float64(len(sizes))))]
}

// mostAnswers is about how many lifts of a run are answered, so that long ones take no
// longer than they must.
const mostAnswers = 15

// A trail is where a machine was and how it headed, as far back as its bar is wide, or 8 m.
type trail []live.Now

// straightOn is how far the heading ranges within a trail where a machine goes straight:
// half a degree of noise and as much of steering either way. Judgement: it parts what the
// tests promise of straights from what they promise of turns.
const straightOn = plane.Angle(0.05)

// turns reports whether a machine does not go straight, as of now.
func (b *trail) turns(now *live.Now, width plane.Length) bool {
	if !now.Known {
		return false
	}
	if n := len(*b); n == 0 || (*b)[n-1].Time != now.Time {
		*b = append(*b, *now)
	}
	way, from := plane.Distance(0), len(*b)-1
	for from > 0 && way <= max(plane.Distance(8*plane.Metre), plane.Distance(width)) {
		way += (*b)[from].At.Distance((*b)[from-1].At)
		from--
	}
	*b = (*b)[from:]
	var lo, hi plane.Angle
	for i := range *b {
		d := now.Heading.To((*b)[i].Heading)
		lo, hi = min(lo, d), max(hi, d)
	}
	return hi-lo > straightOn
}

// drive replays a run, asking at lifts, and returns what was said on the way.
func (r *run) drive() []told {
	var all []told
	total, asked := 0, 0
	for _, its := range r.records {
		total += len(its)
	}
	behind := make([]trail, len(r.sources))
	r.each(func(source int, rec journal.Record) {
		r.engine.Step(source, rec)
		now := r.engine.Now(source)
		turns := behind[source].turns(&now, r.engine.Machine(source).Implement.Width)
		if now.Works && now.Time == rec.Time {
			all = append(all, told{source, rec.Time, [2]live.Side{now.Left, now.Right}, turns, now.Heading})
		}
		if n := r.engine.Fixes(); r.engine.Due() && n-asked >= total/mostAnswers {
			asked = n
			if a, err := r.engine.Ask().Answer(assess.Options{}); err == nil {
				r.engine.Take(a)
			}
		}
	})
	return all
}

// compare sets what was said against the final map, at the places where it was said. (The
// map's own list has a figure for each metre of a pass, in the middle: half a metre away
// the ends of a bar that turns lie some centimetres elsewhere.)
func (r *run) compare(t testing.TB, said []told) (o offs) {
	a, err := r.engine.Ask().Answer(assess.Options{})
	require.NoError(t, err)
	m := a.Map
	passes := m.WorkPasses()
	ways := locate.Ways(m.Machines, passes)
	all := beside.New(&m.Field, m.Machines, ways)
	index := map[string]int{}
	for i := range m.Machines {
		index[m.Machines[i].Name] = i
	}
	byMachine := make([][]int, len(m.Machines))
	for i := range passes {
		byMachine[passes[i].Machine] = append(byMachine[passes[i].Machine], i)
	}
	for _, s := range said {
		its := byMachine[index[r.sources[s.source].Machine]]
		k := slices.IndexFunc(its, func(i int) bool { return passes[i].Start <= s.at && s.at <= passes[i].End })
		if k < 0 {
			continue
		}
		k = its[k]
		p := &passes[k]
		i := min(sort.Search(len(p.Poses), func(i int) bool { return p.Poses[i].Time >= s.at }), len(p.Poses)-1)
		along := p.Poses[i].Along
		if i > 0 {
			before := &p.Poses[i-1]
			if d := p.Poses[i].Time - before.Time; d > 0 {
				along = before.Along + (along-before.Along)*plane.Distance(s.at-before.Time)/plane.Distance(d)
			}
		}
		at := ways[k].At(along)
		pose := &p.Poses[at.Pose]
		open := m.Machines[p.Machine].Implement.Open(p.States, pose.State)
		if pose.Silent || len(open) == 0 {
			continue
		}
		left, right := all.Now(&beside.Driving{Machine: p.Machine, Bar: at, Pass: k, AlongPass: along, Begun: -1,
			Left: plane.Distance(open[0].Left), Right: plane.Distance(open[len(open)-1].Right)})
		for side, final := range []beside.Lap{left, right} {
			if final.Pass == 0 {
				continue
			}
			n := &passes[final.Pass-1]
			if n.End >= s.at && !(final.Pass == k+1 && final.Along < along) {
				continue // it came later
			}
			o.cases++
			if plane.Direction(at.Sin, at.Cos).To(s.heading).Abs() > math.Pi/2 {
				o.opposed++
			}
			now := s.sides[side]
			if !now.Beside {
				o.missed++
				continue
			}
			off := (now.By - final.By).Abs().Metres()
			if s.turning {
				o.turns = append(o.turns, off)
			} else {
				o.straight = append(o.straight, off)
			}
		}
	}
	return o
}

// agrees fails unless what was said agrees with the final map: within 3 cm in 95 of 100
// cases where the machine went straight, within 10 cm where it turned; nothing was said
// of one in ten that the map has at most, and the machine was taken to face the other way
// in no more: on the small fields of a forage harvester that backs up every minute.
func (o *offs) agrees(t testing.TB, name string) {
	t.Helper()
	straight, turns := quantile(o.straight, 0.95), quantile(o.turns, 0.95)
	t.Logf("%s: %d straight, p95 %.3f m; %d in turns, p95 %.3f m; %d of %d missed, %d opposed", name, len(o.straight), straight, len(o.turns), turns, o.missed, o.cases, o.opposed)
	assert.Less(t, straight, 0.03, name)
	assert.Less(t, turns, 0.10, name)
	assert.LessOrEqual(t, o.missed, o.cases/10, name)
	assert.LessOrEqual(t, o.opposed, o.cases/10, name)
}

// What the engine says while a machine drives agrees with the final map: on made-up days
// of 1 to 10 Hz, mounted and towed, 20 to 120 ft.
func TestAgreesWithTheMap(t *testing.T) {
	var all offs
	for seed := range uint64(20) {
		s := day(seed)
		r := replayOf(t, jobOf(t, s.Field, machine.Machines(s.Machines), ""), "farm/job.yaml", s.Machines)
		o := r.compare(t, r.drive())
		im := &s.Machines[0].Implement
		o.agrees(t, fmt.Sprintf("%s, %.0f ft, towed %v", s.Field.Name, im.Width.Metres()/0.3048, im.Towed))
		all.add(o)
	}
	all.agrees(t, "in all")
	assert.Greater(t, len(all.straight), 10_000)
	assert.Less(t, float64(all.missed), 0.03*float64(all.cases))
	assert.Zero(t, all.opposed)
}
