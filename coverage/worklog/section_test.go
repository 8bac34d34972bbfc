package worklog

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/machine"
	"lapwing/geo"
)

// bySection writes a log of a 12 m bar of four sections, 60 m along a heading
// at 2 m/s, with a record for each section that line says is open at that
// second. Sections are called 31 to 34 from left to right. apart is the
// distance of their records; at 0 all have the place of the middle.
func bySection(heading, apart float64, header string, line func(second int) string, more func(section int) string) string {
	var b strings.Builder
	b.WriteString("time,lat,lon,section_id" + header + "\n")
	frame := geo.NewFrame(geo.LonLat{Lon: 10, Lat: 54})
	sin, cos := math.Sincos(heading * math.Pi / 180)
	for s := range 31 {
		for k, bit := range line(s) {
			if bit == '0' {
				continue
			}
			right := (float64(k) - 1.5) * apart
			at := frame.FromMetres(2*float64(s)*sin+right*cos, 2*float64(s)*cos-right*sin)
			fmt.Fprintf(&b, "2026-03-02T09:00:%02dZ,%.9f,%.9f,%d%s\n", s, at.Lat, at.Lon, 31+k, more(k))
		}
	}
	return b.String()
}

func nothing(int) string { return "" }

// falling returns the bar that is at work at a second: the left half falls out for
// ten seconds, then all but the rightmost section.
func falling(second int) string {
	switch {
	case second >= 20:
		return "0001"
	case second >= 10:
		return "0011"
	}
	return "1111"
}

// Records of sections are one fix of the bar's middle, wherever the sections
// that are left are.
func TestRecordsBySection(t *testing.T) {
	const heading = 70
	frame := geo.NewFrame(geo.LonLat{Lon: 10, Lat: 54})
	for name, log := range map[string]string{
		"by place": bySection(heading, 3, ",heading", falling, func(int) string { return ",70" }),
		"the names run the other way": strings.NewReplacer(",31,", ",44,", ",32,", ",43,", ",33,", ",42,", ",34,", ",41,").Replace(
			bySection(heading, 3, ",heading", falling, func(int) string { return ",70" })),
		"no heading":       bySection(heading, 3, "", falling, nothing),
		"all in one place": bySection(heading, 0, "", falling, nothing),
	} {
		t.Run(name, func(t *testing.T) {
			tr, warned := trackOf(t, log)
			require.Len(t, tr.Fixes, 31)
			require.Len(t, warned, 1)
			assert.Contains(t, warned[0].Text, "records of 4 sections that share their times are joined to 31 fixes of one bar")
			assert.Equal(t, 40+20+11, warned[0].Count)
			assert.False(t, tr.WorkingLogged, "no record says of its section that it is shut")
			sin, cos := math.Sincos(heading * math.Pi / 180)
			for s, f := range tr.Fixes {
				east, north := frame.Metres(f.At)
				assert.InDelta(t, 2*float64(s)*sin, east, 0.001)
				assert.InDelta(t, 2*float64(s)*cos, north, 0.001)
				var want machine.State
				switch falling(s) {
				case "0011":
					want = machine.State{{Left: 0, Right: 60000}}
				case "0001":
					want = machine.State{{Left: 30000, Right: 60000}}
				}
				assert.Equal(t, want, tr.States[f.State], "second %d", s)
			}
		})
	}
}

// A record may say of its section that it is shut: by a working column, or a
// width of nothing.
func TestRecordsOfShutSections(t *testing.T) {
	whole := func(int) string { return "1111" }
	for header, more := range map[string]func(k int) string{
		",working":        func(k int) string { return []string{",1", ",0", ",0", ",1"}[k] },
		",swath_width_ft": func(k int) string { return []string{",9.8", ",0", ",0", ",9.8"}[k] },
	} {
		tr, _ := trackOf(t, bySection(0, 3, header, whole, more))
		require.Len(t, tr.Fixes, 31, header)
		assert.True(t, tr.WorkingLogged, header)
		assert.Equal(t, machine.State{{Left: -60000, Right: -30000}, {Left: 30000, Right: 60000}}, tr.States[tr.Fixes[5].State], header)
	}
}

// The lines of a log by section may stand in any order and twice: a section
// after the other, or shuffled within each second.
func TestRecordsBySectionInAnyOrder(t *testing.T) {
	log := bySection(70, 3, "", falling, nothing)
	want, _ := trackOf(t, log)
	lines := strings.Split(strings.TrimSpace(log), "\n")
	var sorted []string
	for k := range 4 {
		for _, line := range lines[1:] {
			if strings.HasSuffix(line, fmt.Sprint(",", 34-k)) {
				sorted = append(sorted, line)
			}
		}
	}
	twice := append(append([]string{}, sorted...), sorted...)
	mixed := append([]string{}, lines[1:]...)
	rand.New(rand.NewPCG(1, 2)).Shuffle(40, func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
	for name, body := range map[string][]string{"one section after the other": sorted, "all twice": twice, "shuffled": mixed} {
		tr, _ := trackOf(t, lines[0]+"\n"+strings.Join(body, "\n"))
		got := map[geo.Instant]machine.State{}
		for _, f := range tr.Fixes {
			got[f.Time] = tr.States[f.State]
		}
		assert.Len(t, tr.Fixes, 31, name)
		for _, f := range want.Fixes {
			assert.Equal(t, want.States[f.State], got[f.Time], name)
		}
	}
}

// A column of sections that share no times is none of that: a legal
// description, perhaps.
func TestASectionThatIsNone(t *testing.T) {
	tr, warned := trackOf(t, csv(",section", ",12", ",12", ",12"))
	assert.Len(t, tr.Fixes, 3)
	assert.Empty(t, warned)
}

// A width that names no unit is in the one that makes it the bar's, or that of
// a bar.
func TestUnitOf(t *testing.T) {
	for _, c := range []struct {
		width, bar float64
		want       string
	}{
		{360, 9.144, "in"}, {30, 9.144, "ft"}, {9.144, 9.144, "m"}, {914, 9.144, "cm"}, {9144, 9.144, "mm"},
		{360, 0, "in"}, {12, 0, "m"}, {480, 0, "in"}, {16500, 0, "mm"},
		{180, 9.144, "in"}, // half the bar
		{4.5, 9.144, "m"},
		{0, 9.144, "m"},
	} {
		assert.Equal(t, c.want, unitOf(c.width, c.bar), "%v of a bar of %v m", c.width, c.bar)
	}
}
