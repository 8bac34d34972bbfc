package taskdata

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A section in a state is on by itself, in whatever word of it.
func TestStateOfManySections(t *testing.T) {
	var all State
	assert.False(t, all.Any())
	for count, section := range []int{0, 1, 63, 64, 127, 128, 191, 192, 255} {
		var one State
		one.set(section, true)
		all.set(section, true)
		for i := range MostSections + 1 {
			assert.Equal(t, i == section, one.On(i), "section %d of a state of %d", i, section)
		}
		assert.True(t, one.Any())
		assert.Equal(t, 1, one.Len())
		assert.Equal(t, count+1, all.Len())
	}
	all.set(64, false)
	assert.Equal(t, 8, all.Len())
	assert.False(t, all.On(64))
	assert.True(t, all.On(63) && all.On(128))
}

// The sixteen condensed states are of sixteen sections each: entry 161 of sections 1 to
// 16, 162 of 17 to 32 …, 176 of 241 to 256 (source: "ISO 11783-11 data dictionary
// export").
func TestSectionsOfEachEntry(t *testing.T) {
	bare := with(`<DVC A="DVC1" B="planter"><DET A="DET1" B="1" C="1" E="0" F="0"/></DVC>`, "DET1 0046 12000")
	for entry, section := range map[int]int{161: 0, 162: 16, 165: 64, 176: 240} {
		track := oneTrack(t, newSheaf(t).set(bare, oneTask).log("TLG00001", headerText(fmt.Sprintf("%04X DET1", entry), "0086 DET1"), rows(
			[]value{{0, 0b01_00_01}, {1, 2800}}, []value{{0, 0}, {1, 2600}}, nil)))
		assert.Equal(t, section+16, track.Bar.Count)
		assert.Equal(t, []bool{true, false, false}, track.Working)
		assert.Equal(t, 2.8, track.Bar.X, "where it is while it works")
		assert.Empty(t, track.Notes)
		on := track.States[track.State[0]]
		assert.True(t, on.On(section) && on.On(section+2))
		assert.Equal(t, 2, on.Len(), "entry %d", entry)
		q, ok := DDI(entry).Meaning()
		assert.True(t, ok)
		assert.Equal(t, fmt.Sprintf("actual condensed work state %d-%d", section+1, section+16), q.Name)
	}
	q, _ := DDI(160).Meaning()
	assert.Equal(t, "section control state", q.Name)
	_, ok := DDI(177).Meaning()
	assert.False(t, ok)
}

// Who tells whether a bar works: DET1 is the device, DET2 its bar, DET3 a unit and
// DET4 a section of it, DET5 a unit of something else. Only "on" is at work (0 is
// off, 1 on, 2 error, 3 not installed).
func TestWhoTellsOfWork(t *testing.T) {
	device := with(`<DVC A="DVC1" B="drill"><DET A="DET1" B="1" C="1" E="0" F="0"/><DET A="DET2" B="2" C="2" E="1" F="1"/>
<DET A="DET3" B="3" C="5" E="2" F="2"/><DET A="DET4" B="4" C="4" E="3" F="2"/><DET A="DET5" B="5" C="5" E="4" F="1"/></DVC>`, "DET2 0046 6000")
	const on, off = 1, 0
	for name, test := range map[string]struct {
		values []string
		raw    []int32
		want   []bool
	}{
		"the bar before its device":             {[]string{"008D DET1", "008D DET2"}, []int32{on, off}, []bool{false}},
		"the bar before its device, on":         {[]string{"008D DET1", "008D DET2"}, []int32{off, on}, []bool{true}},
		"the device before units":               {[]string{"008D DET1", "008D DET3"}, []int32{off, on}, []bool{false}},
		"units where nothing else tells":        {[]string{"008D DET3"}, []int32{on}, []bool{true}},
		"units of something else do not":        {[]string{"008D DET5", "0043 DET2"}, []int32{on, 6000}, nil},
		"sections of the bar before the device": {[]string{"00A1 DET1", "00A1 DET2"}, []int32{on, off}, []bool{false}},
		"sections by the device":                {[]string{"00A1 DET1"}, []int32{on}, []bool{true}},
		"all sections before each":              {[]string{"00A1 DET2", "008D DET4"}, []int32{off, on}, []bool{false}},
		"each section":                          {[]string{"008D DET4"}, []int32{on}, []bool{true}},
		"work and no section":                   {[]string{"008D DET2", "00A1 DET2"}, []int32{on, off}, []bool{true}},
		"in error":                              {[]string{"008D DET2"}, []int32{2}, []bool{false}},
		"not installed":                         {[]string{"008D DET2"}, []int32{3}, []bool{false}},
		"a width alone":                         {[]string{"0043 DET2"}, []int32{6000}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			var values []value
			for i, raw := range test.raw {
				values = append(values, value{uint8(i), raw})
			}
			track := oneTrack(t, newSheaf(t).set(device, oneTask).log("TLG00001", headerText(test.values...), rows(values)))
			assert.Equal(t, "DET2", track.Bar.Element)
			assert.Equal(t, test.want, track.Working)
		})
	}
}

// Of several units any that is on is work, and each goes off by itself.
func TestAnyUnit(t *testing.T) {
	device := with(`<DVC A="DVC1" B="drill"><DET A="DET1" B="1" C="1" E="0" F="0"/><DET A="DET2" B="2" C="2" E="1" F="1"/>
<DET A="DET3" B="3" C="5" E="2" F="2"/><DET A="DET4" B="4" C="5" E="3" F="2"/></DVC>`, "DET2 0046 6000")
	track := oneTrack(t, newSheaf(t).set(device, oneTask).log("TLG00001", headerText("008D DET3", "008D DET4"), rows(
		nil, []value{{0, 1}}, []value{{1, 1}}, []value{{0, 0}}, []value{{1, 0}})))
	assert.Equal(t, []bool{false, true, true, true, false}, track.Working)
}

// A state that comes back is the same state: four records of three states.
func TestStatesThatComeBack(t *testing.T) {
	track := oneTrack(t, newSheaf(t).set(drill, oneTask).log("TLG00001", headerText("00A1 DET2"), rows(
		nil, []value{{0, -256 + 0b01}}, nil, []value{{0, -256 + 0b0101}}, []value{{0, -256 + 0b01}})))
	assert.Equal(t, []string{"0000", "1000", "1000", "1100", "1000"}, onOff(track.States, track.State, 4))
	assert.Len(t, track.States, 3)
	assert.Equal(t, []bool{false, true, true, true, true}, track.Working, "before it is told nothing works")
}

// States of more sections than the device has, and of fewer: those that both have are
// used.
func TestOtherNumberOfSections(t *testing.T) {
	for sections, test := range map[int]struct {
		raw  int32
		note []string
	}{
		3: {-64 + 0b01_00_01, []string{"device DVC1 has 4 sections, its working states are of 3; those that both have are used"}},
		4: {-256 + 0b00_01_00_01, nil},
		6: {-4096 + 0b01_01_00_01_00_01, []string{"device DVC1 has 4 sections, its working states are of 6; those that both have are used"}},
	} {
		track := oneTrack(t, newSheaf(t).set(drill, oneTask).log("TLG00001", headerText("00A1 DET2"), rows([]value{{0, test.raw}})))
		assert.Equal(t, test.note, track.Notes)
		assert.Equal(t, 4, track.Bar.Count)
		assert.Equal(t, 2, track.States[0].Len(), "%d sections", sections)
		assert.True(t, track.States[0].On(0) && track.States[0].On(2))
	}
}

// row is a planter of sections of 0.5 m side by side, DET2 the one with the lowest
// number and, where so said, the rightmost.
func row(sections int, fromRight bool) string {
	var many strings.Builder
	many.WriteString(`<DVC A="DVC1" B="planter"><DET A="DET1" B="1" C="1" E="0" F="0"/>`)
	for i := range sections {
		y := 500 * i
		if fromRight {
			y = -y
		}
		fmt.Fprintf(&many, `<DET A="DET%d" B="%d" C="4" E="%d" F="1"><DOR A="9000"/><DOR A="%d"/></DET><DPT A="%d" B="0087" C="%d"/>`, i+2, i+2, i+2, i+10000, i+10000, y)
	}
	return many.String() + `<DPT A="9000" B="0043" C="500"/></DVC>`
}

// A state tells 256 sections apart: as many are none too many, and those past them are
// off wherever they lie.
func TestSectionsUpToTheLast(t *testing.T) {
	const tooMany = "device DVC1 has 257 sections, of which working states tell the first 256 apart; the others count as off"
	for _, test := range []struct {
		sections  int
		fromRight bool
		values    []string
		on        []int
		notes     []string
	}{
		{256, false, []string{"008D DET2", "008D DET257"}, []int{0, 255}, nil},
		{256, true, []string{"008D DET2", "008D DET257"}, []int{0, 255}, nil},
		{257, false, []string{"008D DET2", "008D DET257", "008D DET258"}, []int{0, 255}, []string{tooMany}},
		{257, true, []string{"008D DET2", "008D DET3", "008D DET257", "008D DET258"}, []int{1, 255}, []string{tooMany}},
		{257, false, []string{"008D DET1"}, nil, nil},
	} {
		var on []value
		for i := range test.values {
			on = append(on, value{uint8(i), 1})
		}
		track := oneTrack(t, newSheaf(t).set(row(test.sections, test.fromRight), oneTask).log("TLG00001", headerText(test.values...), rows(on)))
		assert.Len(t, track.Bar.Sections, test.sections)
		assert.Equal(t, test.notes, track.Notes)
		assert.Equal(t, []bool{true}, track.Working)
		var got []int
		for i := range track.Bar.Sections {
			if track.States != nil && track.States[0].On(i) {
				got = append(got, i)
			}
		}
		assert.Equal(t, test.on, got, "%d sections, from the right: %v", test.sections, test.fromRight)
	}
}

// Both kinds of states that never say on are both kept: nothing worked.
func TestNothingEverOn(t *testing.T) {
	track := oneTrack(t, newSheaf(t).set(drill, oneTask).log("TLG00001", headerText("008D DET2", "00A1 DET2"), rows([]value{{0, 0}, {1, -256}}, nil)))
	assert.Equal(t, []bool{false, false}, track.Working)
	assert.Equal(t, []string{"0000", "0000"}, onOff(track.States, track.State, 4))
	assert.Empty(t, track.Notes)
}

// Two logs of a task, the second of which tells of two devices and the first of one:
// three tracks, each with the fixes of its own log.
func TestTracksOfTwoLogs(t *testing.T) {
	spreader := with(`<DVC A="DVC3" B="spreader"><DET A="DET30" B="1" C="1" E="0" F="0"/></DVC>`, "DET30 0046 24000")
	task := `<TSK A="TSK1" G="4"><TLG A="TLG00001" C="1"/><TLG A="TLG00002" C="1"/><TLG A="TLG00003" C="1"/></TSK>`
	set := newSheaf(t).set(drill, spreader, task).
		log("TLG00001", headerText("008D DET2", "0006 DET2", "0006 DET4", "008D DET30"), rows([]value{{0, 1}, {1, 700}}, nil)).
		log("TLG00002", headerText("008D DET2", "008D DET30"), rows([]value{{0, 0}, {1, 1}}, nil, nil)).
		log("TLG00003", headerText("0075 DET2"), rows([]value{{0, 1}}, nil, nil, nil)).read()
	tracks := set.Tracks(&set.Tasks[0], nil)
	var got []string
	for _, track := range tracks {
		assert.Equal(t, "TSK1", track.Task)
		assert.Contains(t, track.File, track.Log+".BIN")
		got = append(got, fmt.Sprint(track.Log, " ", track.Device, " ", len(track.Fixes), " ", trues(track.Working)))
	}
	assert.Equal(t, []string{"TLG00001 DVC1 2 2", "TLG00002 DVC1 3 0", "TLG00002 DVC3 3 3", "TLG00003  4 0"}, got)
	require.Len(t, tracks[0].Rates, 1, "a rate that no record has is none")
	assert.Equal(t, "DET2", tracks[0].Rates[0].Element)
}

// Of an entry that a header has twice for one element the one counts that records have.
func TestValueTwiceInTheHeader(t *testing.T) {
	track := oneTrack(t, newSheaf(t).set(drill, oneTask).log("TLG00001", headerText("008D DET2", "0043 DET2", "0043 DET2", "0043 DET2"),
		rows([]value{{0, 1}, {2, 8000}, {3, 100}}, nil)))
	require.NotNil(t, track.Widths)
	assert.Equal(t, []int32{8000}, track.Widths.Raw)
}
