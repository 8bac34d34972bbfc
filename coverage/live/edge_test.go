package live_test

import (
	"math"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/coverage/job"
	"lapwing/coverage/live"
	"lapwing/coverage/machine"
	"lapwing/geo/journal"
	"lapwing/geo/plane"
)

// What is said of the field's edge when a stream ends agrees with summary.json: with
// answers at the lifts to a tenth of a metre, and after one answer at the start alone,
// all else being what bars closed on their way, to a hundredth of the edge. The last
// metres of each machine are not settled there, nor where a bar is down at the end: the
// side that the bar comes to may be missing, which is as long as the bar is wide.
func TestEdgeAgreesWithTheMap(t *testing.T) {
	var jobs []string
	for _, pattern := range []string{"../../samples/*/job.yaml", "../../testdata/cases/*/job.yaml"} {
		found, err := filepath.Glob(pattern)
		require.NoError(t, err)
		jobs = append(jobs, found...)
	}
	held := 0
	for _, path := range jobs {
		j, err := job.Load(onDisk(), path, job.Overrides{ManyFields: true})
		require.NoError(t, err)
		if j.Operation != "" || len(j.Works()) > 1 {
			continue // as in TestLawOnSamplesAndCases
		}
		for _, most := range []int{1, math.MaxInt} {
			held += edgeAgrees(t, filepath.Base(filepath.Dir(path)), replayOf(t, withoutLogs(t, path), "farm/job.yaml", j.Machines), most)
		}
	}
	for seed := range uint64(8) {
		s := day(seed)
		for _, most := range []int{1, math.MaxInt} {
			held += edgeAgrees(t, s.Field.Name, replayOf(t, jobOf(t, s.Field, machine.Machines(s.Machines), ""), "farm/job.yaml", s.Machines), most)
		}
	}
	assert.Greater(t, held, 50)
}

// edgeAgrees replays a run with so many answers at most, and returns 1 if it has an edge
// to tell of.
func edgeAgrees(t *testing.T, name string, r *run, most int) int {
	t.Helper()
	answers, every := 0, 0
	for _, its := range r.records {
		every += len(its) / 60
	}
	asked := 0
	r.each(func(source int, rec journal.Record) {
		r.engine.Step(source, rec)
		if n := r.engine.Fixes(); r.engine.Due() && answers < most && (answers == 0 || n-asked >= every) {
			if a, err := r.engine.Ask().Answer(assess.Options{}); err == nil {
				r.engine.Take(a)
				answers, asked = answers+1, n
			}
		}
	})
	said := r.engine.Field()
	a, err := r.engine.Ask().Answer(assess.Options{})
	if err != nil || !said.HasEdge {
		return 0
	}
	e := &a.Map.Headland.Edge
	length := (e.Reached + e.Open + e.Unlogged).Metres()
	within := 0.1
	if most == 1 {
		within += 0.01 * length
	}
	for s := range r.sources {
		if most == 1 || r.engine.Now(s).Works {
			within += r.engine.Machine(s).Implement.Width.Metres() + 3
		}
	}
	off := said.Closed*length - e.Reached.Metres()
	t.Logf("%s, %d answers: %.1f of %.1f m reached, said %.1f m more, within %.1f m", name, answers, e.Reached.Metres(), length, off, within)
	assert.LessOrEqual(t, math.Abs(off), within, "%s, %d answers", name, answers)
	return 1
}

// The next opening of the edge, on a drawn case: a round along the edge with the bar up
// over 15 m of the north side and 30 m of the south one.
//
//	300  +---==------------+
//	     |  100-115        |
//	     |             o   |  o at 300, 150
//	     |        200-230  |
//	  0  +---------==------+
//	     0                400
func TestNextOpening(t *testing.T) {
	k := newTanker(t, "")
	k.x, k.y = 5, 0
	k.fix(false)
	for _, leg := range []struct {
		x, y  float64
		works bool
	}{
		{5, 300, true}, {5, 295, false}, {0, 295, false}, {100, 295, true}, {115, 295, false}, {400, 295, true}, {395, 295, false}, {395, 300, false},
		{395, 0, true}, {395, 5, false}, {400, 5, false}, {230, 5, true}, {200, 5, false}, {0, 5, true}, {10, 5, false}, {300, 20, false}, {300, 150, false},
	} {
		k.to(leg.x, leg.y, leg.works)
	}
	next := func() live.Opening {
		t.Helper()
		o, open := k.engine.NextOpening(0)
		require.True(t, open)
		return o
	}
	north := func(what string, o live.Opening) {
		t.Helper()
		assert.InDelta(t, 15, o.Length.Metres(), 1.5, what)
		assert.InDelta(t, math.Hypot(185, 150), o.Away.Metres(), 2, what)
	}
	south := func(what string, o live.Opening) {
		t.Helper()
		assert.InDelta(t, 30, o.Length.Metres(), 1.5, what)
		assert.InDelta(t, math.Hypot(70, 150), o.Away.Metres(), 2, what)
	}
	// come brings the machine, its bar up, to 300, 150 in a direction.
	come := func(east, north float64) live.Opening {
		t.Helper()
		k.now += time.Minute
		k.x, k.y = 300-40*east, 150-40*north
		k.fix(false)
		k.to(300, 150, false)
		return next()
	}
	o := come(0, 1)
	north("heading north", o)
	assert.True(t, o.Ahead)
	assert.InDelta(t, 0, o.Toward.To(plane.Direction(-185, 150)).Degrees(), 1)
	o = come(0, -1)
	south("heading south", o)
	assert.True(t, o.Ahead)
	o = come(-1, 0)
	north("heading west", o)
	assert.True(t, o.Ahead)
	o = come(1, 0) // where there is none: the nearest of all
	south("heading east", o)
	assert.False(t, o.Ahead)

	// The bar closes the south one from its east end, without a lift and so without an
	// answer: some 15 m of it are left when the bar is at 215.
	k.now += time.Minute
	k.x, k.y = 270, 5
	k.fix(false)
	k.to(250, 5, false)
	k.to(215, 5, true)
	assert.InDelta(t, 15, next().Length.Metres(), 4)
	k.to(190, 5, true)
	assert.InDelta(t, 15, next().Length.Metres(), 1.5, "the south one is closed")
	assert.InDelta(t, 150, next().At.Y.Metres(), 1, "on the plane of the engine, whose middle is the field's")
}
