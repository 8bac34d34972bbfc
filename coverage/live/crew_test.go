package live_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/coverage/covertest"
	"lapwing/coverage/job"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/live"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/journal"
)

// crewScene is a field that four drills work side by side, each a strip of it, from the
// same moment on.
func crewScene(width float64) *covertest.Scene {
	ground := covertest.Rectangle(-120, -90, 120, 90)
	s := covertest.NewScene("Crew Field", ground)
	for i := range 4 {
		strip := covertest.Rectangle(-120+60*float64(i), -90, -60+60*float64(i), 90)
		path := covertest.NewPath(8)
		path.Lines(covertest.Lines{Ground: strip, Width: width, Spacing: width - 0.1, RunIn: 6})
		s.Drive(covertest.Rig{Name: fmt.Sprintf("drill %c", 'A'+i), Implement: covertest.Mounted(width, 1, 4), Path: path, Speed: 2.5, Rate: 5, Quality: geo.Fixed,
			Seed: uint64(i), Defects: []covertest.Defect{covertest.White(0.008)}})
	}
	return s
}

// A copied journal is one of another cab's, as far as it came to this one.
type copied struct {
	machine string
	all     []byte // of the journal, as its own cab has it
	to      *journal.Journal
	source  int // in the engine; -1 before its first record
}

// come takes a piece from somewhere in a copy on, as a link gives it: from where the copy
// ends, or from before, as if it came twice; cut anywhere.
func (c *copied) come(t *testing.T, r *rand.Rand) []journal.Record {
	end := c.to.Status().Size
	from := end
	if r.IntN(3) == 0 { // twice
		from = int64(len(journal.Header)) + r.Int64N(end-int64(len(journal.Header))+1)
	}
	data := c.all[from:min(int64(len(c.all)), from+r.Int64N(40_000))]
	p, err := journal.Cut(data, from, c.machine)
	if from != end {
		if len(p.Lines) > 0 {
			var split *journal.SplitError
			require.ErrorAs(t, c.to.Take(p), &split)
		}
		return nil
	}
	require.NoError(t, err)
	require.NoError(t, c.to.Take(p))
	return p.Records
}

// Law: whatever the order in which the journals of other cabs arrive, cut short or twice,
// and whenever their machines become known, the answer is that of assess on all of them.
// With cabs whose job has all the machines, it is the same in every cab.
func TestLawOfACrew(t *testing.T) {
	s := crewScene(12)
	whole := jobOf(t, s.Field, machine.Machines(s.Machines), "")
	summaries := map[string]bool{}
	for cab := range 4 {
		for _, knows := range []bool{true, false} {
			t.Run(fmt.Sprint(cab, knows), func(t *testing.T) {
				seed := rand.Uint64()
				t.Log("seed", seed)
				r := rand.New(rand.NewPCG(seed, 0))
				mine := s.Machines[cab].Name
				files := whole
				var guests []spec.Guest
				if !knows { // its job has its own machine only
					files = jobOf(t, s.Field, machine.Machines(s.Machines[cab:cab+1]), "")
					for i := range s.Machines {
						if i == cab {
							continue
						}
						text, err := spec.GuestKeys(inputs(whole).Files, "farm/job.yaml", s.Machines[i].Name)
						require.NoError(t, err)
						g, err := spec.ReadGuest("test", text)
						require.NoError(t, err)
						guests = append(guests, g)
					}
					r.Shuffle(len(guests), func(i, k int) { guests[i], guests[k] = guests[k], guests[i] })
				}
				got := crewAnswer(t, r, s, cab, mine, files, guests)
				if knows {
					summaries[got] = true
				}
			})
		}
	}
	assert.Len(t, summaries, 1, "all cabs say the same")
}

func crewAnswer(t *testing.T, r *rand.Rand, s *covertest.Scene, cab int, mine string, files fstest.MapFS, guests []spec.Guest) string {
	root, err := os.OpenRoot(t.TempDir())
	require.NoError(t, err)
	t.Cleanup(func() { root.Close() })
	load := func(known int) *live.Crew {
		text, err := spec.Retrack(inputs(files).Files, "farm/job.yaml", cabJob, spec.Crew{Guests: guests[:known]})
		require.NoError(t, err)
		files[cabJob] = &fstest.MapFile{Data: text}
		loaded, err := job.LoadLive(inputs(files), cabJob, job.Overrides{})
		require.NoError(t, err)
		c, err := live.CrewOf(loaded)
		require.NoError(t, err)
		return c
	}
	text, err := spec.Retrack(inputs(files).Files, "farm/job.yaml", cabJob, spec.Crew{})
	require.NoError(t, err)
	files[cabJob] = &fstest.MapFile{Data: text}
	loaded, err := job.LoadLive(inputs(files), cabJob, job.Overrides{})
	require.NoError(t, err)
	sources := []live.Source{{Machine: mine, Journal: "journal/mine.csv"}}
	e, err := live.New(loaded, sources)
	require.NoError(t, err)
	crew, known := load(0), 0

	var own []journal.Record
	var others []*copied
	for i := range s.Machines {
		all := recordsOf(&s.Machines[i])
		if i == cab {
			own = all
			continue
		}
		// Two journals each: the cab was started again on the way.
		for half, part := range [][]journal.Record{all[:len(all)/3], all[len(all)/3:]} {
			c := &copied{machine: s.Machines[i].Name, source: -1}
			at, err := journal.Create(journal.In(root), fmt.Sprint("there ", half, i), part[0].Time.Time(), journal.Options{Sync: -1, Waiting: 1 << 30})
			require.NoError(t, err)
			require.NoError(t, at.Close())
			there, _, err := journal.Open(journal.In(root), at.Name(), c.machine, journal.Options{Sync: -1, Waiting: 1 << 30}, nil)
			require.NoError(t, err)
			for k := range part {
				require.NoError(t, there.Append(part[k]))
			}
			require.NoError(t, there.Close())
			c.all, err = root.ReadFile(at.Name())
			require.NoError(t, err)
			name := fmt.Sprintf("copy-%d-%d.csv", i, half)
			require.NoError(t, root.WriteFile(name, nil, 0o600))
			c.to, _, err = journal.Open(journal.In(root), name, c.machine, journal.Options{Sync: -1}, nil)
			require.NoError(t, err)
			t.Cleanup(func() { c.to.Close() })
			others = append(others, c)
		}
	}
	keep, err := journal.Create(journal.In(root), mine, own[0].Time.Time(), journal.Options{Sync: -1, Waiting: 1 << 30})
	require.NoError(t, err)
	t.Cleanup(func() { keep.Close() })

	recall := r.IntN(2) == 0 // some of it was there before the start
	var asked *live.Question
	left := func() bool {
		return len(own) > 0 || slices.ContainsFunc(others, func(c *copied) bool { return c.to.Status().Size < int64(len(c.all)) })
	}
	for n := 0; left(); n++ {
		switch {
		case asked == nil && (e.Due() || e.Late() && r.IntN(50) == 0):
			asked = e.Ask()
		case asked != nil && r.IntN(20) == 0:
			if a, err := asked.Answer(assess.Options{}); err == nil {
				e.Take(a)
			}
			asked = nil
		}
		if known < len(guests) && r.IntN(30) == 0 {
			known++
			crew = load(known)
			require.NoError(t, e.Join(crew, sources))
		}
		if len(own) > 0 && r.IntN(2) == 0 {
			for range min(len(own), 40) {
				require.NoError(t, keep.Append(own[0]))
				e.Step(0, own[0])
				own = own[1:]
			}
			continue
		}
		c := others[r.IntN(len(others))]
		if len(guests) > 0 && !slices.ContainsFunc(guests[:known], func(g spec.Guest) bool { return g.Machine == c.machine }) {
			continue // its machine is not known yet
		}
		records := c.come(t, r)
		if len(records) > 0 && c.source < 0 {
			c.source = len(sources)
			sources = append(sources, live.Source{Machine: c.machine, Journal: "journal/" + fmt.Sprintf("%s-%d.csv", c.machine, len(sources)), Other: true})
			require.NoError(t, e.Join(crew, sources))
		}
		for i := range records {
			if recall {
				e.Recall(c.source, &records[i])
			} else {
				e.Step(c.source, records[i])
			}
		}
		recall = recall && n < 20
	}
	// The job with all journals, as it would stand in a file.
	require.NoError(t, keep.Sync())
	data, err := root.ReadFile(keep.Name())
	require.NoError(t, err)
	files["journal/mine.csv"] = &fstest.MapFile{Data: data}
	more := map[string][]string{mine: {"journal/mine.csv"}}
	for _, c := range others {
		require.NoError(t, c.to.Sync())
		data, err := root.ReadFile(c.to.Status().Name)
		require.NoError(t, err)
		require.Equal(t, string(c.all), string(data))
		path := sources[c.source].Journal
		files[path] = &fstest.MapFile{Data: data}
		more[c.machine] = append(more[c.machine], path)
	}
	text, err = spec.Retrack(inputs(files).Files, "farm/job.yaml", cabJob, spec.Crew{Guests: guests, Logs: more})
	require.NoError(t, err)
	files[cabJob] = &fstest.MapFile{Data: text}
	j, err := job.Load(inputs(files), cabJob, job.Overrides{})
	require.NoError(t, err)
	want, err := assess.Do(j, j.Fields[0], assess.Options{OffRates: true})
	require.NoError(t, err)
	got, err := e.Ask().Assess(assess.Options{OffRates: true})
	require.NoError(t, err)
	summary := summaryOf(t, got)
	require.Equal(t, summaryOf(t, want), summary)
	return summary
}

// The bar laps ground of another cab as soon as it comes, and the ground left is less
// by it.
func TestGroundOfOthersCounts(t *testing.T) {
	s := crewScene(12)
	r := replayOf(t, jobOf(t, s.Field, machine.Machines(s.Machines), ""), "farm/job.yaml", s.Machines)
	crew, err := live.CrewOf(r.live)
	require.NoError(t, err)
	sources := []live.Source{r.sources[0]}
	e, err := live.New(r.live, sources)
	require.NoError(t, err)
	sources = append(sources, r.sources[1])
	sources[1].Other = true
	require.NoError(t, e.Join(crew, sources))

	// Our own last pass runs beside the first of the other, which comes only now.
	mine := r.records[0]
	last := mine[len(mine)-1].Time
	for i := range mine {
		if mine[i].Time.Sub(last) < -40*time.Second {
			e.Step(0, mine[i])
		}
	}
	before := e.Now(0)
	require.True(t, before.Works)
	a, err := e.Ask().Answer(assess.Options{})
	require.NoError(t, err)
	e.Take(a)
	left := e.Field().Left
	for i := range r.records[1] {
		e.Step(1, r.records[1][i])
	}
	assert.True(t, e.Late())
	assert.False(t, e.Due(), "whoever else lifts does not have us measure")
	assert.Less(t, e.Field().Left, left-3000)
	after := e.Now(0)
	own, other := func(n live.Now) live.Side { return n.Left }, func(n live.Now) live.Side { return n.Right }
	if before.Right.Beside {
		own, other = other, own
	}
	require.True(t, own(before).Beside)
	assert.False(t, other(before).Beside)
	assert.InDelta(t, 0.1, own(after).By.Metres(), 0.05, "beside its own pass")
	require.True(t, other(after).Beside, "the other's first pass is beside ours")
	assert.InDelta(t, -0.4, other(after).By.Metres(), 0.05, "five passes 11.9 m apart leave 0.4 m of 60 m")
	assert.Equal(t, len(r.records[1]), e.Count(1))
}

// Whether ground is of this field is told by where it lies.
func TestAway(t *testing.T) {
	s := crewScene(12)
	r := replayOf(t, jobOf(t, s.Field, machine.Machines(s.Machines), ""), "farm/job.yaml", s.Machines)
	var x live.Extent
	_, known := r.engine.Away(x)
	assert.False(t, known, "of nothing")
	for _, c := range []struct {
		at   [2]float64 // m
		away float64
	}{{[2]float64{0, 0}, 0}, {[2]float64{250, 0}, 0}, {[2]float64{1120, 0}, 1000}, {[2]float64{420, -490}, 500}} {
		x := live.Extent{}
		x.Add(s.Field.Frame.FromMetres(c.at[0], c.at[1]))
		x.Add(geo.LonLat{}) // which no receiver means
		away, known := r.engine.Away(x)
		assert.True(t, known)
		assert.InDelta(t, c.away, away.Metres(), 1)
	}
	x.Add(s.Field.Frame.FromMetres(-5000, -5000))
	x.Add(s.Field.Frame.FromMetres(5000, 5000))
	away, _ := r.engine.Away(x)
	assert.Zero(t, away)
}
