package taskdata

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

// A bar that says another width than its sections reach over is noted; one that says
// theirs is not.
func TestWidthAgainstSections(t *testing.T) {
	header := headerText("008D DET2")
	for width, want := range map[string][]string{
		"8000": nil,
		"8001": nil, // to a millimetre
		"7999": nil,
		"9500": {"device DVC1 is 9.500 m wide, its sections reach over 8.000 m; the sections are taken"},
		"6000": {"device DVC1 is 6.000 m wide, its sections reach over 8.000 m; the sections are taken"},
	} {
		wide := strings.Replace(drill, `D="coulters" E="1" F="1">`, `D="coulters" E="1" F="1"><DOR A="30"/>`, 1)
		wide = strings.Replace(wide, `</DVC>`, `<DPT A="30" B="0046" C="`+width+`"/></DVC>`, 1)
		track := oneTrack(t, newSheaf(t).set(wide, oneTask).log("TLG00001", header, rows([]value{{0, 1}}, nil)))
		assert.Equal(t, want, track.Notes, width)
		assert.Equal(t, 8.0, track.Bar.Width)
	}
}

// Sections that do not say where they are lie about the middle of the bar, whatever
// they make together; a bar without sections has its place from the device.
func TestMiddleOfTheBar(t *testing.T) {
	planter := `<DVC A="DVC1" B="planter"><DET A="DET1" B="1" C="1" E="0" F="0"/>
<DET A="DET2" B="2" C="4" E="1" F="1"><DOR A="20"/></DET><DET A="DET3" B="3" C="4" E="2" F="1"><DOR A="21"/></DET>
<DPT A="20" B="0043" C="1000"/><DPT A="21" B="0043" C="3000"/></DVC>`
	track := oneTrack(t, newSheaf(t).set(planter, oneTask).log("TLG00001", headerText("008D DET2"), rows([]value{{0, 1}}, nil)))
	assert.Zero(t, track.Bar.Y)

	spreader := `<DVC A="DVC1" B="spreader"><DET A="DET1" B="1" C="1" E="0" F="0"><DOR A="11"/></DET>
<DET A="DET2" B="2" C="2" E="1" F="1"><DOR A="10"/></DET><DPT A="10" B="0046" C="9000"/><DPT A="11" B="0087" C="-400"/></DVC>`
	track = oneTrack(t, newSheaf(t).set(spreader, oneTask).log("TLG00001", headerText("008D DET2"), rows([]value{{0, 1}}, nil)))
	assert.Equal(t, -0.4, track.Bar.Y)
}

// The offset that counts is the one while the bar works, also where only the states of
// sections tell when that is.
func TestOffsetWhileSectionsWork(t *testing.T) {
	const allOn, allOff = -256 + 0b01_01_01_01, -256
	track := oneTrack(t, newSheaf(t).set(strings.Replace(drill, `<DPT A="10" B="0086" C="-1000"/>`, "", 1), oneTask).log("TLG00001", headerText("00A1 DET2", "0086 DET2"), rows(
		[]value{{0, allOff}, {1, -3000}}, nil, nil, nil, nil, []value{{0, allOn}, {1, -1200}}, nil, []value{{0, allOff}, {1, 5}}, nil, nil, nil, nil)))
	assert.Equal(t, -1.2, track.Bar.X)
	assert.Equal(t, []bool{false, false, false, false, false, true, true, false, false, false, false, false}, track.Working)
}

// Rates count that are told of the bar, of a part of it or of what it is a part of.
func TestRatesOfTheBar(t *testing.T) {
	both := strings.Replace(drill, `<DET A="DET3"`, `<DET A="DET9" B="9" C="2" D="fertiliser" E="9" F="1"/><DET A="DET3"`, 1)
	track := oneTrack(t, newSheaf(t).set(both, oneTask).log("TLG00001", headerText("008D DET2", "0006 DET1", "0006 DET2", "0006 DET5", "0006 DET9"),
		rows([]value{{0, 1}, {1, 1}, {2, 2}, {3, 3}, {4, 4}}, nil)))
	var told []string
	for _, r := range track.Rates {
		told = append(told, r.Element)
	}
	assert.Equal(t, []string{"DET1", "DET2", "DET5"}, told)
}

// Of two couplings the one counts that leads to an antenna, in any order of both.
func TestCouplingWithAntenna(t *testing.T) {
	cart := `<DVC A="DVC3" B="cart"><DET A="DET30" B="1" C="1" E="0" F="0"/><DET A="DET31" B="2" C="6" E="1" F="1"><DOR A="10"/></DET>
<DPT A="10" B="0086" C="-4000"/></DVC>`
	const toTractor = `<CNN A="DVC2" B="DET22" C="DVC1" D="DET3"/>`
	const toCart = `<CNN A="DVC1" B="DET3" C="DVC3" D="DET31"/>`
	for _, couplings := range []string{toTractor + toCart, toCart + toTractor} {
		for _, first := range []string{"DET20", "DET21"} {
			task := `<TSK A="TSK1" G="4"><DAN C="DVC1"/>` + couplings + `<TLG A="TLG00001" C="1"/></TSK>`
			track := oneTrack(t, newSheaf(t).set(moved(t, tractor, first), drill, cart, task).log("TLG00001", headerText("008D DET2"), rows([]value{{0, 1}}, nil)))
			assert.Equal(t, 3.5, track.Hitch.AntennaToHitch)
			assert.Equal(t, "DET21", track.Hitch.Antenna)
		}
	}
}

// An area is a number of square metres that a field can have; a task's field is looked
// for in the set, and so is the crop of a field, wherever it stands there.
func TestFieldsOfTheSet(t *testing.T) {
	set := newSheaf(t).set(`<PFD A="PFD1" C="Long Acre" D="40469" G="CTP2"/>`, `<PFD A="PFD2" D="-5" G="CTP7"/>`, `<PFD A="PFD3" D="wide"/>`,
		`<TSK A="TSK1" E="PFD1" G="1"/>`, `<TSK A="TSK2" E="PFD7" G="1"/>`, `<CTP A="CTP1" B="Oats"/>`, `<CTP A="CTP2" B="Barley"/>`).read()
	assert.Equal(t, []string{"Barley", "", ""}, []string{set.Partfields[0].Crop, set.Partfields[1].Crop, set.Partfields[2].Crop})
	assert.Equal(t, 40469.0, set.Partfields[0].Area)
	assert.Zero(t, set.Partfields[1].Area)
	assert.ElementsMatch(t, []string{
		`PFD2: area "-5" is no number of square metres`, `PFD3: area "wide" is no number of square metres`,
		"task TSK2 is on field PFD7, which the set does not hold", "field PFD2 grows crop CTP7, which the set does not hold",
	}, noteTexts(set))
}

// Versions 3 and 4 are those there are; another is read as 4, and said.
func TestVersions(t *testing.T) {
	for version, want := range map[string][]string{"3": nil, "4": nil, "2": {"version 2.1; read as version 4"}} {
		text := `<ISO11783_TaskData VersionMajor="` + version + `" VersionMinor="1"><PFD A="PFD1"/></ISO11783_TaskData>`
		set := newSheaf(t).file("TASKDATA.XML", []byte(text)).read()
		assert.Equal(t, want, noteTexts(set))
		assert.Equal(t, version+".1", set.Version)
	}
}

func TestSumsOfTwoTasks(t *testing.T) {
	assert.Equal(t, Sums{11, 22, 33, 44, 55}, Sums{1, 2, 3, 4, 5}.Plus(Sums{10, 20, 30, 40, 50}))
}

// A position on a pole or on the line where days change is on the Earth; a ten-millionth
// of a degree past it is not.
func TestEdgesOfTheEarth(t *testing.T) {
	var b []byte
	for i, at := range [][2]int32{{900_000_000, 0}, {-900_000_000, 0}, {0, 1_800_000_000}, {0, -1_800_000_000}, {900_000_001, 0}, {0, -1_800_000_001}} {
		b = record{ms: 36_000_000 + uint32(i)*1000, days: 16541, north: at[0], east: at[1]}.append(b)
	}
	set := newSheaf(t).set(oneTask).log("TLG00001", headerText(), b).read()
	require.NotEmpty(t, set.Tasks[0].Logs)
	assert.Contains(t, noteTexts(set), "record whose position is not on the Earth; kept as having no fix")
	for _, n := range set.Notes {
		if strings.Contains(n.Text, "not on the Earth") {
			assert.Equal(t, 2, n.Count)
		}
	}
	assert.Equal(t, 90.0, set.Tasks[0].Logs[0].Fixes[0].At.Lat)
	assert.InDelta(t, -180, set.Tasks[0].Logs[0].Fixes[3].At.Lon, 1e-12)
	for i, fix := range set.Tasks[0].Logs[0].Fixes {
		assert.Equal(t, i >= 4, fix.Quality == geo.NoFix, "fix %d", i)
	}
}
