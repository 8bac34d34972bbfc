package rain

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/coverage/field"
	"lapwing/coverage/figure"
)

// assessed is a field of 800 m by 400 m, so many metres east, that machines worked for
// an hour each from a time on, as its summary.json tells it.
func assessed(t *testing.T, name string, east float64, from string, machines ...string) (Past, *assess.Summary) {
	begin, err := time.Parse("2006-01-02 15:04", from)
	require.NoError(t, err)
	s := &assess.Summary{Field: assess.FieldSummary{Name: name}}
	for _, m := range machines {
		s.Machines = append(s.Machines, assess.MachineSummary{Name: m, Width: 10})
		s.Passes = append(s.Passes, assess.PassSummary{Machine: m, Start: begin.Format(time.RFC3339), End: begin.Add(time.Hour).Format(time.RFC3339), Swept: figure.SquareMetres(areaOf(50_000))})
		s.Times = append(s.Times, assess.TimeSummary{Machine: m, New: figure.SquareMetres(areaOf(40_000)), Working: 3000, Turning: 400, Standing: 100, Stopped: 80, Travelling: 20})
	}
	return Past{Summary: s, Ground: func() (field.Field, error) { return rectangle(t, name, 800, 400, east), nil }}, s
}

func TestCrewOfTheLastDay(t *testing.T) {
	old, _ := assessed(t, "old", 0, "2026-04-01 08:00", "drill")
	first, tank := assessed(t, "first", 1000, "2026-05-03 07:30", "drill", "sprayer")
	last, left := assessed(t, "last", 2000, "2026-05-04 19:00", "drill", "spare")
	other, _ := assessed(t, "other", 3000, "2026-05-04 09:00", "spare")
	tank.Products = []assess.ProductSummary{{Name: "UAN", Tanks: []assess.TankSummary{{Machine: "drill", Filled: 1000, Ground: 90_000, Fills: []assess.FillSummary{{Left: 100}, {Left: 500}}}}}}
	left.Products = []assess.ProductSummary{{Name: "UAN", Tanks: []assess.TankSummary{{Machine: "drill", Filled: 1000, Ground: 80_000, Fills: []assess.FillSummary{{Left: 250}}}}}}
	left.Ground.Skip, left.Ground.Remainder, left.Ground.Unlogged = figure.SquareMetres(areaOf(30_000)), figure.SquareMetres(areaOf(20_000)), figure.SquareMetres(areaOf(2000))
	tank.Ground.Skip, tank.Ground.Remainder = left.Ground.Skip, left.Ground.Remainder

	s, err := Read([]Past{old, first, last, other})
	require.NoError(t, err)
	assert.Equal(t, 2, s.Last)
	assert.Equal(t, "2026-05-04T20:00:00Z", s.Now.Time().Format(time.RFC3339))
	c, err := s.Crew(nil)
	require.NoError(t, err)
	assert.Equal(t, []string{"drill", "spare"}, c.Machines, "the sprayer worked the day before")
	var names []string
	for _, w := range c.Worked {
		names = append(names, w.Name)
		for _, by := range w.By {
			assert.NotEqual(t, "sprayer", by.Machine)
			assert.Equal(t, time.Hour, by.Total())
		}
	}
	assert.Equal(t, []string{"first", "last", "other"}, names, "April is too long ago")
	require.Len(t, c.Tanks, 1, "as the latest field has it")
	assert.InDelta(t, 80_000, c.Tanks[0].Ground.SquareMetres(), 1e-6)
	assert.InDelta(t, 20_000, c.Tanks[0].Left.SquareMetres(), 1e-6)
	require.Len(t, c.Begun, 1, "the field left the day before yesterday's night is not gone back to")
	assert.Equal(t, "last", c.Begun[0].Name)
	assert.InDelta(t, 32_000, c.Begun[0].Left.Area.SquareMetres(), 1e-6)
	assert.InDelta(t, 40, c.Begun[0].Left.Breadth.Metres(), 0.1, "a tenth of the field")

	c, err = s.Crew([]string{"sprayer"})
	require.NoError(t, err)
	assert.Equal(t, []string{"sprayer"}, c.Machines)
	require.Len(t, c.Worked, 1)
	_, err = s.Crew([]string{"plough"})
	assert.ErrorContains(t, err, `found "plough", want one of `)

	day, known := s.Days(time.UTC)
	assert.True(t, known)
	assert.Equal(t, Day{7*time.Hour + 30*time.Minute, 20 * time.Hour}, day)
	day, _ = s.Days(time.FixedZone("", 5*3600))
	assert.Equal(t, Day{12*time.Hour + 30*time.Minute, 25 * time.Hour}, day, "after midnight, as that clock has it")
	day, _ = s.Days(time.FixedZone("", 8*3600+1800))
	assert.Equal(t, Day{4 * time.Hour, 28 * time.Hour}, day, "through the night")

	same, worked := rectangle(t, "same", 790, 400, 1003), rectangle(t, "next", 800, 400, 5000)
	name, is := s.Of(&same)
	assert.True(t, is)
	assert.Equal(t, "first", name)
	_, is = s.Of(&worked)
	assert.False(t, is)
	larger := rectangle(t, "larger", 1600, 400, 1000)
	_, is = s.Of(&larger)
	assert.False(t, is, "a field twice as large is another")
}

func TestReadWithoutTimes(t *testing.T) {
	p, s := assessed(t, "home", 0, "2026-05-03 08:00", "drill")
	s.Passes[0].Start, s.Passes[0].End = "", ""
	_, err := Read([]Past{p})
	assert.ErrorIs(t, err, ErrNoTimes)
	_, err = Read(nil)
	assert.ErrorIs(t, err, ErrNoTimes)

	p, s = assessed(t, "home", 0, "2026-05-03 08:00", "drill")
	s.Times = nil
	season, err := Read([]Past{p})
	require.NoError(t, err)
	_, err = season.Crew(nil)
	assert.ErrorIs(t, err, ErrNoTimes)

	broken := errors.New("no boundary")
	p.Ground = func() (field.Field, error) { return field.Field{}, broken }
	_, err = Read([]Past{p})
	assert.ErrorIs(t, err, broken)
}
