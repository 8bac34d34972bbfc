package job

import (
	"cmp"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/machine"
	"lapwing/geo"
)

// Real logs that say when the machine worked, with that hidden from the program: how
// much of the way is labelled as the log has it, and how near the ground comes. The sets
// are those of TestRealWork, where their descriptions are told; what a log says is
// the truth here, though it says so with lags of its own.
func TestHiddenWorkOfRealLogs(t *testing.T) {
	for _, c := range []struct {
		set, boundary, track, width string
		agree                       float64 // of the way, at least, in all its fields together
		covered, overlap            float64 // of all fields, that the ground may differ by at most
	}{
		{set: "oats-harvest-2017", boundary: "boundary.geojson", track: "yield.csv.gz", width: "24 ft", agree: 0.98, covered: 0.01, overlap: 0.01},
		{set: "barley-harvest-2015", boundary: "boundary.geojson", track: "yield.csv.gz", width: "40 ft", agree: 0.985, covered: 0.01, overlap: 0.01},
		{set: "corn-harvest-gartner", track: "yield.csv", width: "30 ft", agree: 0.98, covered: 0.01, overlap: 0.01},
		{set: "isoxml-forage-harvest-5-tasks", track: "TASKDATA", width: "9 m", agree: 0.9, covered: 0.03, overlap: 0.04},
		{set: "isoxml-simulated-disc", track: "TASKDATA.zip", agree: 0.9, covered: 0.04, overlap: 0.01},
	} {
		t.Run(c.set, func(t *testing.T) {
			dir := outside(t, c.set)
			f := Flags{Width: c.width, Tracks: []string{filepath.Join(dir, c.track)}, Overrides: Overrides{ManyFields: true}}
			if c.boundary != "" {
				f.Boundaries = []string{filepath.Join(dir, c.boundary)}
			}
			j, err := FromFlags(disk(nil), f)
			require.NoError(t, err)
			hidden := silenced(j.Machines)
			var way, alike, whole, covered, overlap, said, sure float64
			for _, land := range j.Fields {
				told, err := coverage.Measure(land, j.Machines, j.Options)
				require.NoError(t, err)
				if len(told.Passes) == 0 {
					continue
				}
				land = told.Field // `worked` where there is no boundary
				found, err := coverage.Measure(land, hidden, j.Options)
				require.NoError(t, err)
				w, a := agreement(land.Frame, j.Machines, told, found)
				way, alike = way+w, alike+a
				_, judged, _ := coverage.Split(land, hidden, j.Options)
				for k := range judged {
					length := judged[k].Length.Metres()
					said, sure = said+length, sure+length*judged[k].Sure
				}
				g, h := told.Totals, found.Totals
				whole += g.Field.SquareMetres()
				covered += (h.Covered - g.Covered).SquareMetres()
				overlap += (h.Overlap - g.Overlap).SquareMetres()
				t.Logf("%s: %.2f %% of the way as the log has it; covered %.3f ha for %.3f, overlap %.3f for %.3f, skip %.3f for %.3f",
					land.Name, 100*a/w, h.Covered.SquareMetres()/1e4, g.Covered.SquareMetres()/1e4,
					h.Overlap.SquareMetres()/1e4, g.Overlap.SquareMetres()/1e4, h.Skip.SquareMetres()/1e4, g.Skip.SquareMetres()/1e4)
			}
			if said > 0 { // of a log that records only work nothing is said
				t.Logf("said to be right on %.2f %% of the way", 100*sure/said)
			}
			t.Logf("in all %.2f %% of the way, covered %+.2f %%, overlap %+.2f %% of the fields", 100*alike/way, 100*covered/whole, 100*overlap/whole)
			assert.GreaterOrEqual(t, alike/way, c.agree)
			assert.InDelta(t, 0, covered/whole, c.covered, "covered")
			assert.InDelta(t, 0, overlap/whole, c.overlap, "overlap")
		})
	}
}

// silenced returns machines whose logs do not say when they worked.
func silenced(machines []machine.Logged) []machine.Logged {
	out := slices.Clone(machines)
	for i := range out {
		out[i].Tracks = slices.Clone(out[i].Tracks)
		for k := range out[i].Tracks {
			t := &out[i].Tracks[k]
			t.WorkingLogged, t.Fixes = false, slices.Clone(t.Fixes)
			for n := range t.Fixes {
				t.Fixes[n].Working, t.Fixes[n].State = false, 0
			}
		}
	}
	return out
}

// agreement returns how many metres machines went near a field, and on how many of these
// two maps of it agree whether they worked.
func agreement(frame geo.Frame, machines []machine.Logged, a, b *coverage.Map) (way, alike float64) {
	first, second := spans(len(machines), a), spans(len(machines), b)
	for m := range machines {
		for k := range machines[m].Tracks {
			fixes := machines[m].Tracks[k].Fixes
			for i := 1; i < len(fixes); i++ {
				from, to := &fixes[i-1], &fixes[i]
				x, y := frame.Metres(from.At)
				u, v := frame.Metres(to.At)
				d := max(u-x, x-u) + max(v-y, y-v) // near enough, and the same for both
				if dt := to.Time.Sub(from.Time).Seconds(); dt <= 0 || dt > 10 || d > 20*dt || !inBox(a, x, y) {
					continue
				}
				way += d
				if amid := from.Time + (to.Time-from.Time)/2; holds(first[m], amid) == holds(second[m], amid) {
					alike += d
				}
			}
		}
	}
	return way, alike
}

// inBox reports whether a place, in metres, is in the field's box or just beside it.
func inBox(m *coverage.Map, x, y float64) bool {
	const beside = 50 // m
	for i := range m.Measured {
		b := m.Measured[i].Shell.Bounds()
		if x > b.Min.X.Metres()-beside && x < b.Max.X.Metres()+beside && y > b.Min.Y.Metres()-beside && y < b.Max.Y.Metres()+beside {
			return true
		}
	}
	return false
}

type timeSpan struct{ from, to geo.Instant }

// spans are when each machine worked, in order.
func spans(machines int, m *coverage.Map) [][]timeSpan {
	out := make([][]timeSpan, machines)
	for i := range m.Passes {
		p := &m.Passes[i]
		out[p.Machine] = append(out[p.Machine], timeSpan{p.Start, p.End})
	}
	for _, s := range out {
		slices.SortFunc(s, func(a, b timeSpan) int { return cmp.Compare(a.from, b.from) })
	}
	return out
}

func holds(s []timeSpan, at geo.Instant) bool {
	i, _ := slices.BinarySearchFunc(s, at, func(s timeSpan, at geo.Instant) int { return cmp.Compare(s.to, at) })
	return i < len(s) && s[i].from <= at
}
