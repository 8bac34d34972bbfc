package taskdata

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A towed drill of four sections behind a tractor that carries the antenna.
// Lengths in mm; x forward, y right.
//
//	tractor:  antenna at (2000, 300)   pin at (-1500, 0)
//	drill:    pin at (5000, 0)         bar at (-1000, 100)
//	          sections, by number: 1 at -2900, 2 at -900, 3 at 1100, 4 at 3100, each 2000 wide
const (
	tractor = `<DVC A="DVC2" B="tractor"><DET A="DET20" B="1" C="1" E="0" F="0"/>
<DET A="DET21" B="2" C="7" E="1" F="1"><DOR A="10"/><DOR A="11"/></DET>
<DET A="DET22" B="3" C="6" E="2" F="1"><DOR A="12"/></DET>
<DPT A="10" B="0086" C="2000"/><DPT A="11" B="0087" C="300"/><DPT A="12" B="0086" C="-1500"/></DVC>`
	drill = `<DVC A="DVC1" B="drill"><DET A="DET1" B="1" C="1" E="0" F="0"/>
<DET A="DET2" B="2" C="2" D="coulters" E="1" F="1"><DOR A="10"/><DOR A="11"/></DET>
<DET A="DET3" B="3" C="6" E="2" F="1"><DOR A="12"/><DOR A="13"/></DET>
<DET A="DET7" B="7" C="4" E="14" F="2"><DOR A="20"/><DOR A="24"/></DET>
<DET A="DET4" B="4" C="4" E="11" F="2"><DOR A="20"/><DOR A="21"/></DET>
<DET A="DET5" B="5" C="4" E="12" F="2"><DOR A="20"/><DOR A="22"/></DET>
<DET A="DET6" B="6" C="4" E="13" F="2"><DOR A="20"/><DOR A="23"/></DET>
<DPT A="10" B="0086" C="-1000"/><DPT A="11" B="0087" C="100"/><DPT A="12" B="0086" C="5000"/><DPT A="13" B="009D" C="1"/>
<DPT A="20" B="0043" C="2000"/><DPT A="21" B="0087" C="-2900"/><DPT A="22" B="0087" C="-900"/><DPT A="23" B="0087" C="1100"/><DPT A="24" B="0087" C="3100"/></DVC>`
	coupledTask = `<TSK A="TSK1" B="Winter barley" E="PFD1" G="4"><DAN C="DVC1"/><DAN C="DVC2"/><CNN A="DVC2" B="DET22" C="DVC1" D="DET3"/><TLG A="TLG00001" C="1"/></TSK>`
)

// rows are records a second apart going north, one for each list of values.
func rows(values ...[]value) (b []byte) {
	for i, v := range values {
		b = record{ms: 36_000_000 + uint32(i)*1000, days: 16541, north: 517000000 + int32(i)*200, east: -23990000, values: v}.append(b)
	}
	return b
}

func oneTrack(t *testing.T, s sheaf) Track {
	t.Helper()
	set := s.read()
	require.NotEmpty(t, set.Tasks)
	tracks := set.Tracks(&set.Tasks[0], nil)
	require.Len(t, tracks, 1)
	return tracks[0]
}

func onOff(states []State, of []uint32, n int) (out []string) {
	for _, id := range of {
		s := ""
		for i := range n {
			s += map[bool]string{true: "1", false: "0"}[states[id].On(i)]
		}
		out = append(out, s)
	}
	return out
}

func TestBarBehindTractor(t *testing.T) {
	s := newSheaf(t).set(barleyField, tractor, drill, coupledTask).
		log("TLG00001", headerText("008D DET2", "00A1 DET2", "0006 DET2"), rows(
			[]value{{0, 0}, {1, -256}, {2, 15000}}, // all four off, others not installed
			[]value{{0, 1}},
			[]value{{1, -256 + 0b01_01_01_01}},
			[]value{{1, -256 + 0b00_01_10_01}}, // the second in error, the fourth off
			[]value{{0, 0}},
		))
	track := oneTrack(t, s)
	assert.Empty(t, track.Notes)
	assert.Equal(t, "drill", track.DeviceName)
	assert.Equal(t, []Section{{"DET4", -4, -2}, {"DET5", -2, 0}, {"DET6", 0, 2}, {"DET7", 2, 4}}, track.Bar.Sections)
	assert.Equal(t, 8.0, track.Bar.Width)
	assert.Equal(t, -1.0, track.Bar.X)
	assert.InDelta(t, 0.1, track.Bar.Y, 1e-12)

	assert.Equal(t, 3.5, track.Hitch.AntennaToHitch, "the pin is 3.5 m behind the antenna")
	assert.Equal(t, 0.3, track.Hitch.AntennaRight)
	assert.Equal(t, 6.0, track.Hitch.HitchToBar)
	assert.InDelta(t, 0.1, track.Hitch.Offset, 1e-12)
	assert.Equal(t, 1, track.Hitch.Connector)
	assert.Equal(t, "DET21", track.Hitch.Antenna)

	assert.Equal(t, []bool{false, false, true, true, false}, track.Working, "on needs the bar and one section at least")
	assert.Equal(t, []string{"0000", "0000", "1111", "1010", "1010"}, onOff(track.States, track.State, 4))
	require.Len(t, track.Rates, 1)
	assert.Equal(t, []int32{15000}, track.Rates[0].Raw)
}

// Without coupling and antenna nothing is made up.
func TestHitchUnknown(t *testing.T) {
	track := oneTrack(t, newSheaf(t).set(drill, tractor, oneTask).log("TLG00001", headerText("008D DET2"), rows([]value{{0, 1}})))
	assert.True(t, math.IsNaN(track.Hitch.AntennaToHitch))
	assert.Equal(t, 6.0, track.Hitch.HitchToBar, "the drill's own lengths it does say")
	assert.Empty(t, track.Hitch.Antenna)
}

// A log that tells where the bar is: what it says while the bar works counts, not
// what it was set to before and after. Zero of everything was never set.
func TestOffsetsOfTheLog(t *testing.T) {
	combine := `<DVC A="DVC1" B="combine"><DET A="DET1" B="1" C="1" E="0" F="0"/>
<DET A="DET2" B="2" C="2" D="header" E="1" F="1"><DOR A="10"/></DET><DPT A="10" B="0046" C="9000"/></DVC>`
	header := headerText("008D DET1", "0086 DET2", "0087 DET2")
	track := oneTrack(t, newSheaf(t).set(combine, oneTask).log("TLG00001", header, rows(
		[]value{{0, 0}, {1, 0}, {2, 0}}, nil, nil, nil, []value{{0, 1}, {1, 2800}, {2, -150}}, nil, []value{{0, 0}, {1, 0}})))
	assert.Equal(t, 2.8, track.Bar.X)
	assert.Equal(t, -0.15, track.Bar.Y)
	assert.True(t, math.IsNaN(track.Hitch.AntennaToHitch), "where the antenna is it does not say")
	assert.Empty(t, track.Notes)

	track = oneTrack(t, newSheaf(t).set(combine, oneTask).log("TLG00001", header, rows(
		[]value{{0, 1}, {1, 2600}, {2, 0}}, []value{{1, 2800}}, nil)))
	assert.Equal(t, 2.8, track.Bar.X)
	assert.Equal(t, []string{"offset of DET2 (entry 134) changes while it works; what it is for most of the work is taken"}, track.Notes)

	track = oneTrack(t, newSheaf(t).set(combine, oneTask).log("TLG00001", header, rows([]value{{0, 1}, {1, 0}, {2, 0}}, nil)))
	assert.True(t, math.IsNaN(track.Bar.X))

	// The device's own offset is that of a header that says none.
	track = oneTrack(t, newSheaf(t).set(combine, oneTask).log("TLG00001", headerText("008D DET1", "0086 DET1"), rows([]value{{0, 1}, {1, 2800}}, nil)))
	assert.Equal(t, 2.8, track.Bar.X)
}

// What a device summed up: the task's own times go before its logs, the bar's own
// sums before those of the whole device.
func TestSums(t *testing.T) {
	spreader := `<DVC A="DVC1" B="spreader"><DET A="DET1" B="1" C="1" E="0" F="0"/><DET A="DET2" B="2" C="2" E="1" F="1"/><DET A="DET3" B="3" C="2" E="2" F="1"/></DVC>`
	task := func(times string) string {
		return `<TSK A="TSK1" E="PFD1" G="4">` + times + `<TLG A="TLG00001" C="1"/></TSK>`
	}
	header := headerText("008D DET2", "0074 DET1", "0074 DET3", "0075 DET2", "0051 DET3")
	records := rows([]value{{0, 1}, {1, 0}, {2, 7}, {3, 0}, {4, 0}}, []value{{1, 900}, {3, 250_000}}, []value{{1, 1200}, {3, 400_500}, {4, 36}})
	set := newSheaf(t).set(spreader, task("")).log("TLG00001", header, records).read()
	s := set.Sums(&set.Tasks[0], "DVC1", "DET2")
	assert.Equal(t, []float64{1200, 400.5, 36}, []float64{s.Area, s.Distance, s.Mass})
	assert.True(t, math.IsNaN(s.Time) && math.IsNaN(s.Volume), "of which it says nothing")
	two := s.Plus(s)
	assert.Equal(t, 2400.0, two.Area)
	assert.True(t, math.IsNaN(two.Time))

	set = newSheaf(t).set(spreader, task(`<TIM A="2025-04-15T08:00:00" D="4"><DLV A="0074" B="5000" C="DET1"/></TIM>`+
		`<TIM A="2025-04-15T10:00:00" D="4"><DLV A="0074" B="9000" C="DET1"/><DLV A="0050" B="1500" C="DET1"/><DLV A="xyz" B="1" C="DET1"/></TIM>`+
		`<TIM A="2025-04-15T11:00:00" D="1"><DLV A="0074" B="1" C="DET1"/></TIM>`)).log("TLG00001", header, records).read()
	s = set.Sums(&set.Tasks[0], "DVC1", "DET2")
	assert.Equal(t, []float64{9000, 1.5}, []float64{s.Area, s.Volume}, "the last of its effective times")
	assert.Contains(t, noteTexts(set), `value of task TSK1 left out: A="xyz" B="1", want four hexadecimal digits and a 32-bit number`)
	assert.True(t, math.IsNaN(set.Sums(&set.Tasks[0], "DVC9", "DET2").Area))
}

// What a task is, by its practice, by what the device tells, by the device's class.
func TestOperations(t *testing.T) {
	planter := `<DVC A="DVC1" B="planter" D="A00884000BC8AA52"><DET A="DET1" B="1" C="1" E="0" F="0"/></DVC><CPC A="CPC1" B=" Maize "/>`
	task := `<TSK A="TSK1" G="4"><OTP A="CPC1"/><TLG A="TLG00001" C="1"/></TSK>`
	set := newSheaf(t).set(planter, task).log("TLG00001", headerText("008D DET1", "00B3 DET1"), rows([]value{{0, 1}, {1, 0}}, []value{{1, 2}}, []value{{1, 0}})).read()
	assert.Equal(t, [3]string{"maize", "sowing and planting", "sowing and planting"}, set.Operations(&set.Tasks[0], "DVC1", set.Tasks[0].Logs[0]))
	assert.Equal(t, Class(4), set.Devices[0].Class)
	assert.Equal(t, [3]string{"maize", "", ""}, set.Operations(&set.Tasks[0], "", nil))
	assert.Equal(t, "practice 99", practiceWord(99))
}

// An antenna on the implement itself: the bar is rigid with it.
func TestAntennaOnBar(t *testing.T) {
	mounted := `<DVC A="DVC1" B="spreader"><DET A="DET1" B="1" C="1" E="0" F="0"><DOR A="13"/></DET>
<DET A="DET2" B="2" C="7" E="1" F="1"><DOR A="10"/><DOR A="11"/></DET>
<DPT A="10" B="0086" C="1200"/><DPT A="11" B="0087" C="-50"/><DPT A="12" B="0086" C="-800"/><DPT A="13" B="0046" C="24000"/>
<DET A="DET3" B="3" C="2" E="2" F="1"><DOR A="12"/><DOR A="13"/></DET></DVC>`
	track := oneTrack(t, newSheaf(t).set(mounted, oneTask).log("TLG00001", headerText("008D DET1"), rows([]value{{0, 1}}, []value{{0, 3}})))
	assert.Equal(t, "DET3", track.Bar.Element)
	assert.Equal(t, 24.0, track.Bar.Width)
	assert.Equal(t, 2.0, track.Hitch.AntennaToHitch)
	assert.Equal(t, -0.05, track.Hitch.AntennaRight)
	assert.Zero(t, track.Hitch.HitchToBar)
	assert.Equal(t, []bool{true, false}, track.Working, "the device's own work state counts for its bar; not installed is off")
}

// Sections that tell one by one, and sections that say no place.
func TestSectionsByThemselves(t *testing.T) {
	planter := `<DVC A="DVC1" B="planter"><DET A="DET1" B="1" C="1" E="0" F="0"/>
<DET A="DET2" B="2" C="4" E="1" F="1"><DOR A="20"/></DET>
<DET A="DET3" B="3" C="4" E="2" F="1"><DOR A="21"/></DET>
<DPT A="20" B="0043" C="1000"/><DPT A="21" B="0043" C="3000"/></DVC>`
	track := oneTrack(t, newSheaf(t).set(planter, oneTask).log("TLG00001", headerText("008D DET2", "008D DET3"), rows(
		nil, []value{{0, 1}, {1, 0}}, []value{{1, 1}}, []value{{0, 0}}, []value{{1, 2}})))
	assert.Equal(t, []Section{{"DET2", -2, -1}, {"DET3", -1, 2}}, track.Bar.Sections)
	assert.Equal(t, []bool{false, true, true, true, false}, track.Working)
	assert.Equal(t, []string{"00", "10", "11", "01", "00"}, onOff(track.States, track.State, 2))
	assert.Equal(t, []string{"sections of device DVC1 do not say where they are; laid side by side from the left, by number"}, track.Notes)
}

// More sections than a state tells apart: the log says so.
func TestSectionsPastTheLast(t *testing.T) {
	var many strings.Builder
	many.WriteString(`<DVC A="DVC1" B="planter"><DET A="DET1" B="1" C="1" E="0" F="0"/>`)
	for i := 2; i < 2+MostSections+1; i++ {
		fmt.Fprintf(&many, `<DET A="DET%d" B="%d" C="4" E="%d" F="1"><DOR A="1000"/></DET>`, i, i, i)
	}
	many.WriteString(`<DPT A="1000" B="0043" C="500"/></DVC>`)
	track := oneTrack(t, newSheaf(t).set(many.String(), oneTask).log("TLG00001", headerText("008D DET2", "008D DET258"),
		rows([]value{{0, 1}, {1, 1}}, []value{{0, 0}})))
	assert.Len(t, track.Bar.Sections, MostSections+1)
	assert.Equal(t, []bool{true, false}, track.Working)
	assert.False(t, track.States[0].On(MostSections))
	assert.Contains(t, track.Notes, "device DVC1 has 257 sections, of which working states tell the first 256 apart; the others count as off")
}

// A state that is never on while another is, is not a state that was kept.
func TestStateNeverOn(t *testing.T) {
	track := oneTrack(t, newSheaf(t).set(drill, oneTask).log("TLG00001", headerText("008D DET2", "00A1 DET2"), rows(
		[]value{{0, 0}, {1, 0}}, []value{{0, 1}})))
	assert.Equal(t, []bool{false, true}, track.Working)
	assert.Nil(t, track.State)
	assert.Contains(t, track.Notes, "device DVC1: the states of sections never say on, the work state does; the states are left out")

	track = oneTrack(t, newSheaf(t).set(drill, oneTask).log("TLG00001", headerText("008D DET2", "00A1 DET2"), rows(
		[]value{{0, 0}, {1, 0}}, []value{{1, 1}})))
	assert.Equal(t, []bool{false, true}, track.Working)
	assert.Equal(t, []string{"0000", "1000"}, onOff(track.States, track.State, 4))
}

// Condensed states of more sections than the set describes.
func TestSectionsNotDescribed(t *testing.T) {
	bare := `<DVC A="DVC1" B="seeder"><DET A="DET1" B="1" C="1" E="0" F="0"/></DVC>`
	track := oneTrack(t, newSheaf(t).set(bare, oneTask).log("TLG00001", headerText("00A1 DET1", "00A2 DET1"), rows(
		[]value{{0, 1431655765}, {1, -16 + 0b0101}}, []value{{1, -16}}, []value{{0, 0}})))
	assert.Equal(t, 18, track.Bar.Count)
	assert.Nil(t, track.Bar.Sections)
	assert.Equal(t, []string{"111111111111111111", "111111111111111100", "000000000000000000"}, onOff(track.States, track.State, 18))
}

func TestTracksOfNoDevice(t *testing.T) {
	track := oneTrack(t, newSheaf(t).set(oneTask).log("TLG00001", headerText(), rows(nil, nil)))
	assert.Len(t, track.Fixes, 2)
	assert.Nil(t, track.Working)
	assert.Empty(t, track.Device)
	assert.NotEmpty(t, track.Notes)
}

// A clock without a zone is put into the zone given; 2025-04-15 is summer
// time in Berlin, two hours ahead of UTC.
func TestZone(t *testing.T) {
	set := newSheaf(t).set(oneTask).log("TLG00001", headerText(), rows(nil)).read()
	berlin, err := time.LoadLocation("Europe/Berlin")
	require.NoError(t, err)
	track := set.Tracks(&set.Tasks[0], berlin)[0]
	assert.Equal(t, "2025-04-15T08:00:00Z", track.Fixes[0].Time.Time().Format(time.RFC3339))
	assert.True(t, track.Zoneless)
	assert.Equal(t, "2025-04-15T10:00:00Z", set.Tracks(&set.Tasks[0], nil)[0].Fixes[0].Time.Time().Format(time.RFC3339))
}
