package spec

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/plane"
	"lapwing/geo/source"
)

// plainJob is a job with nothing that it can do without.
const plainJob = `field: Nine Elms
boundary: field.geojson
machines:
  - name: red drill
    implement: {openers: 24, row_spacing: 12.5 cm}
    tracks: [day.csv]
`

// read reads a text as a job file.
func read(text string) (*Spec, error) {
	return Read(source.Files{FS: fstest.MapFS{"farm/job.yaml": {Data: []byte(text)}}}, "farm/job.yaml")
}

// warnings are the texts of what is doubted.
func warnings(s *Spec) (texts []string) {
	for _, w := range s.Warnings {
		texts = append(texts, w.Text)
	}
	return texts
}

// What later steps may find wrong has its place; paths start from the file.
func TestPlaces(t *testing.T) {
	s, err := read(plainJob + `  - name: blue drill
    tracks: [a.zip#TSK1, /b.csv, "-"]
products:
  - {name: seed, rate: 90 kg/ha, working: seed_on, logged_rate: none}
`)
	require.NoError(t, err)
	assert.Equal(t, []string{"farm/job.yaml"}, s.Files)
	assert.Equal(t, []Path{{Place: Place{"farm/job.yaml", 2, "boundary"}, Text: "field.geojson", Path: "farm/field.geojson"}}, s.Boundary)
	require.Len(t, s.Machines, 2)
	assert.Equal(t, []Path{{Place: Place{"farm/job.yaml", 6, "machine red drill, track 1"}, Text: "day.csv", Path: "farm/day.csv"}}, s.Machines[0].Tracks)
	assert.Equal(t, 3*plane.Metre, s.Machines[0].Implement.Width)
	assert.Nil(t, s.Machines[1].Implement, "a task set may tell")
	assert.EqualError(t, s.Machines[1].Missing, "farm/job.yaml:7: machine blue drill, implement: missing, want the keys of an implement, or the path of a file with them")
	var paths []string
	for _, p := range s.Machines[1].Tracks {
		paths = append(paths, p.Path)
	}
	assert.Equal(t, []string{"farm/a.zip#TSK1", "/b.csv", "-"}, paths)
	assert.Equal(t, Text{Place{"farm/job.yaml", 10, "product seed, working"}, "seed_on", true}, s.Products[0].Column)
	assert.Equal(t, "seed_on", s.Products[0].Working)
	assert.Equal(t, NoRate, s.Products[0].LoggedRate.Text)
	assert.EqualError(t, s.Boundary[0].Wrong("no such file", "one"), "farm/job.yaml:2: boundary: no such file, want one")

	s, err = read(strings.Replace(plainJob, "field.geojson", "worked", 1))
	require.NoError(t, err)
	assert.True(t, s.Worked)
	assert.Empty(t, s.Boundary)
}

// A file that is no job is told from a job with something wrong in it.
func TestNoJob(t *testing.T) {
	for _, text := range []string{"", "[a, b]", "field: [", "width: 12 m"} {
		_, err := read(text)
		assert.ErrorIs(t, err, ErrNoJob, text)
	}
	_, err := Read(source.Files{FS: fstest.MapFS{}}, "job.yaml")
	assert.ErrorIs(t, err, ErrNoJob)
	assert.EqualError(t, err, "job.yaml: no such file, want a job file")
	_, err = read("machines: []")
	assert.NotErrorIs(t, err, ErrNoJob)
	assert.Error(t, err)
}

// The distance between the outer openers is not the working width.
func TestWidthThatMissesARow(t *testing.T) {
	// The contract's example: 24 openers at 7.5 in work 15 ft, the outer two
	// stand 14 ft 4.5 in apart.
	s, err := read(strings.Replace(plainJob, "{openers: 24, row_spacing: 12.5 cm}", "{openers: 24, row_spacing: 7.5 in, width: 14 ft 4.5 in}", 1))
	require.NoError(t, err)
	assert.Equal(t, plane.Metres(172.5*0.0254), s.Machines[0].Implement.Width)
	assert.Equal(t, []string{"machine red drill, implement: 24 openers at 7.5 in work 15 ft, not the width of 14 ft 4.5 in, which is used; " +
		"it is (n - 1) x row spacing, the distance between the outer openers, while each of the n = 24 openers works a whole row"}, warnings(s))

	s, err = read(strings.Replace(plainJob, "{openers: 24, row_spacing: 12.5 cm}", "{openers: 24, row_spacing: 12.5 cm, width: 3.5 m}", 1))
	require.NoError(t, err)
	assert.Equal(t, []string{"machine red drill, implement: 24 openers at 12.5 cm work 3 m, not the width of 3.5 m, which is used; " +
		"the working width is n x row spacing, not (n - 1) x"}, warnings(s))
}

func TestAmmoniaTankIsFilledToTheLimit(t *testing.T) {
	for fill, want := range map[string]float64{"": 0.85, ", fill: 80 %": 0.8} {
		s, err := read(plainJob + `products:
  - {name: ammonia, analysis: 82-0-0, rate: 70 lb N/ac, tank: 1000 gal, temperature: 60 F` + fill + "}\n")
		require.NoError(t, err)
		assert.Equal(t, want, s.Products[0].Fill)
	}
	s, err := read(plainJob + "products: [{name: ammonia, analysis: 82-0-0, rate: 70 lb N/ac, tank: 1000 gal, fill: 95 %}]\n")
	require.NoError(t, err)
	assert.Contains(t, fmt.Sprint(s.Warnings), "ammonia: filled to 95 %, above the usual limit of 85 % for anhydrous ammonia")
	s, err = read(plainJob + "products: [{name: solution, analysis: 28-0-0, rate: 100 L/ha, tank: 1000 gal}]\n")
	require.NoError(t, err)
	assert.Equal(t, 1.0, s.Products[0].Fill)
}

// Each wrong job is the plain one with one text put for another.
func TestWrong(t *testing.T) {
	const length = `, want a length such as "50 ft" or "16.5 m"`
	const implement = "{openers: 24, row_spacing: 12.5 cm}"
	for _, c := range []struct {
		name, old, new string
		want           string
	}{
		// The file as a whole.
		{"empty", plainJob, "", `job.yaml: an empty file, want YAML keys`},
		{"only a comment", plainJob, "# to be written\n", `job.yaml: an empty file, want YAML keys`},
		{"null", plainJob, "~\n", `job.yaml: an empty file, want YAML keys`},
		{"a list", plainJob, "- a\n", `job.yaml:1: found a list, want keys such as field, boundary, time_zone, machines, headland, edge_allowance, products, crop, rain_at, shift, gnss, going_back and switching`},
		{"a word", plainJob, "barley\n", `job.yaml:1: found "barley", want keys such as field, boundary, time_zone, machines, headland, edge_allowance, products, crop, rain_at, shift, gnss, going_back and switching`},
		{"not YAML", "field: Nine Elms", "field: [Nine Elms", `job.yaml:2: not YAML: did not find expected ',' or ']'`},
		{"a second document", "machines:\n", "---\nmachines:\n", `job.yaml:3: found a second document, want one`},

		// Keys.
		{"unknown key", "boundary:", "bondary:", `job.yaml:2: bondary: unknown key "bondary", want "boundary"`},
		{"unknown key far from all", "boundary:", "weather:", `job.yaml:2: weather: unknown key "weather", want one of field, boundary, time_zone, machines, headland, edge_allowance, products, crop, rain_at, shift, gnss, going_back and switching`},
		{"unknown key deep down", "row_spacing:", "row_spaceing:", `job.yaml:5: machine red drill, implement.row_spaceing: unknown key "row_spaceing", want "row_spacing"`},
		{"key in capitals", "openers:", "Openers:", `job.yaml:5: machine red drill, implement.Openers: unknown key "Openers", want "openers"`},
		{"a key twice", "boundary: field.geojson", "boundary: field.geojson\nboundary: other.geojson", `job.yaml:3: boundary: found twice, want the key once`},
		{"a list as a key", "boundary: field.geojson", "? [a]\n: b", `job.yaml:2: found a list as a key, want a word`},

		// Machines.
		{"no machines", plainJob, "field: Nine Elms\n", `job.yaml:1: machines: missing, want a list of machines`},
		{"an empty list of machines", plainJob, "machines: []\n", `job.yaml:1: machines: found an empty list, want a list of machines`},
		{"one machine without a list", "  - name: red drill\n    implement: {openers: 24, row_spacing: 12.5 cm}\n    tracks: [day.csv]", "  name: red drill", `job.yaml:4: machines: found keys, want a list of machines`},
		{"a nameless machine", "- name: red drill\n    implement", "- implement", `job.yaml:4: machine 1, name: missing, want a name`},
		{"two machines of one name", plainJob, plainJob + strings.Replace(plainJob[strings.Index(plainJob, "  - "):], "red", "Red", 1), `job.yaml:7: machine Red drill, name: found "Red drill" twice, want a name for each machine`},
		{"no tracks", "    tracks: [day.csv]\n", "", `job.yaml:4: machine red drill, tracks: missing, want a list of logs`},
		{"a track twice", "[day.csv]", "[day.csv, day.csv]", `job.yaml:6: machine red drill, track 2: found "day.csv" twice, want each log once`},
		{"a mapping for a track", "[day.csv]", "[{file: day.csv}]", `job.yaml:6: machine red drill, track 1, file: unknown key "file", want one of log, from and to`},
		{"an operator with keys", "- name", "- operator: {first: Ada}\n    name", `job.yaml:4: machine red drill, operator: found keys, want a name`},

		// What if.
		{"an error below zero", "machines:\n", "gnss: {short_term: -2 cm}\nmachines:\n", `job.yaml:3: gnss.short_term: found "-2 cm", want zero or more`},
		{"an error of a county", "machines:\n", "gnss: {short_term: 2 cm, drift: 50 km}\nmachines:\n", `job.yaml:3: gnss.drift: found "50 km", want 100 m at most`},
		{"an error without a unit", "machines:\n", "gnss: {drift: 2}\nmachines:\n", `job.yaml:3: gnss.drift: found "2"` + length},
		{"steered by nobody", "machines:\n", "gnss: {steering: autopilot}\nmachines:\n", `job.yaml:3: gnss.steering: found "autopilot", want receiver or other`},
		{"a price by the day", "machines:\n", "going_back: {cost: 150 USD}\nmachines:\n", `job.yaml:3: going_back.cost: found "150 USD", no unit called "USD", want a price by time such as "150 USD/h"`},
		{"going back in a tractor", "machines:\n", "going_back: {price: 150 USD/h}\nmachines:\n", `job.yaml:3: going_back.price: unknown key "price", want one of cost, speed and there`},
		{"neighbours that make up all and more", "machines:\n", "crop: {yield: 5 t/ha, compensation: 120 %}\nmachines:\n", `job.yaml:3: crop.compensation: found "120 %", want above 0 % and at most 100 %`},

		// Implements.
		{"a bare width", implement, "{width: 50}", `job.yaml:5: machine red drill, implement.width: found "50"` + length},
		{"a width in pounds", implement, "{width: 50 lb}", `job.yaml:5: machine red drill, implement.width: found "50 lb", a mass` + length},
		{"a width below zero", implement, "{width: -5 m}", `job.yaml:5: machine red drill, implement.width: found "-5 m", too short` + length},
		{"a width of a county", implement, "{width: 60 km}", `job.yaml:5: machine red drill, implement.width: found "60 km", over 50 km` + length},
		{"a width of a town", implement, "{width: 3 km}", `job.yaml:5: machine red drill, implement: found a bar that reaches 1500 m from the antenna, want 1000 m at most`},
		{"a bar beyond the hill", implement, "{width: 12 m, antenna_right: -600 m, offset: -500 m}", `job.yaml:5: machine red drill, implement: found a bar that reaches 1106 m from the antenna, want 1000 m at most`},
		{"no width", implement, "{openers: 24}", `job.yaml:5: machine red drill, implement.width: missing, want a width such as "40 ft", or openers and row_spacing`},
		{"half an opener", "openers: 24", "openers: 24.5", `job.yaml:5: machine red drill, implement.openers: found "24.5", want a whole number from 1 to 10000`},
		{"a mount unheard of", implement, "{width: 3 m, mount: trailed}", `job.yaml:5: machine red drill, implement.mount: found "trailed", want towed or mounted`},
		{"towed from nowhere", implement, "{width: 3 m, mount: towed}", `job.yaml:5: machine red drill, implement.hitch_to_bar: missing, want for a towed implement, a length such as "30 ft" or "9 m"`},
		{"a cart without a length", implement, "{width: 3 m, mount: towed, hitch_to_bar: 5 m, cart: {axle_to_hitch: 1 m}}", `job.yaml:5: machine red drill, implement.cart.hitch_to_axle: missing, want a length such as "4 m"`},
		{"no sections", "openers: 24", "sections: 0, openers: 24", `job.yaml:5: machine red drill, implement.sections: found "0", want a whole number from 1 to 1000`},
		{"sections that miss openers", "openers: 24", "sections: [8, 8], openers: 24", `job.yaml:5: machine red drill, implement.sections: found sections of 16 openers in all, want 24 as in openers`},
		{"sections that miss width", "openers: 24", "sections: [1 m, 1 m], openers: 24", `job.yaml:5: machine red drill, implement.sections: found sections of 2 m in all, want the working width, 3 m`},
		{"sections of both sorts", "openers: 24", "sections: [8, 1 m], openers: 24", `job.yaml:5: machine red drill, implement.section 2: found "1 m", want all opener counts or all widths`},
		{"a bare delay", "openers: 24", "ground_delay: {on: 2}, openers: 24", `job.yaml:5: machine red drill, implement.ground_delay.on: found "2", want a time such as "2 s" or "0.5 min"`},
		{"no such implement file", implement, "bar.yaml", `job.yaml:5: machine red drill, implement: found "bar.yaml", no such file, want an implement file, or its keys`},
		{"a wrong implement file", implement, "wrong.yaml", `wrong.yaml:2: width: found "3"` + length},

		// Working expressions.
		{"a bare speed", "tracks:", "working: speed > 1\n    tracks:", `job.yaml:6: machine red drill, working: found "1", want a speed such as "5 mph" or "2 m/s"`},
		{"depth", "tracks:", "working: depth > 1 in\n    tracks:", `job.yaml:6: machine red drill, working: found "depth" in "depth > 1 in", want speed, heading or time`},
		{"no comparison", "tracks:", "working: always\n    tracks:", `job.yaml:6: machine red drill, working: found "always", want logged, inferred, or conditions such as "speed > 1 m/s and heading < 180 deg"`},
		{"an hour past midnight", "tracks:", "working: time > 25:00\n    tracks:", `job.yaml:6: machine red drill, working: found "25:00", want a time such as "14:30" or "2026-05-04T18:00"`},

		// The rest of the job.
		{"no such zone", "machines:", "time_zone: Europe/Atlantis\nmachines:", `job.yaml:3: time_zone: found "Europe/Atlantis", no such time zone, want a name such as "America/Denver" or "UTC"`},
		{"no rounds", "machines:", "headland: {rounds: 0}\nmachines:", `job.yaml:3: headland.rounds: found "0", want a whole number from 1 to 100`},
		{"a lap of the whole width", "machines:", "headland: {lap: 3 m}\nmachines:", `job.yaml:3: headland.lap: found "3 m", want less than the working width`},
		{"a lap as wide as the bar", "tracks:", "lap: 3 m\n    tracks:", `job.yaml:6: machine red drill, lap: found "3 m", want less than the working width`},
		{"a lap that is a gap", "tracks:", "lap: -10 cm\n    tracks:", `job.yaml:6: machine red drill, lap: found "-10 cm", below zero` + length},
		{"an allowance below zero", "machines:", "edge_allowance: -1 ft\nmachines:", `job.yaml:3: edge_allowance: found "-1 ft", below zero` + length},
		{"a product without a rate", "machines:", "products: [{name: seed}]\nmachines:", `job.yaml:3: product seed, rate: missing, want a rate such as "100 lb/ac", "112 kg/ha", "5 gal/ac", "70 lb N/ac" or "25 seeds/ft2"`},
		{"a bare rate", "machines:", "products: [{name: seed, rate: 90}]\nmachines:", `job.yaml:3: product seed, rate: found "90", want a rate such as "100 lb/ac", "112 kg/ha", "5 gal/ac", "70 lb N/ac" or "25 seeds/ft2"`},
		{"nitrogen of nothing", "machines:", "products: [{name: urea, rate: 70 kg N/ha}]\nmachines:", `job.yaml:3: product urea, rate: found a rate of N without an analysis, want an analysis such as 82-0-0`},
		{"an analysis of one number", "machines:", "products: [{name: urea, analysis: 46, rate: 70 kg N/ha}]\nmachines:", `job.yaml:3: product urea, analysis: found "46", want percentages of N-P2O5-K2O such as 82-0-0, 100 together at most`},
		{"a bare price", "machines:", "products: [{name: seed, rate: 90 kg/ha, price: 5}]\nmachines:", `job.yaml:3: product seed, price: found "5", want a price such as "800 USD/ton", "0.25 USD/lb" or "2.10 EUR/L"`},
		{"a product of a stranger", "machines:", "products: [{name: seed, rate: 90 kg/ha, machines: [red dril]}]\nmachines:", `job.yaml:3: product seed, machine 1: found "red dril", no machine of that name, want "red drill"`},
		{"a product twice", "machines:", "products: [{name: seed, rate: 90 kg/ha}, {name: seed, rate: 9 kg/ha}]\nmachines:", `job.yaml:3: product seed, name: found "seed" twice, want a name for each product`},
		{"an overfull tank", "machines:", "products: [{name: N, rate: 90 L/ha, fill: 120 %}]\nmachines:", `job.yaml:3: product N, fill: found "120 %", want above 0 % and at most 100 %`},
		{"a key of a product misspelt", "machines:", "products: [{name: N, rate: 90 L/ha, densty: 1 kg/L}]\nmachines:", `job.yaml:3: product N, densty: unknown key "densty", want "density"`},
		{"a density in pounds", "machines:", "products: [{name: N, rate: 90 L/ha, density: 10.6 lb}]\nmachines:", `job.yaml:3: product N, density: found "10.6 lb", a mass, want a density such as "10.67 lb/gal" or "1.28 kg/L"`},
		{"no density at all", "machines:", "products: [{name: N, rate: 90 L/ha, density: 0 kg/L}]\nmachines:", `job.yaml:3: product N, density: found "0 kg/L", want more than zero`},
		{"more than all of it", "machines:", "products: [{name: N, analysis: 60-50-0, rate: 90 kg/ha}]\nmachines:", `job.yaml:3: product N, analysis: found "60-50-0", want percentages of N-P2O5-K2O such as 82-0-0, 100 together at most`},
		{"potash of ammonia", "machines:", "products: [{name: N, analysis: 82-0-0, rate: 90 kg K2O/ha}]\nmachines:", `job.yaml:3: product N, rate: found a rate of K2O, of which the analysis has none, want the rate of a nutrient in the product`},
		{"a nutrient unheard of", "machines:", "products: [{name: S, analysis: 21-0-0, rate: 90 kg S/ha}]\nmachines:", `job.yaml:3: product S, rate: found "90 kg S/ha", no nutrient called "S", only N, P2O5 and K2O, want a rate such as "100 lb/ac", "112 kg/ha", "5 gal/ac", "70 lb N/ac" or "25 seeds/ft2"`},
		{"hot ammonia", "machines:", "products: [{name: N, analysis: 82-0-0, rate: 90 kg/ha, temperature: 120 F}]\nmachines:", `job.yaml:3: product N, temperature: found ammonia at 120 F, want 0 F to 100 F, or a density`},
		{"a temperature without a unit", "machines:", "products: [{name: N, rate: 90 kg/ha, temperature: 50}]\nmachines:", `job.yaml:3: product N, temperature: found "50", want a temperature such as "50 F" or "10 C"`},
		{"a tank by weight", "machines:", "products: [{name: N, rate: 90 L/ha, tank: 3 t}]\nmachines:", `job.yaml:3: product N, tank: found "3 t", a mass, want a volume such as "1450 gal" or "5500 L"`},
		{"seeds without their size", "machines:", "products: [{name: seed, rate: 300 seeds/m2}]\nmachines:", `job.yaml:3: product seed, rate: found a rate in seeds without their size, want thousand_kernels such as "35 g" or "12000 seeds/lb"`},
		{"seeds of no weight", "machines:", "products: [{name: seed, rate: 300 seeds/m2, thousand_kernels: 0 g}]\nmachines:", `job.yaml:3: product seed, thousand_kernels: found "0 g", want more than zero`},
		{"seeds that multiply", "machines:", "products: [{name: seed, rate: 300 seeds/m2, thousand_kernels: 40 g, survival: 110 %}]\nmachines:", `job.yaml:3: product seed, survival: found "110 %", want above 0 % and at most 100 %`},
		{"a price by area", "machines:", "products: [{name: seed, rate: 90 kg/ha, price: 80 USD/ha}]\nmachines:", `job.yaml:3: product seed, price: found "80 USD/ha", no unit called "USD/ha", want a price such as "800 USD/ton", "0.25 USD/lb" or "2.10 EUR/L"`},
		{"fills without a tank", "machines:", "products: [{name: N, rate: 90 L/ha, fills: 3}]\nmachines:", `job.yaml:3: product N, fills: found fills without a tank, want tank such as "1450 gal"`},
		{"no fills", "machines:", "products: [{name: N, rate: 90 L/ha, tank: 3 m3, fills: 0}]\nmachines:", `job.yaml:3: product N, fills: found "0", want a whole number from 1 to 1000`},
		{"a fill some day", "machines:", "products: [{name: N, rate: 90 L/ha, tank: 3 m3, fills: [noon]}]\nmachines:", `job.yaml:3: product N, fill 1: found "noon", want a time such as "2026-05-04T09:40"`},
		{"fills out of order", "machines:", "products: [{name: N, rate: 90 L/ha, tank: 3 m3, fills: [2026-03-02T10:00, 2026-03-02T09:00]}]\nmachines:", `job.yaml:3: product N, fill 2: found "2026-03-02T09:00", not after the one before, want times in order`},
		{"bushels of air", "machines:", "crop: {yield: 45 bu/ac}\nmachines:", `job.yaml:3: crop.yield: found bushels without their mass, want bushel such as "60 lb"`},
		{"rain some day", "machines:", "rain_at: tuesday\nmachines:", `job.yaml:3: rain_at: found "tuesday", want a time such as "2026-05-04T18:00"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := strings.Replace(plainJob, c.old, c.new, 1)
			require.NotEqual(t, plainJob, text)
			_, err := Read(source.Files{FS: fstest.MapFS{"job.yaml": {Data: []byte(text)}, "wrong.yaml": {Data: []byte("name: bar\nwidth: 3\n")}}}, "job.yaml")
			var wrong *InputError
			require.ErrorAs(t, err, &wrong)
			assert.EqualError(t, err, c.want)
		})
	}
}

// FuzzRead reads any bytes as a job file.
func FuzzRead(f *testing.F) {
	f.Add([]byte(plainJob))
	f.Add([]byte("machines: &a [*a]"))
	f.Add([]byte("a: 1\n---\nb: 2"))
	f.Add([]byte("machines: [{name: a, implement: b.yaml, tracks: [-], working: speed > 1 mph and time < 12:00}]"))
	f.Add([]byte("products: [{name: N, analysis: 82-0-0, rate: 70 lb N/ac, temperature: 50 F, price: 8 USD/ton, machines: [a]}]"))
	f.Add([]byte("machines: [{implement: {width: 1e300 km, sections: [1 m, 2 m], mount: towed, cart: {}, start_heading: 1 deg}}]"))
	f.Add([]byte("crop: {yield: 45 bu/ac, bushel: 0 lb}\nshift: {east: 1 m}\nrain_at: 2026-05-04T18:00\nheadland: {lap: 1 m}"))
	f.Fuzz(func(t *testing.T, data []byte) {
		files := fstest.MapFS{"job.yaml": {Data: data}, "b.yaml": {Data: []byte("width: 12 m\nsections: 4")}}
		s, err := Read(source.Files{FS: files}, "job.yaml")
		if err != nil {
			var wrong *InputError
			require.ErrorAs(t, err, &wrong)
			assert.NotContains(t, err.Error(), "\n")
			return
		}
		assert.NotEmpty(t, s.Machines)
		for _, m := range s.Machines {
			assert.NotEmpty(t, m.Tracks)
			if m.Implement != nil {
				assert.Positive(t, m.Implement.Width)
				assert.NotEmpty(t, m.Implement.Sections)
			}
		}
	})
}
