package live_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/coverage/machine"
	"lapwing/geo/journal"
)

// Where nothing says where the bar works, that is worked out from the motion at once, and
// put right at the next answer: of the fixes of made-up days four in five are right at
// once, all but where turns begin and end, and what is left of the field is the answer's.
func TestInferredAtOnce(t *testing.T) {
	for seed := range uint64(4) {
		s := day(seed)
		r := replayOf(t, jobOf(t, s.Field, machine.Machines(s.Machines), ""), "farm/job.yaml", s.Machines)
		for i := range r.records[0] {
			r.records[0][i].Working, r.records[0][i].Sections = "", ""
		}
		type said struct {
			at    journal.Record
			works bool
		}
		var all []said
		answers := 0
		r.each(func(source int, rec journal.Record) {
			r.engine.Step(source, rec)
			now := r.engine.Now(source)
			require.True(t, now.Guessed)
			all = append(all, said{rec, now.Works})
			if r.engine.Due() {
				a, err := r.engine.Ask().Answer(assess.Options{})
				require.NoError(t, err)
				r.engine.Take(a)
				answers++
				if f := a.Forecast; f != nil {
					assert.InDelta(t, f.Left.SquareMetres(), r.engine.Field().Left, 1)
				}
			}
		})
		a, err := r.engine.Ask().Answer(assess.Options{})
		require.NoError(t, err)
		its, of := 0, 0
		for _, s := range all {
			works := false
			for i := range a.Map.Passes {
				p := &a.Map.Passes[i]
				works = works || p.Start <= s.at.Time && s.at.Time <= p.End
			}
			of++
			if works == s.works {
				its++
			}
		}
		t.Logf("%s: %d answers, %d of %d fixes right at once (%.1f %%)", s.Field.Name, answers, its, of, 100*float64(its)/float64(of))
		assert.Greater(t, float64(its), 0.8*float64(of), s.Field.Name)
		r.holdsLaw(t, "farm/job.yaml")
	}
}
