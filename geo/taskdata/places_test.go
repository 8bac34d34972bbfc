package taskdata

import (
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// moved puts one element of a device before the others, and more properties at its end.
func moved(t *testing.T, device, id string) string {
	t.Helper()
	one := regexp.MustCompile(`<DET A="` + id + `"[^>]*(/>|>(<DOR[^>]*/>)*</DET>)`).FindString(device)
	require.NotEmpty(t, one)
	head, rest, _ := strings.Cut(strings.Replace(device, one, "", 1), ">")
	return head + ">" + one + rest
}

// with gives elements of a device more properties, each as "element ddi value".
func with(device string, properties ...string) string {
	for i, p := range properties {
		part := strings.Fields(p)
		number := string(rune('1'+i)) + "000"
		at := regexp.MustCompile(`(<DET A="` + part[0] + `"[^>]*?)(/?)>`)
		device = at.ReplaceAllStringFunc(device, func(tag string) string {
			ref := `<DOR A="` + number + `"/>`
			if start, ok := strings.CutSuffix(tag, "/>"); ok {
				return start + ">" + ref + "</DET>"
			}
			return tag + ref
		})
		device = strings.Replace(device, "</DVC>", `<DPT A="`+number+`" B="`+part[1]+`" C="`+part[2]+`"/></DVC>`, 1)
	}
	return device
}

// sameHitch compares hitches, to a nanometre.
func sameHitch(t *testing.T, want, got Hitch, why ...any) {
	t.Helper()
	for _, pair := range [][2]*float64{{&want.AntennaToHitch, &got.AntennaToHitch}, {&want.AntennaRight, &got.AntennaRight},
		{&want.HitchToBar, &got.HitchToBar}, {&want.Offset, &got.Offset}} {
		assert.InDelta(t, *pair[0], *pair[1], 1e-9, why...)
		*pair[0], *pair[1] = 0, 0
	}
	assert.Equal(t, want, got, why...)
}

// Whichever element of a device stands first in the file, its parts are the same.
func TestElementsInAnyOrder(t *testing.T) {
	for _, first := range []string{"DET1", "DET2", "DET3", "DET4", "DET7", "DET20", "DET21", "DET22"} {
		drill, tractor := drill, tractor
		if len(first) == 4 {
			drill = moved(t, drill, first)
		} else {
			tractor = moved(t, tractor, first)
		}
		track := oneTrack(t, newSheaf(t).set(tractor, drill, coupledTask).log("TLG00001", headerText("008D DET1", "00A1 DET2", "0006 DET1", "0006 DET4"), rows(
			[]value{{0, 1}, {1, -256 + 0b01_00_00_00}, {2, 5}, {3, 6}}, []value{{1, -256 + 0b00_00_00_01}})))
		assert.Equal(t, []Section{{"DET4", -4, -2}, {"DET5", -2, 0}, {"DET6", 0, 2}, {"DET7", 2, 4}}, track.Bar.Sections, first)
		assert.Equal(t, -1.0, track.Bar.X, first)
		sameHitch(t, Hitch{AntennaToHitch: 3.5, AntennaRight: 0.3, HitchToBar: 6, Offset: 0.1, Connector: 1, Antenna: "DET21"}, track.Hitch, first)
		assert.Equal(t, []string{"0001", "1000"}, onOff(track.States, track.State, 4), first)
		assert.Len(t, track.Rates, 2, first)
		assert.Empty(t, track.Notes, first)
	}
}

// Pins off the centre line of their devices: the tractor's 40 mm to the right of it
// and so 260 mm left of the antenna at 300; the drill's 60 mm to the left of it and so
// 160 mm left of the bar's middle at 100.
func TestPinsOffTheCentreLine(t *testing.T) {
	drill := with(drill, "DET3 0087 -60")
	log := func(s sheaf) sheaf { return s.log("TLG00001", headerText("008D DET2"), rows([]value{{0, 1}})) }
	want := Hitch{AntennaToHitch: 3.5, AntennaRight: 0.26, HitchToBar: 6, Offset: 0.16, Connector: 1, Antenna: "DET21"}
	for _, task := range []string{coupledTask, strings.Replace(coupledTask, `A="DVC2" B="DET22" C="DVC1" D="DET3"`, `A="DVC1" B="DET3" C="DVC2" D="DET22"`, 1)} {
		sameHitch(t, want, oneTrack(t, log(newSheaf(t).set(with(tractor, "DET22 0087 40"), drill, task))).Hitch, "a coupling may be told from either end")
	}

	// An antenna on the drill itself, 500 mm before its zero and 250 mm right: 4.5 m
	// behind the pin and 1.5 m before the bar, whatever the drill hangs on.
	own := strings.Replace(drill, "</DVC>", `<DET A="DET8" B="8" C="7" E="3" F="1"/></DVC>`, 1)
	own = with(own, "DET3 0087 -60", "DET8 0086 500", "DET8 0087 250")
	for _, id := range []string{"DET1", "DET3", "DET8"} {
		track := oneTrack(t, log(newSheaf(t).set(tractor, moved(t, own, id), coupledTask)))
		sameHitch(t, Hitch{AntennaToHitch: -4.5, AntennaRight: 0.31, HitchToBar: 6, Offset: 0.16, Connector: 1, Antenna: "DET8"}, track.Hitch)
	}
}

// Without a connector the bar is rigid with the antenna on its device, and both are
// measured from the device's centre line.
func TestAntennaWithoutConnector(t *testing.T) {
	spreader := with(`<DVC A="DVC1" B="spreader"><DET A="DET2" B="2" C="7" E="1" F="1"/><DET A="DET1" B="1" C="1" E="0" F="0"/>
<DET A="DET3" B="3" C="2" E="2" F="1"/></DVC>`, "DET2 0086 1200", "DET2 0087 -50", "DET3 0086 -800", "DET3 0087 350", "DET3 0046 24000")
	track := oneTrack(t, newSheaf(t).set(spreader, oneTask).log("TLG00001", headerText("008D DET3"), rows([]value{{0, 1}})))
	sameHitch(t, Hitch{AntennaToHitch: 2, AntennaRight: -0.05, HitchToBar: 0, Offset: 0.35, Connector: -1, Antenna: "DET2"}, track.Hitch)
}

// Which connector a drill hangs at, the coupling says; one that leads to a device or a
// connector that is not there says nothing.
func TestConnectors(t *testing.T) {
	front := strings.Replace(drill, `<DET A="DET3"`, `<DET A="DET9" B="9" C="6" E="9" F="1"/><DET A="DET3"`, 1)
	front = with(front, "DET9 0086 7000")
	for coupling, want := range map[string]Hitch{
		`<CNN A="DVC2" B="DET22" C="DVC1" D="DET3"/>`: {AntennaToHitch: 3.5, AntennaRight: 0.3, HitchToBar: 6, Offset: 0.1, Connector: 1, Antenna: "DET21"},
		`<CNN A="DVC2" B="DET22" C="DVC1" D="DET9"/>`: {AntennaToHitch: 3.5, AntennaRight: 0.3, HitchToBar: 8, Offset: 0.1, Connector: -1, Antenna: "DET21"},
		`<CNN A="DVC7" B="DET22" C="DVC1" D="DET3"/><CNN A="DVC2" B="DET22" C="DVC7" D="DET3"/>` +
			`<CNN A="DVC2" B="DET77" C="DVC1" D="DET3"/><CNN A="DVC2" B="DET22" C="DVC1" D="DET77"/>`: {AntennaToHitch: math.NaN(), AntennaRight: math.NaN(), HitchToBar: 8, Offset: 0.1, Connector: -1},
	} {
		task := `<TSK A="TSK1" G="4">` + coupling + `<TLG A="TLG00001" C="1"/></TSK>`
		track := oneTrack(t, newSheaf(t).set(tractor, front, task).log("TLG00001", headerText("008D DET2"), rows([]value{{0, 1}})))
		sameHitch(t, want, track.Hitch, coupling)
	}

	told := strings.Replace(drill, `<DOR A="13"/>`, "", 1)
	track := oneTrack(t, newSheaf(t).set(told, oneTask).log("TLG00001", headerText("008D DET2", "009D DET3"), rows([]value{{0, 1}, {1, 2}})))
	assert.Equal(t, 2, track.Hitch.Connector, "what no property says, the log may")
}

// Where a bar is for most of its work counts: 2.6 m for two and two records, 2.8 m for
// three between them; of two places with as many records the first.
func TestOffsetOfMostRecords(t *testing.T) {
	header := with(`<DVC A="DVC1" B="combine"><DET A="DET1" B="1" C="1" E="0" F="0"/><DET A="DET2" B="2" C="2" E="1" F="1"/></DVC>`, "DET2 0046 9000")
	log := func(records ...[]value) Track {
		return oneTrack(t, newSheaf(t).set(header, oneTask).log("TLG00001", headerText("008D DET1", "0086 DET2", "00A0 DET2"), rows(records...)))
	}
	track := log([]value{{0, 1}, {1, 2600}}, nil, []value{{1, 2800}}, nil, nil, []value{{1, 2600}}, nil)
	assert.Equal(t, 2.6, track.Bar.X)
	assert.Len(t, track.Notes, 1)
	track = log([]value{{0, 1}, {1, 2600}}, nil, []value{{1, 2800}}, nil)
	assert.Equal(t, 2.6, track.Bar.X)
	track = log([]value{{0, 1}, {1, 2600}}, []value{{0, 0}}, []value{{1, 2700}}, []value{{1, 2600}})
	assert.Equal(t, 2.6, track.Bar.X)
	assert.Empty(t, track.Notes, "what it is set to while it does not work is no change")

	// That sections are controlled by the computer (entry 160) is not that they work.
	track = log([]value{{2, 1}, {1, 2800}}, nil, nil, []value{{0, 1}, {1, 2600}, {2, 0}}, nil)
	assert.Equal(t, 2.6, track.Bar.X)
}

// How wide a bar is in full: its greatest width, else the one it has by default, else
// the widest that it ever worked.
func TestFullWidth(t *testing.T) {
	device := `<DVC A="DVC1" B="mower"><DET A="DET1" B="1" C="1" E="0" F="0"/><DET A="DET2" B="2" C="2" E="1" F="1"/></DVC>`
	for _, test := range []struct {
		properties []string
		want       float64
	}{
		{[]string{"DET2 0046 9000", "DET2 0044 8500"}, 9},
		{[]string{"DET2 0046 0", "DET2 0044 8500"}, 8.5},
		{nil, 8.2},
		{[]string{"DET2 0043 8300"}, 8.3},
	} {
		track := oneTrack(t, newSheaf(t).set(with(device, test.properties...), oneTask).log("TLG00001", headerText("008D DET2", "0043 DET2"),
			rows([]value{{0, 1}, {1, 6000}}, []value{{1, 8200}}, []value{{1, 7000}})))
		assert.Equal(t, test.want, track.Bar.Width, test.properties)
	}
}

// Which part of a device is the bar: DET1 is the device, DET2 and DET3 are its
// functions, DET4 is a section of DET2, DET5 a bin.
func TestWhichPartWorks(t *testing.T) {
	device := `<DVC A="DVC1" B="drill"><DET A="DET1" B="1" C="1" E="0" F="0"/><DET A="DET2" B="2" C="2" D="seed" E="1" F="1"/>
<DET A="DET3" B="3" C="2" D="fertiliser" E="2" F="1"/><DET A="DET4" B="4" C="4" E="3" F="2"/><DET A="DET5" B="5" C="3" E="4" F="1"/></DVC>`
	const other = "device DVC1 has other parts that work (1); DET2 seed is taken"
	for name, test := range map[string]struct {
		properties []string
		values     []string // all of value 1
		want       string
		notes      []string
	}{
		"sections of known width before a width":   {[]string{"DET4 0043 3000", "DET3 0046 6000"}, []string{"008D DET1"}, "DET2", nil},
		"a width before sections of unknown width": {[]string{"DET3 0046 6000"}, []string{"008D DET1"}, "DET3", nil},
		"a width before a working state":           {[]string{"DET3 0046 6000"}, []string{"008D DET2", "008D DET3"}, "DET3", nil},
		"of two widths the one that tells":         {[]string{"DET2 0046 6000", "DET3 0046 6000"}, []string{"008D DET3"}, "DET3", nil},
		"of equals the first":                      {[]string{"DET2 0046 6000", "DET3 0046 6000"}, []string{"008D DET1"}, "DET2", []string{other}},
		"of functions that only tell the first":    {nil, []string{"008D DET2", "008D DET3"}, "DET2", nil},
		"a function before its device":             {[]string{"DET1 0046 6000", "DET3 0046 6000"}, []string{"008D DET1"}, "DET3", nil},
		"functions that say nothing":               {nil, []string{"008D DET1"}, "DET1", nil},
		"a bin is no bar":                          {[]string{"DET5 0046 6000"}, []string{"008D DET1"}, "DET1", nil},
	} {
		t.Run(name, func(t *testing.T) {
			var on []value
			for i := range test.values {
				on = append(on, value{uint8(i), 1})
			}
			track := oneTrack(t, newSheaf(t).set(with(device, test.properties...), oneTask).log("TLG00001", headerText(test.values...), rows(on, nil)))
			assert.Equal(t, test.want, track.Bar.Element)
			assert.Equal(t, test.notes, track.Notes)
		})
	}

	// A bin that is open makes no bar of itself or its device.
	bin := `<DVC A="DVC1" B="tank"><DET A="DET1" B="1" C="1" E="0" F="0"/><DET A="DET5" B="2" C="3" E="1" F="1"/></DVC>`
	none := oneTrack(t, newSheaf(t).set(bin, oneTask).log("TLG00001", headerText("008D DET5"), rows([]value{{0, 1}})))
	assert.Empty(t, none.Device)
	assert.Nil(t, none.Working)

	// Some writers make a function an element of type device below the device.
	below := with(strings.Replace(device, `A="DET3" B="3" C="2"`, `A="DET3" B="3" C="1"`, 1), "DET1 0046 9000", "DET3 0046 6000")
	track := oneTrack(t, newSheaf(t).set(below, oneTask).log("TLG00001", headerText("008D DET1"), rows([]value{{0, 1}}, nil)))
	assert.Equal(t, "DET3", track.Bar.Element)

	// Elements at the top are the device each: two that are wide are one too many.
	twice := with(`<DVC A="DVC1" B="drill"><DET A="DET2" B="1" C="1" D="seed" E="0" F="0"/><DET A="DET3" B="2" C="1" E="1" F="0"/></DVC>`, "DET2 0046 6000", "DET3 0046 6000")
	track = oneTrack(t, newSheaf(t).set(twice, oneTask).log("TLG00001", headerText("0043 DET2", "0043 DET3"), rows([]value{{0, 1}, {1, 1}}, nil)))
	assert.Equal(t, "DET2", track.Bar.Element)
	assert.Equal(t, []string{other}, track.Notes)
}

// One section has no neighbours: without a place it lies about the middle, with one
// that is the bar's.
func TestOneSection(t *testing.T) {
	for y, properties := range map[float64][]string{0: {"DET2 0043 3000"}, 0.5: {"DET2 0043 3000", "DET2 0087 500"}} {
		device := with(`<DVC A="DVC1" B="drill"><DET A="DET1" B="1" C="1" E="0" F="0"/><DET A="DET2" B="2" C="4" E="1" F="1"/></DVC>`, properties...)
		track := oneTrack(t, newSheaf(t).set(device, oneTask).log("TLG00001", headerText("008D DET1"), rows([]value{{0, 1}})))
		assert.Empty(t, track.Notes)
		assert.Equal(t, []Section{{"DET2", -1.5, 1.5}}, track.Bar.Sections)
		assert.Equal(t, y, track.Bar.Y)
	}
}

// A drill whose sections are numbered from the right: the first bits of its states are
// of its right end.
func TestSectionsFromTheRight(t *testing.T) {
	right := drill
	for _, swap := range [][2]string{{"11", "14x"}, {"12", "13x"}, {"13", "12x"}, {"14", "11x"}} {
		right = strings.Replace(right, `C="4" E="`+swap[0]+`"`, `C="4" E="`+swap[1]+`"`, 1)
	}
	right = strings.ReplaceAll(right, `x" F="2"`, `" F="2"`)
	track := oneTrack(t, newSheaf(t).set(right, oneTask).log("TLG00001", headerText("00A1 DET2"), rows(
		[]value{{0, -256 + 0b00_00_00_01}}, []value{{0, -256 + 0b00_00_01_01}}, []value{{0, -256 + 0b01_00_00_00}})))
	assert.Equal(t, []Section{{"DET4", -4, -2}, {"DET5", -2, 0}, {"DET6", 0, 2}, {"DET7", 2, 4}}, track.Bar.Sections)
	assert.Equal(t, []string{"0001", "0011", "1000"}, onOff(track.States, track.State, 4))
}
