package assess_test

import (
	"errors"
	"math"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/format"
	"lapwing/geo/source"
	"lapwing/geo/taskdata"
)

// loaded is a case of the repository: three passes with a lap and a skip.
func loaded(t *testing.T) *job.Job {
	t.Helper()
	return load(t, "testdata/cases/lap-and-skip/job.yaml")
}

// load reads a job of the repository.
func load(t *testing.T, path string) *job.Job {
	t.Helper()
	in := job.Inputs{Files: source.Files{FS: os.DirFS("../..")}, Formats: format.Plain()}
	j, err := job.Load(in, path, job.Overrides{})
	require.NoError(t, err)
	return j
}

func do(t *testing.T, j *job.Job, opt assess.Options) *assess.Assessment {
	t.Helper()
	a, err := assess.Do(j, j.Fields[0], opt)
	require.NoError(t, err)
	return a
}

// A run is named by what is found and how it is told: the same question gives the
// same name, and a question more, or other units, another one.
func TestRunIDs(t *testing.T) {
	j := loaded(t)
	plain := do(t, j, assess.Options{})
	assert.Regexp(t, `^[0-9a-f]{12}$`, plain.Run)
	assert.Equal(t, plain.Run, do(t, j, assess.Options{}).Run)
	assert.Equal(t, plain.Run, do(t, j, assess.Options{OffRates: true, Last: &assess.LastQuestion{Machine: -1}}).Run, "the summary says no more")
	asked := do(t, j, assess.Options{WhatIf: &assess.WhatIfOptions{Runs: 3}})
	metric := do(t, j, assess.Options{Units: quantity.Metric})
	assert.NotEqual(t, plain.Run, asked.Run)
	assert.NotEqual(t, plain.Run, metric.Run)
	assert.Equal(t, 3, asked.WhatIf.Sure.Runs)
	assert.Nil(t, plain.WhatIf)
}

// The fields of one job do not write into one another's warnings.
func TestWarningsAreAnAssessmentsOwn(t *testing.T) {
	j := loaded(t)
	j.Warnings = append(make([]field.Warning, 0, 8), field.Warning{Text: "of the job"})
	first := do(t, j, assess.Options{})
	before := slices.Clone(first.Warnings)
	worked, err := assess.Do(j, field.Field{Name: "without a boundary"}, assess.Options{})
	require.NoError(t, err)
	assert.Equal(t, before, first.Warnings)
	assert.Equal(t, "of the job", worked.Warnings[0].Text)
	require.Greater(t, len(worked.Warnings), 1, "that there is no boundary")
	assert.NotEqual(t, first.Warnings, worked.Warnings)
	assert.Len(t, j.Warnings, 1)
}

func TestLastQuestions(t *testing.T) {
	j := loaded(t)
	a := do(t, j, assess.Options{Last: &assess.LastQuestion{Machine: -1}})
	passes := len(a.Map.Passes)
	require.Greater(t, passes, 1)
	require.Len(t, a.Last, 1)
	assert.Equal(t, passes, a.Last[0].ID)
	first, none := 1, passes+1
	a = do(t, j, assess.Options{Last: &assess.LastQuestion{Machine: 0, Pass: &first}})
	assert.Equal(t, 1, a.Last[0].ID)
	_, err := assess.Do(j, j.Fields[0], assess.Options{Last: &assess.LastQuestion{Machine: -1, Pass: &none}})
	var wrong *job.InputError
	require.ErrorAs(t, err, &wrong)
	assert.Equal(t, "--pass", wrong.Where)
}

// The drive back takes every mistake, or leaves it and says so; a start beyond
// the grid is an error of its own.
func TestMendQuestions(t *testing.T) {
	j := loaded(t)
	j.Crop = &agronomy.Crop{Yield: 0.4, Price: &agronomy.Price{PerKilogram: 0.2, Currency: "USD"}}
	a := do(t, j, assess.Options{Mend: &assess.MendQuestion{Machine: -1, All: true}})
	require.NotEmpty(t, a.Mend.Plan.Stops)
	assert.False(t, a.Mend.Given)
	var mended []int
	for _, stop := range a.Mend.Plan.Stops {
		mended = append(mended, stop.Run.Skips...)
	}
	assert.Subset(t, a.Mistakes(), mended)

	dear := do(t, j, assess.Options{Mend: &assess.MendQuestion{Machine: -1, GoingBack: agronomy.GoingBack{Cost: 1e3, Currency: "USD"}}})
	assert.Equal(t, dear.Mistakes(), dear.Mend.NotWorth, "at 1,000 USD a second")
	assert.Empty(t, dear.Mend.Plan.Stops)

	far := geo.LonLat{Lon: j.Fields[0].Frame.Centre.Lon + 2, Lat: j.Fields[0].Frame.Centre.Lat}
	_, err := assess.Do(j, j.Fields[0], assess.Options{Mend: &assess.MendQuestion{Machine: -1, Start: &far}})
	assert.True(t, errors.Is(err, assess.ErrFar))
}

// Products on ground of their own are asked about only where somebody wants them.
func TestWastedOnOwnGround(t *testing.T) {
	j := loaded(t)
	rate := 0.01
	j.Products = []agronomy.Product{{Name: "seed", MassRate: &rate}, {Name: "ammonia", MassRate: &rate, Working: "ammonia on"}}
	j.Own = []agronomy.Own{{Product: 1, Machines: j.Machines}}
	a := do(t, j, assess.Options{WhatIf: &assess.WhatIfOptions{Runs: 3}})
	require.Len(t, a.WhatIf.Wasted, 2)
	assert.NotNil(t, a.WhatIf.Wasted[0])
	assert.Nil(t, a.WhatIf.Wasted[1])
	a = do(t, j, assess.Options{WhatIf: &assess.WhatIfOptions{Runs: 3, OwnGround: true}})
	require.NotNil(t, a.WhatIf.Wasted[1])
	const snapped = 0.01 // m²: the skips that are watched are laid into the field's cut only
	assert.InDelta(t, a.WhatIf.Wasted[0].Middle, a.WhatIf.Wasted[1].Middle, snapped, "its ground is the same here")
	assert.NotNil(t, a.WastedOnField(0))
	assert.Nil(t, a.WastedOnField(1))
}

// What a task set says stands beside what was measured, one product's amounts too.
func TestStated(t *testing.T) {
	j := loaded(t)
	assert.Empty(t, do(t, j, assess.Options{}).Stated)
	none := math.NaN()
	j.Stated = &job.Stated{Field: 20_000, Sums: taskdata.Sums{Area: 15_000, Distance: none, Time: 0, Mass: 500, Volume: 2}}
	a := do(t, j, assess.Options{})
	field, swept := a.Map.Totals.Field.SquareMetres(), a.Map.Totals.Swept.SquareMetres()
	want := []assess.Stated{{Kind: assess.StatedField, Set: 20_000, Measured: &field}, {Kind: assess.StatedSwept, Set: 15_000, Measured: &swept},
		{Kind: assess.StatedMass, Set: 500}, {Kind: assess.StatedVolume, Set: 2000}}
	if len(a.Accounts) == 1 {
		want[2].Measured = a.Accounts[0].Applied.Mass
	}
	assert.Equal(t, want, a.Stated)
	off, known := a.Stated[0].Off()
	assert.True(t, known)
	assert.InDelta(t, field/20_000-1, off, 1e-12)
	_, known = a.Stated[3].Off()
	assert.False(t, known)
	s := a.Summarize()
	require.Len(t, s.Stated, 4)
	assert.InDelta(t, field-20_000, *s.Stated[0].Difference, 1e-5)
	assert.Nil(t, s.Stated[3].Measured)
}
