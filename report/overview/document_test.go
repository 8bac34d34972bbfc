package overview

import (
	"bytes"
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book"
)

func TestPage(t *testing.T) {
	d := &Document{Back: "./", Season: 2026, Chooser: book.Chooser{
		Seasons: []int{2026, 2025, 0}, Farms: []book.Farm{{ID: 0}, {ID: 3, Name: "Aspen"}, {ID: 5, Name: "Birch <i>"}},
		Crops: []string{"oats"}, Machines: []string{"drill A", "</script>"}, Operators: []string{"Ada Holt"},
		Some: true, Box: book.MapBox{Least: book.MapPlace{X: -98.5, Y: 57}, Most: book.MapPlace{X: -98.25, Y: 57.5}},
	}}
	var page bytes.Buffer
	require.NoError(t, d.Page(&page))
	for _, has := range []string{
		`<option value="2026" selected>2026</option><option value="2025">2025</option><option value="0">no clock</option>`,
		`<option value="0">all</option><option value="3">Aspen</option><option value="5">Birch &lt;i&gt;</option>`,
		`<summary>Crop, machine, operator, days</summary>`, `<select name="crop"><option value="">any</option><option>oats</option></select>`,
		`<option value="">any</option><option>drill A</option><option>&lt;/script&gt;</option>`,
		`<script type="application/json" id="start">{"box":[-98.5,57,-98.25,57.5]}</script>`,
		`content="` + Policy() + `"`,
	} {
		assert.Contains(t, page.String(), has)
	}
	var none bytes.Buffer
	require.NoError(t, (&Document{}).Page(&none))
	assert.Contains(t, none.String(), "Nothing stands in the book that you may see")
	assert.NotContains(t, none.String(), `id="start"`)
	d.Chooser.Crops = nil
	page.Reset()
	require.NoError(t, d.Page(&page))
	assert.Contains(t, page.String(), `<summary>Machine, operator, days</summary>`)
	assert.NotContains(t, page.String(), `name="crop"`, "no job says what grows")
}

// The page says what is drawn, and when not all of it is.
func TestSays(t *testing.T) {
	fields := []book.FieldOnMap{{ID: 1 << 62, Outline: "[[1,2,3,4,5,6]]", Attention: book.Skips}, {Name: "North", Outline: "[]", Attention: book.Laps}}
	for want, o := range map[string]*book.Overview{
		"No fields in view.": {},
		"12 fields in the squares in view: 3 with skips, 2 with laps, 1 not finished. Come nearer to see boundaries.": {Size: 0.5, Squares: []book.Square{{Fields: 2}, {Fields: 10, Skips: 3, Laps: 2, Unfinished: 1}}},
		"2 fields in the squares in view, none of which needs anything. Come nearer to see boundaries.":               {Size: 0.5, Squares: []book.Square{{Fields: 2}}},
		"2 fields in view: 1 with skips, 1 with laps.":                                                                {Fields: fields},
		"There are more fields here than there is room for: 2 fields are drawn. Come nearer, or choose fewer.":        {Fields: fields, FieldsLeft: true},
		"2 fields in view: 1 with skips, 1 with laps. The largest 2 skips are drawn; there are more.":                 {Fields: fields, Skips: []book.SkipOnMap{{Outline: "[]"}, {Outline: "[]"}}, SkipsLeft: true},
		"2 fields in view: 1 with skips, 1 with laps. 2 skips drawn.":                                                 {Fields: fields, Skips: []book.SkipOnMap{{Outline: "[]"}, {Outline: "[]"}}},
	} {
		assert.Equal(t, want, ViewOf(o).Says)
	}
	text, err := json.Marshal(ViewOf(&book.Overview{Fields: fields}))
	require.NoError(t, err)
	assert.Contains(t, string(text), `"fields":[{"id":"4611686018427387904","name":"field without a name","need":3,"outline":[[1,2,3,4,5,6]]}`)
}

// What is said of a field has both systems of units, and leaves out what is not known.
func TestField(t *testing.T) {
	f := FieldOf(&book.FieldFigures{Name: "North", Crop: "oats", Area: 647_497, Skipped: 4047, Skips: 2, Excess: 0, Machines: []string{"drill A", "drill B"}, Last: time.Date(2026, 5, 4, 15, 0, 0, 0, time.UTC)}, "field/1")
	said := map[string]Both{}
	for _, l := range f.Lines {
		said[l.Name] = l.Text
	}
	assert.Equal(t, map[string]Both{
		"Crop": {"oats", "oats"}, "Area": {"160.00\u00a0ac", "64.75\u00a0ha"}, "Skips": {"2, 1.00\u00a0ac", "2, 0.40\u00a0ha"}, "Worked twice": {"none", "none"},
		"Machines": {"drill A, drill B", "drill A, drill B"}, "Last worked": {"4 May 2026 (UTC)", "4 May 2026 (UTC)"},
	}, said)
	assert.Equal(t, "field/1", f.Link)
}
