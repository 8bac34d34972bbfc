package job

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
)

func written(t *testing.T, s covertest.TaskSet) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "TASKDATA")
	require.NoError(t, os.Mkdir(dir, 0o755))
	require.NoError(t, s.Write(dir))
	return dir
}

func many(t *testing.T, f Flags) []*Job {
	t.Helper()
	f.ManyFields = true
	j, err := FromFlags(disk(nil), f)
	require.NoError(t, err)
	return j.Works()
}

// The passes of a task on the field beside reach 3 m into this one. They are the
// neighbour's: neither overlap here nor, for all that lies outside, over-reach.
func TestWorkBelongsToItsTasksField(t *testing.T) {
	works := many(t, Flags{Tracks: []string{written(t, covertest.Neighbours())}})
	require.Len(t, works, 2)
	south := measured(t, works[0])
	assert.Equal(t, "South", works[0].Fields[0].Name)
	assert.Less(t, south.Totals.OverReach.SquareMetres(), 2.0)
	assert.Less(t, south.Totals.Overlap.SquareMetres(), 2.0)
	assert.InDelta(t, 8000, south.Totals.Covered.SquareMetres(), 2)
	assert.Contains(t, works[0].Warnings, field.Warning{Count: 1,
		Text: `a stretch of work that lies here is of a task on "North"; it is left out here`})
	north := measured(t, works[1])
	assert.InDelta(t, 3*200, north.Totals.OverReach.SquareMetres(), 4, "its own, over the edge")
	for _, w := range works[1].Warnings {
		assert.NotContains(t, w.Text, "a stretch of work")
	}
}

// A task and a field that are both named by their ids go together, whatever field
// the task says.
func TestFieldAndTaskNamedGoTogether(t *testing.T) {
	set := written(t, covertest.Neighbours())
	works := many(t, Flags{Tracks: []string{set + "#TSK1,TSK2"}, Boundaries: []string{set + "#PFD1"}})
	require.Len(t, works, 1)
	assert.InDelta(t, 600, measured(t, works[0]).Totals.Overlap.SquareMetres(), 4)
}

// Boundaries from elsewhere know the set's fields by their names.
func TestFieldsKnownByName(t *testing.T) {
	set := written(t, covertest.Neighbours())
	dir := folder(t, map[string]string{"south.kml": kmlOf("South", covertest.Paddock("", 0, 0, 200, 40)), "north.kml": kmlOf("North", covertest.Paddock("", 0, 40, 200, 80)),
		"both.kml": kmlOf("River Field", covertest.Paddock("", 0, 0, 200, 40))})
	works := many(t, Flags{Tracks: []string{set}, Boundaries: []string{filepath.Join(dir, "south.kml"), filepath.Join(dir, "north.kml")}})
	require.Len(t, works, 2)
	assert.Less(t, measured(t, works[0]).Totals.Overlap.SquareMetres(), 2.0)
	// A name that the set does not know may be that of any ground.
	works = many(t, Flags{Tracks: []string{set}, Boundaries: []string{filepath.Join(dir, "both.kml")}})
	require.Len(t, works, 1)
	assert.InDelta(t, 600, measured(t, works[0]).Totals.Overlap.SquareMetres(), 4)
}

// What was seeded and then sprayed was not worked twice.
func TestOperationsAreAssessedApart(t *testing.T) {
	check := func(t *testing.T, set string, want ...string) {
		t.Helper()
		works := many(t, Flags{Tracks: []string{set}})
		var got []string
		for _, w := range works {
			got = append(got, w.Operation)
			m := measured(t, w)
			assert.InDelta(t, 8000, m.Totals.Covered.SquareMetres(), 2)
			assert.Less(t, m.Totals.Overlap.SquareMetres(), 2.0)
			assert.Len(t, w.Machines, 1)
		}
		assert.Equal(t, want, got)
	}
	practices := covertest.SeededAndSprayed()
	set := written(t, practices)
	check(t, set, "seeding", "spraying")
	check(t, set+"#TSK1,TSK3", "") // of one operation one assessment
	works := many(t, Flags{Tracks: []string{set + "#TSK1,TSK2"}})
	require.Len(t, works, 2)
	assert.InDelta(t, 4000, measured(t, works[0]).Totals.Covered.SquareMetres(), 2)

	for i := range practices.Tasks {
		practices.Tasks[i].Practice = ""
	}
	practices.Classes = []int{4, 6}
	check(t, written(t, practices), "sowing and planting", "crop protection")

	// Nothing says what was done: it may all be one operation.
	practices.Classes = nil
	works = many(t, Flags{Tracks: []string{written(t, practices)}})
	require.Len(t, works, 1)
	assert.InDelta(t, 8000, measured(t, works[0]).Totals.Overlap.SquareMetres(), 2)

	// One task alone says it: the drill's other one is of the same, the sprayer's is not told.
	practices.Tasks[0].Practice = "Seeding"
	works = many(t, Flags{Tracks: []string{written(t, practices)}})
	require.Len(t, works, 2)
	assert.Equal(t, []string{"seeding", "operation not told"}, []string{works[0].Operation, works[1].Operation})
	assert.InDelta(t, 8000, measured(t, works[0]).Totals.Covered.SquareMetres(), 2)
}

// A command that answers for one field takes one operation.
func TestOneOperationWanted(t *testing.T) {
	set := written(t, covertest.SeededAndSprayed())
	_, err := FromFlags(disk(nil), Flags{Tracks: []string{set}})
	assert.ErrorContains(t, err, "tasks of 2 operations on the field, TSK1 (seeding) and TSK2 (spraying), want those of one, such as "+set+"#TSK1")
	j, err := FromFlags(disk(nil), Flags{Tracks: []string{set + "#TSK1,TSK3"}})
	require.NoError(t, err)
	assert.Len(t, j.Machines[0].Tracks, 2)
}

// A product of one machine is no product of an operation that it had no part in.
func TestProductsOfOneOperation(t *testing.T) {
	set := written(t, covertest.SeededAndSprayed())
	j, err := loadMany(t, map[string]string{"job.yaml": "machines:\n  - {name: drill, tracks: [" + set + "#DVC1]}\n  - {name: sprayer, tracks: [" + set + "#DVC2]}\n" +
		"products:\n  - {name: seed, rate: 100 kg/ha, machines: [drill], working: work state}\n  - {name: spray, rate: 100 L/ha, machines: [sprayer], working: work state}\n"})
	require.NoError(t, err)
	works := j.Works()
	require.Len(t, works, 2)
	for i, name := range []string{"seed", "spray"} {
		require.Len(t, works[i].Products, 1)
		assert.Equal(t, name, works[i].Products[0].Name)
		require.Len(t, works[i].Own, 1)
		assert.Equal(t, 0, works[i].Own[0].Product)
		r, err := agronomy.ReckonOwn(measured(t, works[i]), works[i].Products, works[i].Own, works[i].Crop, works[i].Options)
		require.NoError(t, err)
		assert.InDelta(t, 8000, r.Accounts[0].Product.Map.Totals.Covered.SquareMetres(), 2)
	}
}

// A set that has a field twice, drawn 30 cm apart, has it once.
func TestTwinFields(t *testing.T) {
	s := covertest.Neighbours()
	s.Fields = []field.Field{covertest.Paddock("South", 0, 0, 200, 40), covertest.Paddock("Home", 0.3, 0, 200.3, 40), covertest.Paddock("North", 0, 40, 200, 80)}
	s.Tasks[1].Field = 2
	more := s.Tasks[0]
	more.Field, more.Track = 1, covertest.Driven(covertest.Morning.Add(5*time.Hour), covertest.Lane{0, 5, 200, 5})
	s.Tasks = append(s.Tasks, more)
	set := written(t, s)
	works := many(t, Flags{Tracks: []string{set}})
	require.Len(t, works, 2)
	assert.Equal(t, "South", works[0].Fields[0].Name)
	assert.Contains(t, warnings(works[0]), `PFD2 "Home" is the same ground as PFD1 "South"; it is done once, as that`)
	assert.InDelta(t, 2000, measured(t, works[0]).Totals.Overlap.SquareMetres(), 2, "the work of both")
	// Halves of a square, cut from corner to corner, have the same box and area.
	a, b := namedBoundary{parts: triangle(false)}, namedBoundary{parts: triangle(true)}
	assert.False(t, twins(&a, &b))
	assert.True(t, twins(&a, &a))
}

func triangle(other bool) []geo.Polygon {
	shell := []geo.LonLat{{Lon: 2, Lat: 54}, {Lon: 2.01, Lat: 54}, {Lon: 2.01, Lat: 54.01}, {Lon: 2, Lat: 54}}
	if other {
		shell[1] = geo.LonLat{Lon: 2, Lat: 54.01}
	}
	return []geo.Polygon{{Shell: shell}}
}

// kmlOf writes a field as KML.
func kmlOf(name string, f field.Field) string {
	places := ""
	shell := f.Boundary[0].Shell
	for i := range len(shell) + 1 {
		p := f.Frame.ToEarth(shell[i%len(shell)])
		places += fmt.Sprintf("%.9f,%.9f,0 ", p.Lon, p.Lat)
	}
	return `<kml><Placemark><name>` + name + `</name><Polygon><outerBoundaryIs><LinearRing><coordinates>` + places + `</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>`
}

// What the set says of the field and the work goes with the work it is of.
func TestStated(t *testing.T) {
	s := covertest.SeededAndSprayed()
	works := many(t, Flags{Tracks: []string{written(t, s)}})
	require.Len(t, works, 2)
	seeded, sprayed := works[0].Stated, works[1].Stated
	assert.Equal(t, []float64{8100, 7900, 790, 79}, []float64{seeded.Field, seeded.Area, seeded.Distance, seeded.Mass})
	assert.True(t, math.IsNaN(seeded.Time), "one of two tasks does not say")
	assert.Equal(t, 0.16, sprayed.Volume)
	assert.True(t, math.IsNaN(sprayed.Area))

	j, err := FromFlags(disk(nil), Flags{Tracks: []string{written(t, covertest.Combine())}})
	require.NoError(t, err)
	assert.Nil(t, j.Stated, "it says nothing")
}

// Each log is looked at by the field of its task and by no other, so that many
// fields cost no more than each by itself.
func TestEachLogIsOfOneField(t *testing.T) {
	s := covertest.Neighbours()
	fixes := 0
	for _, task := range s.Tasks {
		fixes += len(task.Track.Fixes)
	}
	seen := 0
	for _, w := range many(t, Flags{Tracks: []string{written(t, s)}}) {
		seen += machine.Fixes(w.Machines)
	}
	assert.Equal(t, fixes, seen)
}
