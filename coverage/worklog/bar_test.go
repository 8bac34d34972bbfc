package worklog

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/machine"
	"lapwing/geo/plane"
)

// drill is a bar of 12 m with so many sections.
func drill(sections int) machine.Implement {
	const wide = 12 * plane.Metre
	return machine.Implement{Width: wide, Sections: machine.EqualSections(wide, sections)}
}

// A bar is as wide as the log has it, in the log's unit, each machine's by its own
// fixes.
func TestBarOfAMachine(t *testing.T) {
	rows := func(values ...string) (out []string) {
		for _, v := range values {
			var n int
			var row string
			_, err := fmt.Sscanf(v, "%dx%s", &n, &row)
			require.NoError(t, err)
			for range n {
				out = append(out, ","+row)
			}
		}
		return out
	}
	for _, c := range []struct {
		name, header string
		rows         []string
		machine      string
		want         Bar
	}{
		{"metres stay metres", ",swath_width_m", rows("50x13.2", "5x6.6", "5x0"), "",
			Bar{Width: Length{13.2, "13.2 m"}, From: "swath_width_m"}},
		{"feet stay feet, to the last digit", ",swath_width_ft", rows("50x43.307"), "",
			Bar{Width: Length{13.1999736, "43.307 ft"}, From: "swath_width_ft"}},
		{"the slip of one fix in 200 is none of the bar", ",swath_width_ft", rows("199x40", "1x400"), "",
			Bar{Width: Length{12.192, "40 ft"}, From: "swath_width_ft"}},
		{"two fixes in a hundred are", ",swath_width_ft", rows("98x40", "2x60"), "",
			Bar{Width: Length{18.288, "60 ft"}, From: "swath_width_ft"}},
		{"no unit", ",swath", rows("9x360"), "",
			Bar{Width: Length{9.144, "360 in"}, From: "swath", Judged: true}},
		{"rows", ",swath_width_in", rows("90x360", "1x330", "1x240", "1x120", "1x60"), "",
			Bar{Width: Length{9.144, "360 in"}, From: "swath_width_in", Rows: 12, Spacing: Length{0.762, "30 in"}}},
		{"steps too wide for rows", ",swath_width_in", rows("90x480", "1x420", "1x360", "1x240", "1x60"), "",
			Bar{Width: Length{12.192, "480 in"}, From: "swath_width_in"}},
		{"a width that is no multiple of the step", ",swath_width_in", rows("90x360", "1x330", "1x245", "1x120", "1x60"), "",
			Bar{Width: Length{9.144, "360 in"}, From: "swath_width_in"}},
		{"of two machines, the one", ",machine,swath_width_m,sections", rows("50xa,12,1111", "50xb,6.4,11"), "b",
			Bar{Width: Length{6.4, "6.4 m"}, From: "swath_width_m", Sections: 2}},
		{"nothing told", ",working", rows("9x1"), "", Bar{}},
		{"a width that no bar has", ",swath_width_m", rows("9x0.1"), "", Bar{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var b strings.Builder
			b.WriteString("time,lat,lon" + c.header + "\n")
			for i, row := range c.rows {
				fmt.Fprintf(&b, "2026-03-02T09:%02d:%02dZ,%.6f,10.001%s\n", i/60, i%60, 54.001+float64(i)*1e-5, row)
			}
			l := logOf(t, b.String())
			var pick func(int) bool
			if c.machine != "" {
				var err error
				pick, err = l.Only(c.machine)
				require.NoError(t, err)
			}
			got, err := l.BarOf(pick)
			require.NoError(t, err)
			assert.InDelta(t, c.want.Width.Metres, got.Width.Metres, 1e-9)
			assert.InDelta(t, c.want.Spacing.Metres, got.Spacing.Metres, 1e-9)
			got.Width.Metres, got.Spacing.Metres = c.want.Width.Metres, c.want.Spacing.Metres
			assert.Equal(t, c.want, got)
		})
	}
	_, err := logOf(t, csv(",swath_width_m", ",wide")).BarOf(nil)
	assert.ErrorContains(t, err, `column "swath_width_m"`)
}

// Of records by section the widths are summed; without widths, the records' places
// tell.
func TestBarOfSections(t *testing.T) {
	l := logOf(t, bySection(90, 1.5, ",swath_width_ft", falling, func(int) string { return ",5.9998" }))
	got, err := l.BarOf(nil)
	require.NoError(t, err)
	assert.Equal(t, "23.9992 ft", got.Width.Text)
	assert.InDelta(t, 23.9992*0.3048, got.Width.Metres, 1e-9)
	assert.Equal(t, 4, got.Sections)
	require.Len(t, got.Parts, 4)
	assert.Equal(t, "5.9998 ft", got.Parts[0].Text)

	l = logOf(t, bySection(90, 1.5, "", falling, func(int) string { return "" }))
	got, err = l.BarOf(nil)
	require.NoError(t, err)
	assert.True(t, got.Placed)
	assert.InDelta(t, 6, got.Width.Metres, 0.05)
}

// What another machine of the file logs is no doubt about this one, and its
// sections are none of this one's.
func TestTrackOfOneMachine(t *testing.T) {
	l := logOf(t, csv(",machine,working,sections", ",a,1,1111", ",b,1,11", ",a,1,0111", ",b,1,"))
	bar, _ := l.BarOf(nil)
	assert.Equal(t, 4, bar.Sections)
	for name, sections := range map[string]int{"a": 4, "b": 2} {
		pick, err := l.Only(name)
		require.NoError(t, err)
		own, err := l.BarOf(pick)
		require.NoError(t, err)
		assert.Equal(t, sections, own.Sections, name)
		track, warnings, err := l.Track(drill(sections), pick)
		require.NoError(t, err, name)
		assert.Len(t, track.Fixes, 2)
		for _, w := range warnings {
			assert.Equal(t, "b", name, w.Text)
			assert.Equal(t, 1, w.Count)
		}
	}
}
