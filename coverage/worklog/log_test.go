package worklog

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/gnsslog"
	"lapwing/geo/plane"
)

// csv writes a log with a header and one fix a row, a second apart.
func csv(header string, rows ...string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "time,lat,lon%s\n", header)
	for i, row := range rows {
		fmt.Fprintf(&b, "2026-03-02T09:00:%02dZ,%.6f,10.001%s\n", i, 54.001+float64(i)*1e-5, row)
	}
	return b.String()
}

// logOf is a log as a CSV file has it.
func logOf(t *testing.T, text string) Log {
	t.Helper()
	log, err := gnsslog.ReadCSV("day.csv", gnsslog.TextOf([]byte(text)), gnsslog.Options{Keep: Understood})
	require.NoError(t, err)
	return Of("", log)
}

// trackOf makes a track of a log as that of a 12 m drill with four sections.
func trackOf(t *testing.T, text string) (machine.Track, []field.Warning) {
	t.Helper()
	const wide = 12 * plane.Metre
	track, warned, err := logOf(t, text).Track(machine.Implement{Width: wide, Sections: machine.EqualSections(wide, 4)}, nil)
	require.NoError(t, err)
	return track, warned
}

func workingOfFixes(tr machine.Track) (out []bool) {
	for _, f := range tr.Fixes {
		out = append(out, f.Working)
	}
	return out
}

func states(tr machine.Track) (out []machine.State) {
	for _, f := range tr.Fixes {
		out = append(out, tr.States[f.State])
	}
	return out
}

func TestWorkingColumn(t *testing.T) {
	for _, header := range []string{",working", ",Work", ",STATE", ",status", ",Implement Status", ",work_state"} {
		tr, warned := trackOf(t, csv(header, ",1", ",0", ",true", ",False", ",ON", ",off", ",yes", ",No"))
		assert.True(t, tr.WorkingLogged, header)
		assert.Equal(t, []bool{true, false, true, false, true, false, true, false}, workingOfFixes(tr), header)
		assert.Empty(t, warned)
	}
	tr, _ := trackOf(t, csv(",state,working", ",0,1", ",0,1"))
	assert.Equal(t, []bool{true, true}, workingOfFixes(tr), "the plainer name is the one used")

	tr, warned := trackOf(t, csv(",working", ",1", ",", ","))
	assert.Equal(t, []bool{true, false, false}, workingOfFixes(tr))
	assert.Equal(t, []field.Warning{{Line: 3, Count: 2, Text: `column "working": empty; taken as not working`}}, warned)

	tr, _ = trackOf(t, csv("", "", ""))
	assert.False(t, tr.WorkingLogged)

	tr, warned = trackOf(t, csv(",working,sections", ",,", ",,"))
	assert.False(t, tr.WorkingLogged, "columns without a value say nothing")
	assert.Empty(t, warned)
}

// A log may know of sections that nobody wrote into the job.
func TestSectionsOfAnUndividedBar(t *testing.T) {
	const wide = 3 * plane.Metre
	tr, warned, err := logOf(t, csv(",sections", ",111", ",101", ",000")).Track(machine.Implement{Width: wide, Sections: machine.EqualSections(wide, 1)}, nil)
	require.NoError(t, err)
	assert.Equal(t, []field.Warning{{Text: `column "sections": has 3 sections and the implement names none; taken as equally wide`}}, warned)
	third := machine.EqualSections(wide, 3)
	assert.Equal(t, []machine.State{nil, {third[0], third[2]}, {}}, states(tr))
}

// Sections of 3 m, left to right:  |-6 0|-3 1|0 2|3 3|6
func TestSectionsColumn(t *testing.T) {
	m := plane.Metre
	tr, warned := trackOf(t, csv(",sections", ",1111", ",0111", ",1001", ",0110", ",0000", ",1001", ","))
	assert.True(t, tr.WorkingLogged)
	assert.Equal(t, []bool{true, true, true, true, false, true, true}, workingOfFixes(tr))
	assert.Equal(t, []machine.State{
		nil,
		{{Left: -3 * m, Right: 6 * m}},
		{{Left: -6 * m, Right: -3 * m}, {Left: 3 * m, Right: 6 * m}},
		{{Left: -3 * m, Right: 3 * m}},
		{},
		{{Left: -6 * m, Right: -3 * m}, {Left: 3 * m, Right: 6 * m}},
		nil,
	}, states(tr))
	assert.Len(t, tr.States, 5, "each state once")
	assert.Equal(t, []field.Warning{{Line: 8, Count: 1, Text: `column "sections": empty; taken as the whole bar`}}, warned)
}

func TestSwathWidthColumn(t *testing.T) {
	half := []machine.State{{{Left: -3 * plane.Metre, Right: 3 * plane.Metre}}}[0]
	for header, rows := range map[string][4]string{
		",swath_width_m":  {",12", ",6", ",0", ",13"},
		",Swath(m)":       {",12.0", ",6.0", ",0.0", ",13.0"},
		",swath_width_cm": {",1200", ",600", ",0", ",1300"},
		// 12 m, 6 m and 13 m in inches and feet
		",swath_width_in":  {",472.4", ",236.2204724", ",0", ",511.8"},
		",Swath Width(ft)": {",39.4", ",19.68503937", ",0", ",42.7"},
	} {
		tr, warned := trackOf(t, csv(header, rows[:]...))
		assert.Equal(t, []bool{true, true, false, true}, workingOfFixes(tr), header)
		assert.Equal(t, []machine.State{nil, half, {}, nil}, states(tr), header)
		assert.True(t, tr.WorkingLogged, "nothing wide means not working")
		require.Len(t, warned, 2, header)
		assert.Equal(t, 1, warned[0].Count)
		assert.Contains(t, warned[0].Text, "narrower than the implement")
		assert.Equal(t, 5, warned[1].Line)
		assert.Contains(t, warned[1].Text, "wider than the implement's 12.00 m, which is used")
	}
	tr, warned := trackOf(t, csv(",swath_width", ",12", ",12"))
	assert.False(t, tr.WorkingLogged, "it never says that nothing works")
	require.Len(t, warned, 1)
	assert.Equal(t, `column "swath_width": names no unit; 12 is taken as m, judged by the size of the bar`, warned[0].Text)

	_, warned = trackOf(t, csv(",sections,swath_width_m", ",0011,6", ",0011,6"))
	require.Len(t, warned, 1)
	assert.Equal(t, `column "swath_width_m": not used, since the sections say which part of the bar works`, warned[0].Text)
}

// A break of the log is not lost with the fix that it stands at.
func TestBreaksOfPickedFixes(t *testing.T) {
	log := &gnsslog.Log{Fixes: make([]geo.Fix, 5), Lines: []int32{1, 2, 3, 4, 5}, Breaks: []int{0, 2, 4}}
	bar := machine.Implement{Width: plane.Metre}
	all, _, err := Of("day.csv", log).Track(bar, nil)
	require.NoError(t, err)
	assert.Equal(t, []int{2, 4}, all.Breaks)
	odd, _, err := Of("day.csv", log).Track(bar, func(i int) bool { return i%2 == 1 }) // fixes 1 and 3, with a break at 2 between
	require.NoError(t, err)
	assert.Equal(t, []int{1}, odd.Breaks)
}

func TestWorkingExpressions(t *testing.T) {
	north := csv("", "", "", "", "") // 1e-5 degrees a second: 1.1 m/s north
	for expression, want := range map[string][]bool{
		"speed > 1 m/s":                         {true, true, true, true},
		"speed > 1.2 m/s":                       {false, false, false, false},
		"speed>=1 m/s and heading < 10 deg":     {true, true, true, true},
		"heading > 10 deg":                      {false, false, false, false},
		"time <= 09:00:01":                      {true, true, false, false},
		"time > 2026-03-02T09:00:01Z":           {false, false, true, true},
		"time > 2026-03-02 09:00":               {false, true, true, true},
		"time > 09:00:00 and time < 09:00:02":   {false, true, false, false},
		"SPEED > 2 mph AND TIME < 10:00":        {true, true, true, true},
		"speed < 5 mph and speed > 3.6 km/h":    {true, true, true, true},
		"speed > 1 m/s and time >= 09:00:03":    {false, false, false, true},
		"heading >= 0 deg and heading <= 1 deg": {true, true, true, true},
	} {
		rule, err := ReadRule(expression, time.UTC)
		require.NoError(t, err, expression)
		tr, _ := trackOf(t, north)
		require.NoError(t, rule.Apply(&tr), expression)
		assert.True(t, tr.WorkingLogged)
		assert.Equal(t, want, workingOfFixes(tr), expression)
	}
}

func BenchmarkTrack(b *testing.B) {
	const fixes = 200_000
	log := &gnsslog.Log{Fixes: make([]geo.Fix, fixes), Lines: make([]int32, fixes), Columns: []gnsslog.Column{
		{Name: "working", Distinct: []string{"0", "1"}, Codes: make([]uint32, fixes)},
		{Name: "sections", Distinct: []string{"1111", "0111", "1001"}, Codes: make([]uint32, fixes)},
	}}
	for i := range fixes {
		log.Columns[0].Codes[i], log.Columns[1].Codes[i] = uint32(i/7%2), uint32(i/3%3)
	}
	bar := machine.Implement{Width: 12 * plane.Metre, Sections: machine.EqualSections(12*plane.Metre, 4)}
	for b.Loop() {
		if track, _, err := Of("day.csv", log).Track(bar, nil); err != nil || len(track.States) != 3 {
			b.Fatal(err)
		}
	}
}
