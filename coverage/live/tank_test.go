package live_test

import (
	"math"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/covertest"
	"lapwing/coverage/job"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/live"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/journal"
)

// A tanker is a machine with a bar of 10 m on a field of 400 by 300 m, whose headland is
// 10 m deep. It drives at 2 m/s with five fixes a second, whose positions are exact, and
// is asked at each lift.
//
//	300  +-----------------+
//	290  |  ^ | ^          |
//	     |  | | |          |
//	 10  |  | v |          |
//	  0  +-----------------+
//	       15 25 35
type tanker struct {
	t      *testing.T
	engine *live.Engine
	now    time.Duration
	x, y   float64
	frame  geo.Frame
	ran    *run
}

const tankProducts = `products:
  - {name: solution, rate: 1000 L/ha, density: 1.2 kg/L, tank: 500 L, fill: 100 %}
  - {name: starter, rate: 200 L/ha, density: 1.2 kg/L, tank: 500 L, fill: 80 %}
  - {name: seed, rate: 100 kg/ha}
  - {name: other, rate: 100 L/ha, tank: 500 L, fill: 100 %, machines: [other]}
`

func newTanker(t *testing.T, more string) *tanker {
	land := covertest.NewScene("tanks", covertest.Rectangle(0, 0, 400, 300)).Field
	bar := machine.Machine{Name: "drill", Implement: covertest.Mounted(10, 0, 1)}
	other := machine.Machine{Name: "other", Implement: covertest.Mounted(10, 0, 1)}
	files := jobOf(t, land, []machine.Machine{bar, other}, tankProducts+more)
	r := &run{files: files, dir: t.TempDir(), sources: []live.Source{{Machine: "drill", Journal: "journal/0.csv"}}, records: make([][]journal.Record, 1)}
	bare, err := spec.Retrack(inputs(files).Files, "farm/job.yaml", cabJob, spec.Crew{})
	require.NoError(t, err)
	files[cabJob] = &fstest.MapFile{Data: bare}
	r.live, err = job.LoadLive(inputs(files), cabJob, job.Overrides{})
	require.NoError(t, err)
	r.engine, err = live.New(r.live, r.sources)
	require.NoError(t, err)
	return &tanker{t: t, engine: r.engine, frame: land.Frame, ran: r, x: 15, y: 10}
}

// fix tells the engine where the machine is.
func (k *tanker) fix(works bool) {
	start := geo.InstantOf(time.Date(2026, 5, 4, 8, 0, 0, 0, time.UTC))
	r := journal.Record{Machine: "drill", Working: map[bool]string{true: "1", false: "0"}[works],
		Fix: geo.Fix{Time: start + geo.Instant(k.now), At: k.frame.FromMetres(k.x, k.y), Quality: geo.Fixed, Speed: math.NaN(), Heading: geo.Bearing(math.NaN())}}
	k.ran.records[0] = append(k.ran.records[0], r)
	k.engine.Step(0, r)
	if k.engine.Due() {
		a, err := k.engine.Ask().Answer(assess.Options{})
		require.NoError(k.t, err)
		k.engine.Take(a)
	}
}

const tankStep = 200 * time.Millisecond

// to drives straight to a place.
func (k *tanker) to(x, y float64, works bool) {
	x0, y0 := k.x, k.y
	n := int(math.Round(math.Hypot(x-x0, y-y0) / 2 / tankStep.Seconds()))
	for i := 1; i <= n; i++ {
		k.now += tankStep
		share := float64(i) / float64(n)
		k.x, k.y = x0+share*(x-x0), y0+share*(y-y0)
		k.fix(works)
	}
}

// turn drives half a circle to the east, 10 m across.
func (k *tanker) turn(sign float64) {
	x0, y0 := k.x, k.y
	n := int(math.Round(5 * math.Pi / 2 / tankStep.Seconds()))
	for i := 1; i <= n; i++ {
		k.now += tankStep
		sin, cos := math.Sincos(math.Pi * float64(i) / float64(n))
		k.x, k.y = x0+5-5*cos, y0+sign*5*sin
		k.fix(false)
	}
}

func (k *tanker) stand(d time.Duration, works bool) {
	for end := k.now + d; k.now < end; {
		k.now += tankStep
		k.fix(works)
	}
}

// A tankWant is what is said of one tank.
type tankWant struct {
	area float64 // m²
	pass int
	far  float64 // m
}

func (k *tanker) want(what string, want ...tankWant) []live.Tank {
	k.t.Helper()
	got := k.engine.Tanks(0)
	require.Len(k.t, got, 2, "a product without a tank, or of another machine, has none here")
	for i, w := range want {
		const within = 30 // m²: a fix more or less at both ends of each pass is 4 m² each
		assert.InDelta(k.t, w.area, got[i].Area, within, "%s, %s", what, got[i].Product)
		assert.InDelta(k.t, w.area/10, got[i].Way.Metres(), within/10.0, "%s, %s", what, got[i].Product)
		require.True(k.t, got[i].Told, "%s, %s", what, got[i].Product)
		assert.Equal(k.t, w.pass, got[i].Pass, "%s, %s", what, got[i].Product)
		assert.InDelta(k.t, w.far, got[i].Along.Metres(), within/10.0, "%s, %s", what, got[i].Product)
	}
	return got
}

// The tanks by hand: solution goes 500 L / (1000 L/ha) = 5000 m², starter 400 L / (200
// L/ha) = 20,000 m². A pass is 280 m long, 2800 m².
func TestTanksByHand(t *testing.T) {
	k := newTanker(t, "")
	k.stand(2*time.Second, false)
	k.to(15, 110, true)
	// 1000 m² are used. 180 m of this pass are left: solution's 400 m end 220 m into the
	// next pass; starter's 1900 m after this pass and six more, 1900 - 180 - 6 x 280 = 40 m.
	k.want("on the first pass", tankWant{4000, 1, 220}, tankWant{19_000, 7, 40})
	k.to(15, 290, true)
	k.turn(1)
	// The bar is up: the next pass is the first to come.
	k.want("in the turn", tankWant{2200, 1, 220}, tankWant{17_200, 7, 40})
	k.to(25, 190, true)
	got := k.want("on the second pass", tankWant{1200, 0, 120}, tankWant{16_200, 6, 40})
	// The first pass took 140 s for 2800 m²: 20 m²/s.
	assert.InDelta(t, 1200/20, got[0].For.Seconds(), 1.5)
	k.to(25, 60, true)
	k.want("when it is empty", tankWant{0, 0, 0}, tankWant{14_900, 6, 40})

	// The button tells a fill: both tanks are full.
	k.engine.Fill(0)
	k.want("filled by the button", tankWant{5000, 2, 170}, tankWant{20_000, 7, 270})
	k.to(25, 10, true)
	k.turn(-1)
	k.to(35, 110, true)
	// 50 m and 100 m since: the answer at the lift knows of the button.
	got = k.want("after the button", tankWant{3500, 1, 170}, tankWant{18_500, 6, 270})
	// Two passes of 140 s and the turn of 7.8 s between them for 5600 m².
	assert.InDelta(t, 3500/(5600/(280+7.8)), got[0].For.Seconds(), 3)

	// A stop of three minutes with the bar up tells a fill; one of two does not.
	k.to(35, 290, true)
	k.stand(2*time.Minute, false)
	k.want("after two minutes", tankWant{1700, 1, 170}, tankWant{16_700, 6, 270})
	k.turn(1)
	k.to(45, 190, true)
	k.want("filled by no stop", tankWant{700, 0, 70}, tankWant{15_700, 5, 270})
	k.to(45, 10, true)
	k.stand(4*time.Minute, false)
	k.want("after four minutes", tankWant{5000, 2, 220}, tankWant{20_000, 8, 40})
	k.turn(-1)
	k.to(55, 290, true)
	k.turn(1)
	// The answer at that lift has the stop by itself.
	k.want("after the stop", tankWant{2200, 1, 220}, tankWant{17_200, 7, 40})

	// So does a silence of three minutes, in which the key is off.
	k.to(65, 110, true)
	k.stand(5*time.Second, false)
	k.now += 10 * time.Minute
	k.stand(5*time.Second, false)
	k.to(65, 10, true)
	k.turn(-1)
	k.to(75, 110, true)
	k.want("after the silence", tankWant{3000, 1, 120}, tankWant{18_000, 6, 220})

	k.agrees()
}

// agrees fails unless what is said of the tanks is what agronomy reckons of the finished
// log and the times at which a button told of a fill, and what an engine that begins anew
// says of it.
func (k *tanker) agrees(filled ...geo.Instant) {
	k.t.Helper()
	said := k.engine.Tanks(0)
	files := k.ran.journals(k.t, "farm/job.yaml")
	j, err := job.Load(inputs(files), cabJob, job.Overrides{})
	require.NoError(k.t, err)
	a, err := assess.Do(j, j.Fields[0], assess.Options{})
	require.NoError(k.t, err)
	again, err := job.LoadLive(inputs(files), cabJob, job.Overrides{})
	require.NoError(k.t, err)
	e, err := live.New(again, k.ran.sources)
	require.NoError(k.t, err)
	e.FilledBefore(0, filled...)
	first, err := e.Ask().Answer(assess.Options{})
	require.NoError(k.t, err)
	e.Take(first)
	restarted := e.Tanks(0)
	require.Len(k.t, restarted, len(said))
	for i := range said {
		p := &j.Products[i]
		require.Equal(k.t, said[i].Product, p.Name)
		left := max(0, *p.FillArea()-agronomy.SinceFill(a.Map, p, 0, filled))
		assert.InDelta(k.t, left, restarted[i].Area, 1e-6, "an engine that begins anew, %s", p.Name)
		assert.InDelta(k.t, left, said[i].Area, 0.01**p.FillArea(), "what was said, %s", p.Name)
	}
}

// A fill that the button told is one to an engine that begins anew as well.
func TestTankFilledBeforeARestart(t *testing.T) {
	k := newTanker(t, "")
	k.stand(2*time.Second, false)
	k.to(15, 110, true)
	at := k.engine.Fill(0)
	k.to(15, 290, true)
	k.turn(1)
	k.to(25, 190, true)
	k.to(25, 190, false)
	// 180 m and 100 m since: solution's 220 m end 40 m into the pass after this one, starter's
	// 1720 m after the 180 m left of this pass and five more, 1720 - 180 - 5 x 280 = 140 m.
	k.want("after the button", tankWant{2200, 1, 40}, tankWant{17_200, 6, 140})
	k.agrees(at)
}

// On a round along the headland there is no end of a pass to tell by, and at the end of a
// pass beyond the headland's edge the next one is told.
func TestTankOnTheHeadland(t *testing.T) {
	k := newTanker(t, "")
	k.x, k.y = 100, 5
	k.stand(2*time.Second, false)
	k.to(300, 5, true)
	k.want("along the headland", tankWant{3000, 0, 300}, tankWant{18_000, 0, 1800})
	k.to(395, 5, true)
	k.to(395, 150, true)
	k.want("round its corner", tankWant{600, 0, 60}, tankWant{15_600, 0, 1560})
	k.to(395, 160, false)
	k.x, k.y = 15, 10
	k.now += time.Hour // it comes back, filled
	k.to(15, 294, true)
	// The pass is 284 m long, and so are those that come: 1716 - 6 x 284 = 12 m.
	k.want("past the end of a pass", tankWant{2160, 1, 216}, tankWant{17_160, 7, 12})
}

// What a sample's day says of its tanks is what agronomy reckons of the finished log:
// long meadow has a tank of ammonia.
func TestTanksOfTheSample(t *testing.T) {
	const path = "../../samples/long-meadow/job.yaml"
	j, err := job.Load(onDisk(), path, job.Overrides{})
	require.NoError(t, err)
	r := replayOf(t, withoutLogs(t, path), "farm/job.yaml", j.Machines)
	r.drive()
	a, err := assess.Do(j, j.Fields[0], assess.Options{})
	require.NoError(t, err)
	checked := 0
	for s := range r.sources {
		for _, tank := range r.engine.Tanks(s) {
			for i := range j.Products {
				if p := &j.Products[i]; p.Name == tank.Product {
					used := agronomy.SinceFill(a.Map, p, s, nil)
					t.Logf("%s, %s: a fill covers %.0f m², %.0f m² used, %.0f m² said to be left", r.sources[s].Machine, p.Name, *p.FillArea(), used, tank.Area)
					assert.Positive(t, used)
					assert.InDelta(t, max(0, *p.FillArea()-used), tank.Area, 0.01**p.FillArea())
					checked++
				}
			}
		}
	}
	assert.Equal(t, 1, checked)
}

// The finish that is told when a stream has ended is the forecast of the exact answer,
// from the last fix on instead of the last pass.
func TestFinishIsTheForecast(t *testing.T) {
	k := newTanker(t, "rain_at: 2026-05-04T20:00:00Z\n")
	k.stand(2*time.Second, false)
	for lane := range 6 {
		up := lane%2 == 0
		k.to(15+10*float64(lane), map[bool]float64{true: 290, false: 10}[up], true)
		k.turn(map[bool]float64{true: 1, false: -1}[up])
	}
	f, a := k.engine.Field(), k.engine.Answer()
	require.True(t, f.Finishes)
	require.NotNil(t, a.RainAt)
	require.NotNil(t, a.Forecast)
	now := geo.InstantOf(time.Date(2026, 5, 4, 8, 0, 0, 0, time.UTC)) + geo.Instant(k.now)
	assert.InDelta(t, float64(a.Forecast.Finish-a.Forecast.Now), float64(f.Finish-now), 1e9)
	// By hand: six passes of 280 m of 400 m x 300 m; 140 s each, 7.8 s between them.
	left := 400*300 - 6*2800.0
	assert.InDelta(t, left, f.Left, 0.01*left)
	pace := 6 * 2800 / (6*140 + 5*7.8)
	assert.InDelta(t, left/pace, f.Finish.Sub(now).Seconds(), 0.02*left/pace)
}
