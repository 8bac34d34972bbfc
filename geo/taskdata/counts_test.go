package taskdata

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// totals makes a task whose effective time holds sums, each "ddi raw element".
func totals(sums ...string) string {
	var b strings.Builder
	for _, s := range sums {
		part := strings.Fields(s)
		fmt.Fprintf(&b, `<DLV A="%s" B="%s" C="%s"/>`, part[0], part[1], part[2])
	}
	return `<TSK A="TSK1" E="PFD1" G="4"><TIM A="2025-04-15T08:00:00" D="4">` + b.String() + `</TIM><TLG A="TLG00001" C="1"/><TLG A="TLG00002" C="1"/></TSK>`
}

// Sums are in SI units: 5,000 m² of entry 116, 1,500,000 mm of 117, 3,600 s of 119,
// 250 kg of 81 and 400 L of 80 (source: "ISO 11783-11 data dictionary export" for the
// units). Whichever element of the device stands first.
func TestSumsInUnits(t *testing.T) {
	spreader := `<DVC A="DVC1" B="spreader"><DET A="DET1" B="1" C="1" E="0" F="0"/><DET A="DET2" B="2" C="2" E="1" F="1"/><DET A="DET3" B="3" C="3" E="2" F="2"/></DVC>`
	for _, first := range []string{"DET1", "DET2", "DET3"} {
		set := newSheaf(t).set(barleyField, moved(t, spreader, first), totals("0074 5000 DET1", "0075 1500000 DET1", "0077 3600 DET1", "0051 250 DET3", "0050 400 DET3")).read()
		assert.Equal(t, Sums{Area: 5000, Distance: 1500, Time: 3600, Mass: 250, Volume: 0.4}, set.Sums(&set.Tasks[0], "DVC1", "DET2"), first)
	}
}

// Whose sum counts: the bar's, even of nothing; then that of what it is a part of, then
// that of other parts. One below nothing is none, and another entry or element is not
// meant.
func TestWhoseSum(t *testing.T) {
	spreader := `<DVC A="DVC1" B="spreader"><DET A="DET2" B="2" C="2" E="1" F="1"/><DET A="DET3" B="3" C="2" E="2" F="1"/><DET A="DET1" B="1" C="1" E="0" F="0"/></DVC>`
	for _, test := range []struct {
		sums []string
		want float64
	}{
		{[]string{"0074 9 DET3", "0074 8 DET1", "0074 7 DET2"}, 7},
		{[]string{"0074 9 DET3", "0074 8 DET1"}, 8},
		{[]string{"0074 9 DET3"}, 9},
		{[]string{"0074 8 DET1", "0074 0 DET2"}, 0},
		{[]string{"0074 8 DET1", "0074 -1 DET2"}, 8},
		{[]string{"0074 8 DET1", "0074 7 DET2", "0074 6 DET2"}, 6},
		{[]string{"0075 8 DET2", "0074 7 DET9"}, math.NaN()},
	} {
		set := newSheaf(t).set(barleyField, spreader, totals(test.sums...)).read()
		got := set.Sums(&set.Tasks[0], "DVC1", "DET2").Area
		assert.True(t, got == test.want || math.IsNaN(got) && math.IsNaN(test.want), "%v: %v", test.sums, got)
	}
}

// A sum of the logs is what the last of them said last; one that a log names and never
// tells is in the log before.
func TestSumOfTheLastLog(t *testing.T) {
	set := newSheaf(t).set(barleyField, drill, totals()).
		log("TLG00001", headerText("0074 DET2", "0077 DET2", "0075 DET2"), rows([]value{{0, 100}, {1, 60}}, []value{{0, 900}, {1, 600}, {2, 5000}})).
		log("TLG00002", headerText("0074 DET2", "0077 DET2"), rows([]value{{0, 1000}}, []value{{0, 1700}})).read()
	s := set.Sums(&set.Tasks[0], "DVC1", "DET2")
	assert.Equal(t, []float64{1700, 600, 5}, []float64{s.Area, s.Time, s.Distance})
}

// A sum is a number of 32 bits with a sign; a larger one is noted, and none is made up
// of what is left of it.
func TestSumsTooLarge(t *testing.T) {
	set := newSheaf(t).set(barleyField, drill, totals("0074 2147483647 DET2", "0075 2147483648 DET2", "0077 -2147483649 DET2", "0051 1.5 DET2")).read()
	s := set.Sums(&set.Tasks[0], "DVC1", "DET2")
	assert.Equal(t, 2147483647.0, s.Area)
	assert.True(t, math.IsNaN(s.Distance) && math.IsNaN(s.Time) && math.IsNaN(s.Mass))
	assert.Len(t, set.Tasks[0].Totals, 1)
	assert.Contains(t, noteTexts(set), `value of task TSK1 left out: A="0075" B="2147483648", want four hexadecimal digits and a 32-bit number`)
}

// A task holds the sums that a record can tell apart, and no more.
func TestMostSums(t *testing.T) {
	var many []string
	for i := range mostValues + 1 {
		many = append(many, fmt.Sprintf("0074 %d DET%d", i, i))
	}
	set := newSheaf(t).set(barleyField, totals(many...)).read()
	require.Len(t, set.Tasks[0].Totals, 256)
	assert.Equal(t, Total{TotalArea, "DET255", 255}, set.Tasks[0].Totals[255])
}

// So is a property: a length of 2³¹ mm is left out.
func TestPropertiesTooLarge(t *testing.T) {
	for raw, want := range map[string]int32{"2147483647": 2147483647, "-2147483648": -2147483648, "2147483648": 0, "-2147483649": 0, "3.5": 0} {
		set := newSheaf(t).set(with(`<DVC A="DVC1"><DET A="DET1" B="1" C="1" E="0" F="0"/></DVC>`, "DET1 0086 "+raw)).read()
		assert.Equal(t, want, set.Devices[0].Elements[0].Properties[OffsetX], raw)
		assert.Equal(t, want == 0, len(set.Notes) == 1, raw)
	}
}

// Elements of a device hang below each other by their numbers, of two with a number
// below the first; one whose parent is not there is at the top.
func TestTreeOfElements(t *testing.T) {
	set := newSheaf(t).set(`<DVC A="DVC1" B="drill"><DET A="DET1" B="5" C="1" E="0" F="0"/><DET A="DET2" B="6" C="2" E="1" F="5"/><DET A="DET3" B="6" C="2" E="2" F="5"/>
<DET A="DET4" B="8" C="4" E="3" F="6"/><DET A="DET5" B="9" C="4" E="4" F="77"/></DVC>`).read()
	var parents []int
	for _, e := range set.Devices[0].Elements {
		parents = append(parents, e.Parent)
	}
	assert.Equal(t, []int{-1, 0, 0, 1, -1}, parents)
	assert.Equal(t, []string{"element number of device DVC1 occurs twice; references mean the first",
		"element of device DVC1 belongs to one that is not there; taken as being at the top"}, noteTexts(set))

	// A ring is cut once, and what hangs below it stays there.
	set = newSheaf(t).set(`<DVC A="DVC1"><DET A="DET1" B="1" C="1" F="0"/><DET A="DET2" B="2" C="2" F="4"/><DET A="DET3" B="3" C="2" F="2"/>
<DET A="DET4" B="4" C="2" F="3"/><DET A="DET5" B="5" C="4" F="4"/><DET A="DET6" B="6" C="4" F="6"/></DVC>`).read()
	top := 0
	for _, e := range set.Devices[0].Elements {
		if e.Parent < 0 {
			top++
		}
	}
	assert.Equal(t, 3, top, "the device, one of the ring, and the one that hung below itself")
	assert.Equal(t, 3, set.Devices[0].Elements[4].Parent)
	assert.Equal(t, []string{"elements of device DVC1 belong to each other in a ring; cut"}, noteTexts(set))
}

// The words for types of elements (source: "ISO 11783-10 enumerations").
func TestElementTypes(t *testing.T) {
	for kind, want := range map[ElementType]string{0: "element of type 0", 1: "device", 2: "function", 4: "section", 6: "connector", 7: "navigation reference", 8: "element of type 8", -1: "element of type -1"} {
		assert.Equal(t, want, kind.String())
	}
}

// The values of entry 179, known up to 11; a device tells it by a property or in its
// log, there the last that says something.
func TestPractice(t *testing.T) {
	for raw, want := range map[int32]string{-1: "", 0: "", 1: "fertilizing", 11: "swathing", 12: "practice 12"} {
		assert.Equal(t, want, practiceWord(raw))
	}
	bare := `<DVC A="DVC1"><DET A="DET1" B="1" C="1" F="0"/><DET A="DET2" B="2" C="2" F="1"/></DVC>`
	for _, test := range []struct {
		device string
		values []string
		rows   [][]value
		want   string
	}{
		{bare, []string{"00B3 DET2"}, [][]value{{{0, 8}}, {{0, 0}}}, "harvesting"},
		{bare, []string{"00B3 DET2"}, [][]value{{{0, 8}}, {{0, 5}}, {{0, 0}}}, "baling"},
		{bare, []string{"00B3 DET9"}, [][]value{{{0, 8}}}, ""},
		{bare, []string{"00B3 DET1", "00B3 DET2"}, [][]value{{{0, 0}, {1, 4}}}, "tillage"},
		{bare, []string{"00B2 DET1"}, [][]value{{{0, 8}}}, ""},
		{with(bare, "DET2 00B3 3"), []string{"00B3 DET1"}, [][]value{{{0, 8}}}, "crop protection"},
	} {
		set := newSheaf(t).set(test.device, oneTask).log("TLG00001", headerText(test.values...), rows(test.rows...)).read()
		assert.Equal(t, [3]string{"", test.want, ""}, set.Operations(&set.Tasks[0], "DVC1", set.Tasks[0].Logs[0]), test.values)
	}
}

// A device is allocated once, however often a task names it; a log is read only if it
// is of the binary kind or says no kind, and each log once.
func TestTaskWithOddLists(t *testing.T) {
	set := newSheaf(t).set(barleyField, drill, tractor, `<TSK A="TSK1" E="PFD1"><DAN C="DVC2"/><DAN C="DVC1"/><DAN C="DVC2"/><DAN/><OTP A="CPC2"/><OTP A="CPC1"/>
<TLG A="TLG00001"/><TLG A="TLG00002" C="2"/><TLG A="tlg00001" C="1"/></TSK>`, `<CPC A="CPC1" B="mowing"/><CPC A="CPC2" B="baling"/>`,
		`<TSK A="TSK2" E="PFD1"><DAN C="DVC9"/><TLG A="TLG00001" C="1"/></TSK>`).
		log("TLG00001", headerText(), rows(nil, nil)).log("TLG00002", headerText(), rows(nil)).read()
	require.Len(t, set.Tasks, 2)
	assert.Equal(t, []string{"DVC2", "DVC1"}, set.Tasks[0].Devices)
	assert.Equal(t, "baling", set.Tasks[0].Practice, "the first that it names")
	require.Len(t, set.Tasks[0].Logs, 1)
	assert.Len(t, set.Tasks[0].Logs[0].Fixes, 2)
	assert.Empty(t, set.Tasks[1].Logs, "a log belongs to the task that names it first")
	assert.Equal(t, []string{`log TLG00002 of task TSK1 left out: type "2", want 1 (binary)`, "log tlg00001 of task TSK1 left out: it is named before",
		"log TLG00001 of task TSK2 left out: it is named before", "task TSK2 uses device DVC9, which the set does not hold"}, noteTexts(set))
}

// What is chosen of a set: by tasks, by fields, by devices, each as given.
func TestChoose(t *testing.T) {
	set := newSheaf(t).set(`<PFD A="PFD1"/><PFD A="PFD2"/>`, drill, tractor, `<TSK A="TSK1" E="PFD1"/><TSK A="TSK2" E="PFD2"/><TSK A="TSK3" E="PFD1"/>`).read()
	for _, test := range []struct {
		ids    []string
		tasks  []bool
		field2 bool
		drill  bool
	}{
		{nil, []bool{true, true, true}, true, true},
		{[]string{"PFD1"}, []bool{true, false, true}, false, true},
		{[]string{"PFD1", "TSK3", "DVC2"}, []bool{false, false, true}, false, false},
		{[]string{"TSK2", "DVC1"}, []bool{false, true, false}, true, true},
	} {
		c, err := set.Choose(test.ids)
		require.NoError(t, err)
		for i := range set.Tasks {
			assert.Equal(t, test.tasks[i], c.Task(&set.Tasks[i]), "%v: task %d", test.ids, i+1)
		}
		assert.Equal(t, test.field2, c.Field("PFD2"), test.ids)
		assert.Equal(t, test.drill, c.Device("DVC1"), test.ids)
		tasks, fields, devices := c.Names()
		text := strings.Join(test.ids, " ")
		assert.Equal(t, []bool{strings.Contains(text, "TSK"), strings.Contains(text, "PFD"), strings.Contains(text, "DVC")}, []bool{tasks, fields, devices})
	}
	_, err := set.Choose([]string{"PFD1", "PFD9"})
	assert.EqualError(t, err, `no field, task or device "PFD9" in the set`)
	_, err = set.Choose([]string{""})
	assert.Error(t, err)
}
