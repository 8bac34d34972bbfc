package booktest

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/coverage/book"
	"lapwing/coverage/cause"
	"lapwing/coverage/figure"
)

// years is the book of a crowd as one that answers questions over years.
func (c *Crowd) years(t testing.TB) book.Years {
	t.Helper()
	y, is := c.Book.(book.Years)
	require.True(t, is)
	return y
}

// putParts puts parts as one job of a name.
func (c *Crowd) putParts(t testing.TB, person, farm int64, name string, parts ...*book.Part) {
	t.Helper()
	job := sought(name)
	require.NoError(t, c.Book.AddFile(at(t, person, farm), job.Files[0], reading(bytesOf(name))))
	require.NoError(t, c.Book.Put(at(t, person, farm), place(farm, name), job, parts))
}

const squareMetre = 0.01 // m²: what a figure of an area is rounded by

// wasted: each cause has its nitrogen, all causes together have what the assessments
// have, and an acre counts once a year.
func wasted(t *testing.T, c *Crowd) {
	c.put(t, c.Ada, c.Aspen, "again", work{"North", home(0, 0), 2026, "drill A", "Ada", ""}) // the same ground, a second time
	c.put(t, c.Ada, c.Aspen, "before", work{"North", home(0, 0), 2025, "drill A", "Ada", ""})
	list, err := c.years(t).Wasted(as(t, c.Ada))
	require.NoError(t, err)
	p := north.part(t)
	want, all := map[cause.OverlapCause]float64{}, 0.0
	for i := range p.Products {
		w := &p.Products[i].Waste
		if w.Total.N == nil {
			continue
		}
		all += float64(*w.Total.N)
		for _, cause := range w.ByCause {
			want[cause.Cause] += float64(*cause.N)
		}
	}
	require.Positive(t, all)
	require.Greater(t, len(want), 1)
	for year, times := range map[int]float64{2025: 1, 2026: 2} {
		sum := 0.0
		for _, w := range list {
			if w.Year != year {
				continue
			}
			assert.Equal(t, "Aspen", w.Farm)
			assert.Equal(t, 1, w.Fields, "one field, however often it was worked")
			assert.InDelta(t, p.Field.Area.Float(), w.Area, squareMetre)
			if n, is := want[w.Cause]; is {
				assert.InDelta(t, times*n, w.N, 1e-6, "%d %s", year, w.Cause)
			}
			sum += w.N
		}
		assert.InDelta(t, times*all, sum, 1e-6, "the causes make the whole of %d", year)
	}
	assert.Equal(t, 2026, list[0].Year, "the last year first")
	assert.GreaterOrEqual(t, list[0].N, list[1].N, "the most first")
	for _, nobody := range []context.Context{as(t, c.Cy), t.Context(), at(t, c.Ada, c.Birch)} {
		list, err := c.years(t).Wasted(nobody)
		require.NoError(t, err)
		assert.Empty(t, list)
	}
	list, err = c.years(t).Wasted(as(t, c.Max))
	require.NoError(t, err)
	farms := map[string]bool{}
	for _, w := range list {
		farms[w.Farm] = true
	}
	assert.Equal(t, map[string]bool{"Aspen": true, "Birch": true}, farms)
}

// returns: ground that is skipped in two years comes back with as much as is shared; that of
// the same year, of another field and of another farm does not.
func returns(t *testing.T, c *Crowd) {
	y := c.years(t)
	list, more, err := y.Returns(as(t, c.Max), 100)
	require.NoError(t, err)
	assert.Empty(t, list)
	assert.False(t, more)
	c.put(t, c.Ada, c.Aspen, "again", work{"North", home(0, 0), 2026, "drill A", "Ada", ""})
	c.put(t, c.Bo, c.Birch, "theirs", work{"North", home(0, 0), 2025, "drill A", "Bo", ""})
	list, _, err = y.Returns(as(t, c.Max), 100)
	require.NoError(t, err)
	assert.Empty(t, list)

	// A year before, and shifted by a metre to the east.
	c.put(t, c.Ada, c.Aspen, "before", work{"North", home(0.001, 0), 2025, "drill A", "Ada", ""})
	list, more, err = y.Returns(at(t, c.Ada, c.Aspen), 100)
	require.NoError(t, err)
	assert.False(t, more)
	p := north.part(t)
	var skipped, back float64
	mistakes := 0
	for i := range p.Skips {
		if s := &p.Skips[i]; s.Cause != cause.Unworked && !s.Outlined {
			skipped += s.Area.Float()
			mistakes++
		}
	}
	require.NotEmpty(t, list)
	require.LessOrEqual(t, len(list), 2*mistakes) // two jobs of 2026 came after it
	for i, r := range list {
		assert.Equal(t, []any{"Aspen", "North", 2025, 2026}, []any{r.Farm, r.Field, r.Earlier, r.Later})
		if i > 0 {
			assert.GreaterOrEqual(t, list[i-1].Area, r.Area)
		}
		assert.InDelta(t, home(0, 0).Lon, r.At.Lon, 0.01)
		assert.InDelta(t, home(0, 0).Lat, r.At.Lat, 0.01)
		back += r.Area
	}
	assert.Less(t, back, 2*skipped, "a metre of each is not shared")
	assert.Greater(t, back, skipped, "and most is")
	first, more, err := y.Returns(as(t, c.Ada), 1)
	require.NoError(t, err)
	assert.True(t, more)
	assert.Equal(t, list[:1], first)
	list, _, err = y.Returns(as(t, c.Bo), 100)
	require.NoError(t, err)
	assert.Empty(t, list)
}

// returnsWhole: a field that was skipped alike in another year has all of its skips back, and
// once for that year, however often it was worked then.
func returnsWhole(t *testing.T, c *Crowd) {
	field := func(year int) work { return work{"Alike", home(30, 0), year, "drill A", "Bo", ""} }
	for i, year := range []int{2022, 2022, 2023} {
		c.put(t, c.Bo, c.Birch, fmt.Sprint("alike ", i), field(year))
	}
	list, more, err := c.years(t).Returns(as(t, c.Bo), 100)
	require.NoError(t, err)
	assert.False(t, more)
	p := field(2023).part(t)
	want, got := map[int]float64{}, map[int]float64{}
	for i := range p.Skips {
		if s := &p.Skips[i]; s.Cause != cause.Unworked && !s.Outlined {
			want[s.ID] = s.Area.Float()
		}
	}
	for _, r := range list {
		assert.Equal(t, []any{"Birch", "Alike", 2022, 2023, sought("alike 2").Key, 0}, []any{r.Farm, r.Field, r.Earlier, r.Later, r.Job, r.Part})
		got[r.Skip] += r.Area
	}
	require.Len(t, got, len(want))
	for skip, area := range want {
		assert.InDelta(t, area, got[skip], 0.1, "skip %d", skip)
	}
}

// lapping is a part whose passes keep a lap on each side, of so many metres along.
func lapping(t testing.TB, w work, left, right, leftAlong, rightAlong float64) *book.Part {
	t.Helper()
	p := w.part(t)
	for i := range p.Passes {
		mean := (left*leftAlong + right*rightAlong) / (leftAlong + rightAlong)
		p.Passes[i].Lap = assess.LapKeptSummary{
			Aimed: 0.1, Along: figure.Metres(leftAlong + rightAlong), Mean: figure.Metres(mean),
			Left: assess.LapSideSummary{Along: figure.Metres(leftAlong), Mean: figure.Metres(left)}, Right: assess.LapSideSummary{Along: figure.Metres(rightAlong), Mean: figure.Metres(right)},
		}
	}
	return p
}

// widths: a machine that laps beyond its aim, or otherwise left than right, on field after
// field is told from one that does so once; a side with too little of the way tells of no
// hang.
func widths(t *testing.T, c *Crowd) {
	field := func(i int, machine string) work { return work{"F", home(3*float64(i), 20), 2024, machine, "Ada", ""} }
	var parts []*book.Part
	for i := range 3 {
		parts = append(parts, lapping(t, field(i, "wide"), 0.5, 0.3, 200, 100))
	}
	parts = append(parts, lapping(t, field(3, "wide"), 0.1, 0.1, 100, 100), lapping(t, field(4, "aside"), -0.3, 0.5, 100, 5))
	c.putParts(t, c.Ada, c.Aspen, "laps", parts...)
	list, err := c.years(t).Widths(as(t, c.Ada))
	require.NoError(t, err)
	var of []book.MachineWidth
	for _, m := range list {
		if m.Year == 2024 {
			of = append(of, m)
		}
	}
	require.Len(t, of, 2)
	aside, wide := of[0], of[1]
	passes := float64(len(parts[0].Passes))
	assert.Equal(t, []any{"Aspen", "wide", 4, 4, 3, 0, 3, 0}, []any{wide.Farm, wide.Machine, wide.Fields, wide.Sides, wide.Wide, wide.Narrow, wide.HangsLeft, wide.HangsRight})
	assert.InDelta(t, passes*1100, wide.Along, 1e-6)
	assert.InDelta(t, 0.1, wide.Aimed, 1e-9)
	assert.InDelta(t, (600*0.5+100*0.1)/700, wide.Left, 1e-9)
	assert.InDelta(t, (300*0.3+100*0.1)/400, wide.Right, 1e-9)
	assert.InDelta(t, (600*0.5+300*0.3+200*0.1)/1100, wide.Kept, 1e-9)
	assert.InDelta(t, 900*0.1/1100, wide.Hang, 1e-9)
	assert.InDelta(t, 40.0, wide.Width, 1e-9)
	assert.Equal(t, []int{1, 0, 0, 1, 0, 0}, []int{aside.Fields, aside.Sides, aside.Wide, aside.Narrow, aside.HangsLeft, aside.HangsRight})
	assert.Zero(t, aside.Hang)
	assert.False(t, math.IsNaN(aside.Right))
	list, err = c.years(t).Widths(as(t, c.Bo))
	require.NoError(t, err)
	for _, m := range list {
		assert.Equal(t, "Birch", m.Farm)
	}
}

// hours: who drove has what their machines did, once for each field.
func hours(t *testing.T, c *Crowd) {
	p := work{"Two", home(8, 8), 2025, "drill A", "", ""}.part(t)
	p.Machines[0].Name, p.Machines[0].Operator = "drill A", "Ada"
	p.Machines[1].Name, p.Machines[1].Operator = "drill B", ""
	want := map[string][3]float64{}
	for i := range p.Passes {
		p.Passes[i].Machine = p.Machines[i%2].Name
		who := want[p.Machines[i%2].Operator]
		want[p.Machines[i%2].Operator] = [3]float64{who[0] + p.Passes[i].Swept.Float(), who[1] + p.Passes[i].New.Float(), 0}
	}
	for i := range p.Times {
		p.Times[i].Machine = p.Machines[i].Name
		who := want[p.Machines[i].Operator]
		f := &p.Times[i]
		who[2] += float64(f.Working + f.Turning + f.Standing + f.Stopped + f.Travelling)
		want[p.Machines[i].Operator] = who
	}
	c.putParts(t, c.Ada, c.Aspen, "two", p)
	list, err := c.years(t).Hours(as(t, c.Ada))
	require.NoError(t, err)
	got := map[string][3]float64{}
	for _, o := range list {
		if o.Year == 2025 {
			assert.Equal(t, []any{"Aspen", 1, 1}, []any{o.Farm, o.Fields, o.Clocked})
			assert.LessOrEqual(t, o.Working, o.InField)
			assert.InDelta(t, o.New, o.ClockedNew, squareMetre)
			got[o.Operator] = [3]float64{o.Swept, o.New, o.InField}
		}
	}
	require.Len(t, got, 2)
	for who, of := range want {
		for i := range of {
			assert.InDelta(t, of[i], got[who][i], 0.1, "%q", who)
			assert.Positive(t, of[i])
		}
	}
}

// sections: what sections would have saved is the ground and the product of the causes that
// they end, and no more than all that was worked twice.
func sections(t *testing.T, c *Crowd) {
	p := work{"Rows", home(8, 8), 2025, "drill A", "Ada", ""}.part(t)
	causes := []cause.OverlapCause{cause.PointRows, cause.OntoHeadland, cause.LapBetweenPasses, cause.Turn}
	ground := map[cause.OverlapCause]float64{}
	require.GreaterOrEqual(t, len(p.Overlaps), len(causes))
	for i := range p.Overlaps {
		o := &p.Overlaps[i]
		o.Cause = causes[i%len(causes)]
		ground[o.Cause] += o.Area.Float() * float64(o.Depth-1)
	}
	var n, cost float64
	currency := ""
	for i := range p.Products {
		w := &p.Products[i].Waste
		require.LessOrEqual(t, len(w.ByCause), len(causes), "a cause has one row")
		for k := range w.ByCause {
			w.ByCause[k].Cause = causes[k]
			if k >= 2 {
				continue
			}
			if w.ByCause[k].N != nil {
				n += float64(*w.ByCause[k].N)
			}
			if w.ByCause[k].Cost != nil {
				cost, currency = cost+float64(*w.ByCause[k].Cost), p.Products[i].Currency
			}
		}
	}
	c.putParts(t, c.Ada, c.Aspen, "rows", p)
	list, err := c.years(t).Sections(as(t, c.Ada))
	require.NoError(t, err)
	require.Len(t, list, 2)
	s := list[1]
	assert.Equal(t, []any{"Aspen", 2025, 1}, []any{s.Farm, s.Year, s.Fields})
	assert.InDelta(t, ground[cause.PointRows], s.PointRows, squareMetre)
	assert.InDelta(t, ground[cause.OntoHeadland], s.Headland, squareMetre)
	assert.InDelta(t, p.Ground.Excess.Float(), s.Excess, squareMetre)
	assert.InDelta(t, n, s.N, 1e-6)
	assert.InDelta(t, cost, s.Cost, 1e-6)
	assert.Equal(t, currency, s.Currency)
	assert.Less(t, s.PointRows+s.Headland, s.Excess)
}
