package job

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
)

// figures are what each figure is expected to lie between, and why.
type figures struct {
	field     [2]float64 // ha
	covered   [2]float64 // of the field; where field is not known, ha
	overlap   [2]float64 // of the field
	skip      [2]float64 // of the field, ground not worked yet left out
	overReach float64    // of the field, at most
	passes    [2]int
	warned    []string // what must be said of the log
	not       []string // and what must not
}

// Real logs of work, each with what its own description says of it. Figures of
// covered ground are those of a raster of the records' own rectangles, made by
// a program that shares nothing with this one, and 1 % either way; the other
// spans follow from the descriptions, and say how.
func TestRealWork(t *testing.T) {
	for _, c := range []struct {
		set, boundary string
		tracks        []string
		width         string
		fields        []figures
	}{
		{
			// Four records a second, of 6 ft each; only part of the field is in
			// the log. 25.18 ha swept by distance times width. Hand-steered:
			// passes 5.9 to 7.3 m apart for 7.3 m, so some overlap everywhere.
			set: "oats-harvest-2017", boundary: "boundary.geojson", tracks: []string{"yield.csv.gz"}, width: "24 ft",
			fields: []figures{{
				field: [2]float64{73.15, 73.29}, covered: [2]float64{0.99 * 23.93 / 73.219, 1.01 * 23.93 / 73.219},
				overlap: [2]float64{0.01, 0.03}, skip: [2]float64{0.02, 0.06}, overReach: 0.001, passes: [2]int{55, 100},
				warned: []string{"records of 4 sections that share their times are joined to 24612 fixes of one bar", "taken to record only work"},
				not:    []string{"at another place or state", "narrower than the implement"},
			}},
		},
		{
			// One whole field; passes 11.98 m apart for 12.19 m, so about 1.8 %
			// overlap between neighbours, and ends on the headland. Four steps
			// back in time. The boundary is hand-drawn.
			set: "barley-harvest-2015", boundary: "boundary.geojson", tracks: []string{"yield.csv.gz"}, width: "40 ft",
			fields: []figures{{
				field: [2]float64{79.66, 79.82}, covered: [2]float64{0.96, 0.99},
				overlap: [2]float64{0.01, 0.03}, skip: [2]float64{0.01, 0.04}, overReach: 0.005, passes: [2]int{90, 130},
				warned: []string{"put in order"}, not: []string{"clock leaps", "worked out from its motion"},
			}},
		},
		{
			// No boundary. Passes 8.65 to 9.22 m apart for 9.14 m: about as much
			// skip as overlap, some of each. Two steps back in time, at full
			// speed. The widths are inches and do not say so.
			set: "corn-harvest-gartner", tracks: []string{"yield.csv"}, width: "30 ft",
			fields: []figures{{
				field: [2]float64{26.6, 27.1}, covered: [2]float64{0.985, 1},
				overlap: [2]float64{0.01, 0.035}, skip: [2]float64{0.002, 0.015}, overReach: 0.001, passes: [2]int{44, 90},
				warned: []string{"360 is taken as in", "taken to record only work"}, not: []string{"wider than the implement"},
			}},
		},
		{
			// A sprayer of seven sections, each of which wrote a polygon for as long as
			// its rate stood; edge strips and check plots are bare on purpose. By its
			// description 51.88 ha inside and 1.58 ha more than once on the plane of
			// UTM, where GDAL's SpatiaLite has 53.65 ha in sum and 52.07 ha united: on
			// the Earth 0.03 % more. What is small and lies beside no run, and turns
			// put together as those of a straight bar, take some.
			set: "n-topdress-2016-middle-polygons", boundary: "boundary.geojson", tracks: []string{"applied-polygons.zip"}, width: "30.48 m",
			fields: []figures{{
				field: [2]float64{66.11, 66.17}, covered: [2]float64{0.99 * 51.90 / 66.143, 1.01 * 51.90 / 66.143},
				overlap: [2]float64{0.9 * 1.58 / 66.143, 1.05 * 1.58 / 66.143}, skip: [2]float64{0.21, 0.222}, overReach: 0.0035, passes: [2]int{40, 150},
				warned: []string{"polygons of worked ground are put together", "of a bar of 30.48 m", "a datum without a name taken as WGS 84"},
				not:    []string{"worked out from its motion", "wider than the implement"},
			}},
		},
		{
			// A forage harvester of 9 m steered by hand, 6.2 to 8.8 m from pass to
			// pass in the middle; logs with missing seconds. Of 21 fields five
			// have a task.
			set: "isoxml-forage-harvest-5-tasks", tracks: []string{"TASKDATA"}, width: "9 m",
			fields: []figures{
				forage(4.40), forage(3.70), forage(1.81), forage(2.70), forage(1.54),
			},
		},
		{
			// A simulated disc of 10 m on parallel passes, shut outside of the field
			// and in its holes with the middle of the bar, so that edges that run
			// askew keep half a bar of skip and of over-reach.
			set: "isoxml-simulated-disc", tracks: []string{"TASKDATA.zip"},
			fields: []figures{
				{field: [2]float64{8.2, 8.6}, covered: [2]float64{0.95, 0.98}, overlap: [2]float64{0, 0.002}, skip: [2]float64{0.02, 0.05}, overReach: 0.02, passes: [2]int{40, 80}},
				{field: [2]float64{6.5, 6.7}, covered: [2]float64{0.95, 0.98}, overlap: [2]float64{0, 0.002}, skip: [2]float64{0.02, 0.05}, overReach: 0.02, passes: [2]int{30, 60}},
			},
		},
	} {
		t.Run(c.set, func(t *testing.T) {
			dir := outside(t, c.set)
			f := Flags{Width: c.width, Overrides: Overrides{ManyFields: true}}
			if c.boundary != "" {
				f.Boundaries = []string{filepath.Join(dir, c.boundary)}
			}
			for _, track := range c.tracks {
				f.Tracks = append(f.Tracks, filepath.Join(dir, track))
			}
			j, err := FromFlags(disk(nil), f)
			require.NoError(t, err)
			var maps []*coverage.Map
			for _, field := range j.Fields {
				m, err := coverage.Measure(field, j.Machines, j.Options)
				require.NoError(t, err)
				if len(m.Passes) > 0 {
					m.Warnings = append(j.Warnings, m.Warnings...)
					maps = append(maps, m)
				}
			}
			require.Len(t, maps, len(c.fields))
			for i, m := range maps {
				c.fields[i].hold(t, m)
			}
		})
	}
}

// forage is a field of so many hectares of the forage harvester.
func forage(ha float64) figures {
	return figures{field: [2]float64{ha - 0.01, ha + 0.01}, covered: [2]float64{0.87, 0.96}, overlap: [2]float64{0.08, 0.13},
		skip: [2]float64{0.02, 0.08}, overReach: 0.07, passes: [2]int{10, 80}, not: []string{"worked out from its motion"}}
}

// hold holds a map to its figures.
func (f *figures) hold(t *testing.T, m *coverage.Map) {
	t.Helper()
	g := m.Totals
	whole := g.Field.SquareMetres()
	within := func(what string, span [2]float64, got float64) {
		t.Helper()
		assert.GreaterOrEqual(t, got, span[0], "%s: %s", m.Field.Name, what)
		assert.LessOrEqual(t, got, span[1], "%s: %s", m.Field.Name, what)
	}
	within("field, ha", f.field, whole/1e4)
	within("covered", f.covered, g.Covered.SquareMetres()/whole)
	within("overlap", f.overlap, g.Overlap.SquareMetres()/whole)
	within("skip", f.skip, (g.Skip-g.Remainder).SquareMetres()/whole)
	within("over-reach", [2]float64{0, f.overReach}, g.OverReach.SquareMetres()/whole)
	within("passes", [2]float64{float64(f.passes[0]), float64(f.passes[1])}, float64(len(m.Passes)))
	said := ""
	for _, w := range m.Warnings {
		said += w.Text + "\n"
	}
	for _, text := range f.warned {
		assert.Contains(t, said, text)
	}
	for _, text := range f.not {
		assert.NotContains(t, said, text)
	}
}
