package live_test

import (
	"slices"
	"sort"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/coverage/beside"
	"lapwing/coverage/live"
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
}

// offs are by how much what was said differs from the final map, in metres.
type offs struct {
	straight, turns []float64
	missed, cases   int // the final map has an earlier neighbour there, and nothing was said
}

func (o *offs) add(other offs) {
	o.straight, o.turns = append(o.straight, other.straight...), append(o.turns, other.turns...)
	o.missed, o.cases = o.missed+other.missed, o.cases+other.cases
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

// drive replays a run, asking at lifts, and returns what was said on the way.
func (r *run) drive() []told {
	var all []told
	total, asked := 0, 0
	for _, its := range r.records {
		total += len(its)
	}
	r.each(func(source int, rec journal.Record) {
		r.engine.Step(source, rec)
		if now := r.engine.Now(source); now.Works && now.Time == rec.Time {
			all = append(all, told{source, rec.Time, [2]live.Side{now.Left, now.Right}, now.Turning})
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

// compare sets what was said against the final map.
func (r *run) compare(t testing.TB, said []told) (o offs) {
	a, err := r.engine.Ask().Answer(assess.Options{})
	require.NoError(t, err)
	m := a.Map
	stretches := m.AllNeighbours()
	index := map[string]int{}
	for i := range m.Machines {
		index[m.Machines[i].Name] = i
	}
	byMachine := make([][]int, len(m.Machines))
	for i := range m.Passes {
		byMachine[m.Passes[i].Machine] = append(byMachine[m.Passes[i].Machine], i)
	}
	for _, s := range said {
		passes := byMachine[index[r.sources[s.source].Machine]]
		k := slices.IndexFunc(passes, func(i int) bool { return m.Passes[i].Start <= s.at && s.at <= m.Passes[i].End })
		if k < 0 {
			continue
		}
		p := &m.Passes[passes[k]]
		i := min(sort.Search(len(p.Poses), func(i int) bool { return p.Poses[i].Time >= s.at }), len(p.Poses)-1)
		along := p.Poses[i].Along
		if i > 0 {
			before := &p.Poses[i-1]
			if d := p.Poses[i].Time - before.Time; d > 0 {
				along = before.Along + (along-before.Along)*plane.Distance(s.at-before.Time)/plane.Distance(d)
			}
		}
		its := stretches[passes[k]]
		if len(its) == 0 {
			continue
		}
		b := &its[min(len(its)-1, int(along/its[0].Length))]
		for side, final := range []beside.Lap{b.Left, b.Right} {
			if final.Pass == 0 {
				continue
			}
			n := &m.Passes[final.Pass-1]
			if n.End >= s.at && !(n.ID == p.ID && final.Along < along) {
				continue // it came later
			}
			o.cases++
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

// What the engine says while a machine drives agrees with the final map: on made-up days
// of 1 to 10 Hz, mounted and towed, 20 to 120 ft.
func TestAgreesWithTheMap(t *testing.T) {
	var all offs
	for seed := range uint64(20) {
		s := day(seed)
		r := replayOf(t, jobOf(t, s.Field, machine.Machines(s.Machines), ""), "farm/job.yaml", s.Machines)
		o := r.compare(t, r.drive())
		t.Logf("%s: %d straight, p95 %.3f m; %d in turns, p95 %.3f m; %d of %d missed", s.Field.Name, len(o.straight), quantile(o.straight, 0.95),
			len(o.turns), quantile(o.turns, 0.95), o.missed, o.cases)
		all.add(o)
	}
	straight, turns := quantile(all.straight, 0.95), quantile(all.turns, 0.95)
	t.Logf("in all: %d straight, p95 %.3f m; %d in turns, p95 %.3f m; %d of %d missed", len(all.straight), straight, len(all.turns), turns, all.missed, all.cases)
	assert.Greater(t, len(all.straight), 10_000)
	assert.Less(t, straight, 0.03)
	assert.Less(t, turns, 0.10)
	assert.Less(t, float64(all.missed), 0.03*float64(all.cases))
}
