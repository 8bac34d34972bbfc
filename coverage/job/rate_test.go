package job

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/machine"
	"lapwing/geo"
)

// A lane is a straight pass along a meridian, driven north at 2 m/s with a
// fix a second; rate is what it put down at a distance along it.
type lane struct {
	x    float64 // m east
	rate func(y float64) string
}

// sowing writes the log of lanes of 200 m.
func sowing(header string, lanes ...lane) string {
	frame := geo.NewFrame(geo.LonLat{Lon: 10, Lat: 54})
	var b strings.Builder
	b.WriteString("time,lat,lon,working," + header + "\n")
	second := 8 * 3600
	for _, l := range lanes {
		for y := -2.0; y <= 202; y += 2 {
			p := frame.FromMetres(l.x, y)
			working := 0
			if y >= 0 && y < 202 {
				working = 1
			}
			fmt.Fprintf(&b, "2026-03-02T%02d:%02d:%02dZ,%.9f,%.9f,%d,%s\n", second/3600, second/60%60, second%60, p.Lat, p.Lon, working, l.rate(y))
			second++
		}
		second += 120
	}
	return b.String()
}

func ground(east float64) string {
	frame := geo.NewFrame(geo.LonLat{Lon: 10, Lat: 54})
	var ring []string
	for _, c := range [][2]float64{{0, 0}, {east, 0}, {east, 200}, {0, 200}, {0, 0}} {
		p := frame.FromMetres(c[0], c[1])
		ring = append(ring, fmt.Sprintf("[%.9f,%.9f]", p.Lon, p.Lat))
	}
	return `{"type":"Polygon","coordinates":[[` + strings.Join(ring, ",") + "]]}"
}

// assessed loads and prices a job.
func assessed(t *testing.T, dir string) (*Job, *agronomy.Reckoning) {
	t.Helper()
	j, err := Load(disk(nil), filepath.Join(dir, "job.yaml"), Overrides{})
	require.NoError(t, err)
	m := measured(t, j)
	r, err := agronomy.ReckonOwn(m, j.Products, j.Own, j.Crop, j.Options)
	require.NoError(t, err)
	return j, r
}

const sowingJob = `boundary: field.geojson
machines:
  - {name: drill, implement: {width: 6 m}, tracks: [day.csv]}
products:
  - {name: seed, rate: 100 kg/ha, price: 2 EUR/kg, tank: 100 L, density: 0.75 kg/L%s}
`

// Three lanes of 6 m, 5 m apart, on 16 m × 200 m. The first puts down 100
// kg/ha, from 100 m on 80; the second 120 but runs out at 50 m and is filled
// again at 110 m; the third 50. In kg/ha and m:
//
//	          x 0    5 6    10 11    16
//	110..200    | 1st |1 2| 2nd |2 3| 3rd |
//	 50..110    | 1st |1 .| dry |. 3| 3rd |     nothing of the second
//	  0..50     | 1st |1 2| 2nd |2 3| 3rd |
func TestLoggedRates(t *testing.T) {
	constant := func(text string) func(float64) string { return func(float64) string { return text } }
	steps := func(y float64) string {
		if y < 100 {
			return "100"
		}
		return "80"
	}
	out := func(y float64) string {
		if y >= 50 && y < 110 {
			return "0"
		}
		return "120"
	}
	dir := folder(t, map[string]string{
		"day.csv":       sowing("applied rate kg/ha", lane{3, steps}, lane{8, out}, lane{13, constant("50")}),
		"field.geojson": ground(16), "job.yaml": fmt.Sprintf(sowingJob, ""),
	})
	j, a := assessed(t, dir)
	assert.Empty(t, j.Warnings)
	account := &a.Accounts[0]
	const kg = 1e-4 // kg/m² of 1 kg/ha
	// Places are to 9 decimals of a degree, 0.1 mm; outlines are 2 km, so that
	// ground is known to 0.2 m², at most 120 kg/ha of it.
	const within = 0.2 * 120 * kg
	applied := (100*6*100 + 80*6*100 + 120*6*140 + 50*6*200) * kg
	assert.InDelta(t, applied, *account.Applied.Mass, 2*within)
	// The second wastes the lap with the first where it has seed, the third
	// the lap with the second where that had.
	wasted := (120*1*140 + 50*1*140) * kg
	assert.InDelta(t, wasted, *account.Wasted.Mass, within)
	assert.InDelta(t, 2*wasted, *account.Wasted.Cost, 2*within)
	require.Len(t, account.Waste.ByPass, 3, "the second lane is two passes of this product")
	// Short: the ground that only the second worked while it was dry, at the
	// job's rate.
	assert.InDelta(t, 100*4*60*kg, *account.Short.Mass, within)
	require.NotNil(t, account.Logged)
	require.Len(t, account.Logged.Dry, 1)
	dry := account.Logged.Dry[0]
	assert.InDelta(t, 360, dry.Area, 0.2)
	assert.InDelta(t, 60, (dry.To.Along - dry.From.Along).Metres(), 0.01)
	assert.Equal(t, 2, dry.From.Pass)
	assert.InDelta(t, applied, account.Logged.Put*100*kg, 2*within)
	// A tank of 100 L holds 75 kg: what was put down, 22.08 + 6.00 kg, is less.
	require.Len(t, account.Tanks, 1)
	require.Len(t, account.Tanks[0].Fills, 1)
	assert.InDelta(t, 0.1-applied/750, account.Tanks[0].Fills[0].Left, 2*within/750)

	// Without the rates it is the job's rate on all ground.
	dir = folder(t, map[string]string{
		"day.csv":       sowing("applied rate kg/ha", lane{3, steps}, lane{8, out}, lane{13, constant("50")}),
		"field.geojson": ground(16), "job.yaml": fmt.Sprintf(sowingJob, ", logged_rate: none"),
	})
	j, a = assessed(t, dir)
	assert.Empty(t, j.Own)
	assert.Nil(t, a.Accounts[0].Logged)
	assert.InDelta(t, 100*6*600*kg, *a.Accounts[0].Applied.Mass, 2*within)
}

// Short spells without product, as meters have them when a bar is lowered, are
// rates like others and no end of the product.
func TestMeterLag(t *testing.T) {
	lag := func(y float64) string {
		if y < 8 {
			return "0"
		}
		return "100"
	}
	dir := folder(t, map[string]string{"day.csv": sowing("applied rate kg/ha", lane{3, lag}), "field.geojson": ground(6), "job.yaml": fmt.Sprintf(sowingJob, "")})
	j, a := assessed(t, dir)
	assert.Empty(t, j.Own)
	assert.Empty(t, a.Accounts[0].Logged.Dry)
	assert.InDelta(t, 0.01*6*192, *a.Accounts[0].Applied.Mass, 0.01)
}

// Which column is of which product.
func TestRateColumns(t *testing.T) {
	const two = `  - {name: urea, rate: 100 kg/ha%s}
  - {name: seed, rate: 300 seeds/m2, thousand_kernels: 40 g%s}
  - {name: UAN, rate: 50 L/ha}
`
	for _, c := range []struct {
		name, header, values string
		urea, seed           string // more keys
		want                 [3]float64
		warns                []string
		fails                string
	}{
		{name: "by name", header: "urea rate kg/ha,seeding rate seeds/m2", values: "70,210", want: [3]float64{0.7, 0.7, 0}},
		{name: "by kind", header: "rate (L/ha)", values: "60", want: [3]float64{0, 0, 1.2}},
		{name: "in US units", header: "rate (gal/ac)", values: "5.34539", want: [3]float64{0, 0, 1}}, // 50 L/ha / 9.35396
		{name: "seeds by mass", header: "seed rate (kg/ha)", values: "84", want: [3]float64{0, 0.7, 0}},
		{name: "whose?", header: "rate (kg/ha)", values: "50", warns: []string{`column "rate (kg/ha)": a rate, but of which product it does not say; left out; logged_rate of a product names it`}},
		{name: "by the job", header: "rate (kg/ha)", values: "90", urea: ", logged_rate: Rate", want: [3]float64{0.9, 0, 0}},
		{name: "any name", header: "hopper 2 kg/ha", values: "90", urea: ", logged_rate: hopper 2 kg/ha", want: [3]float64{0.9, 0, 0}},
		{name: "no unit", header: "urea rate", values: "50", warns: []string{`column "urea rate": names no unit of a rate, such as lb/ac; left out`}},
		{name: "a target", header: "urea target rate kg/ha", values: "50"},
		{name: "far off", header: "urea rate kg/ha", values: "9", want: [3]float64{0.09, 0, 0},
			warns: []string{`column "urea rate kg/ha": 0.09 times the rate of urea in the job on average; is it of that product, and in that unit?`}},
		{name: "empty", header: "urea rate kg/ha", values: "", want: [3]float64{math.NaN(), 0, 0}, warns: []string{`column "urea rate kg/ha": says nothing at work; how much urea was put down there is not known, and counts as neither applied, wasted nor short`}},
		{name: "not a number", header: "urea rate kg/ha", values: "n/a", want: [3]float64{math.NaN(), 0, 0},
			warns: []string{`column "urea rate kg/ha": no rate; taken as empty`, `column "urea rate kg/ha": says nothing at work; how much urea was put down there is not known, and counts as neither applied, wasted nor short`}},
		{name: "not there", header: "speed", values: "2", urea: ", logged_rate: rate", fails: `day.csv: column "rate": no such column, want the one that logged_rate names`},
		{name: "named without a unit", header: "hopper 2", values: "2", urea: ", logged_rate: hopper 2", fails: `day.csv: column "hopper 2": no unit in its name, want one such as "lb/ac", "kg/ha", "gal/ac" or "seeds/m2" at its end`},
		{name: "not comparable", header: "uan rate kg/ha,urea rate L/ha", values: "2,2", urea: ", logged_rate: urea rate L/ha", fails: `day.csv: column "urea rate L/ha": a rate that cannot be compared with that of urea in the job, want a density`},
	} {
		t.Run(c.name, func(t *testing.T) {
			job := "boundary: field.geojson\nmachines:\n  - {name: drill, implement: {width: 6 m}, tracks: [day.csv]}\nproducts:\n" + fmt.Sprintf(two, c.urea, c.seed)
			values := func(float64) string { return c.values }
			j, err := load(t, map[string]string{"day.csv": sowing(c.header, lane{3, values}), "field.geojson": ground(6), "job.yaml": job})
			if c.fails != "" {
				assert.ErrorContains(t, err, c.fails)
				return
			}
			require.NoError(t, err)
			var texts []string
			for _, text := range warnings(j) {
				if strings.Contains(text, "rate") {
					texts = append(texts, text)
				}
			}
			assert.Equal(t, c.warns, texts)
			track := j.Machines[0].Tracks[0]
			for k, want := range c.want {
				switch {
				case want == 0:
					assert.Zero(t, j.Products[k].RateColumn, j.Products[k].Name)
				case math.IsNaN(want):
					assert.True(t, math.IsNaN(float64(track.Rates[k][50])))
				default:
					assert.Equal(t, k+1, j.Products[k].RateColumn)
					assert.InEpsilon(t, want, track.Rates[k][50], 2e-5)
				}
			}
		})
	}
}

// Without products nothing is kept of rates.
func TestRatesCostNothing(t *testing.T) {
	j, err := load(t, map[string]string{"day.csv": sowing("applied rate kg/ha", lane{3, func(float64) string { return "90" }}), "field.geojson": ground(6),
		"job.yaml": "boundary: field.geojson\nmachines:\n  - {name: drill, implement: {width: 6 m}, tracks: [day.csv]}\n"})
	require.NoError(t, err)
	assert.Nil(t, j.Machines[0].Tracks[0].Rates)
}

// A log that does not say when it worked: what ran out is left out of the
// product's ground by its fixes.
func TestDryWithoutWorkingState(t *testing.T) {
	out := func(y float64) string {
		if y >= 50 && y < 110 {
			return "0"
		}
		return "100"
	}
	lines := strings.Split(sowing("applied rate kg/ha", lane{3, out}), "\n")
	for i := range lines {
		if f := strings.Split(lines[i], ","); len(f) == 5 {
			lines[i] = strings.Join(slices.Delete(f, 3, 4), ",")
		}
	}
	dir := folder(t, map[string]string{"day.csv": strings.Join(lines, "\n"), "field.geojson": ground(6), "job.yaml": fmt.Sprintf(sowingJob, "")})
	_, a := assessed(t, dir)
	require.Len(t, a.Accounts[0].Logged.Dry, 1)
	assert.InDelta(t, 0.01*6*60, *a.Accounts[0].Short.Mass, 0.01*6*3, "inferred ends are known to 2 or 3 m")
	assert.InDelta(t, 0.01*6*144, *a.Accounts[0].Applied.Mass, 0.01*6*5)
}

// A log without times: the order of its fixes stands in for them.
func TestRatesWithoutClock(t *testing.T) {
	half := func(y float64) string {
		if y < 100 {
			return "100"
		}
		return "50"
	}
	lines := strings.Split(sowing("applied rate kg/ha", lane{3, half}), "\n")
	for i := range lines {
		if _, rest, ok := strings.Cut(lines[i], ","); ok {
			lines[i] = rest
		}
	}
	dir := folder(t, map[string]string{"day.csv": strings.Join(lines, "\n"), "field.geojson": ground(6), "job.yaml": fmt.Sprintf(sowingJob, "")})
	j, a := assessed(t, dir)
	assert.True(t, j.Machines[0].Tracks[0].NoClock)
	assert.InDelta(t, 0.01*6*150, *a.Accounts[0].Applied.Mass, 0.01)
	assert.Equal(t, machine.AsLogged, j.Machines[0].Working)
}

// A rate left empty is not known, and not the job's: that ground is in none of applied,
// wasted and short. A visit whose rate is told is the first on ground that only one
// without was on before. A rate told every other time holds in between.
func TestRateNotLogged(t *testing.T) {
	always := func(float64) string { return "100" }
	now := func(y float64) string {
		if y >= 80 && y < 140 {
			return ""
		}
		return "100"
	}
	seldom := func(y float64) string {
		if math.Mod(y, 8) != 0 {
			return ""
		}
		return "100"
	}
	for _, c := range []struct {
		name             string
		lanes            []lane
		applied, wasted  float64 // m of lanes
		empty, deviation float64
	}{
		{"told throughout", []lane{{3, always}, {9, always}}, 400, 0, 0, 0.1},
		{"empty for 60 m", []lane{{3, always}, {9, now}}, 340, 0, 60, 0.1},
		{"empty, then worked again", []lane{{3, now}, {3, always}}, 340, 140, 60, 0.1},
		{"worked, then again while empty", []lane{{3, always}, {3, now}}, 340, 140, 60, 0.1},
		{"told every 4 s", []lane{{3, always}, {9, seldom}}, 400, 0, 0, 2}, // its last is told at 200 m
		{"never told", []lane{{3, func(float64) string { return "" }}, {9, always}}, 200, 0, 200, 0.1},
	} {
		dir := folder(t, map[string]string{"day.csv": sowing("applied rate kg/ha", c.lanes...), "field.geojson": ground(12), "job.yaml": fmt.Sprintf(sowingJob, "")})
		_, r := assessed(t, dir)
		a := &r.Accounts[0]
		assert.InDelta(t, 0.01*6*c.applied, *a.Applied.Mass, 0.01*6*c.deviation, c.name)
		assert.InDelta(t, 0.01*6*c.wasted, *a.Wasted.Mass, 0.01*6*c.deviation, c.name)
		assert.InDelta(t, r.Map.Totals.Skip.SquareMetres(), a.Short.Area.SquareMetres()+r.Map.Totals.Remainder.SquareMetres(), 1e-9, c.name)
		assert.InDelta(t, 6*c.empty, a.NotTold.SquareMetres(), 6*c.deviation, c.name)
		assert.Equal(t, r.Map.Totals.Swept, a.Applied.Area+a.NotTold, c.name)
	}
}
