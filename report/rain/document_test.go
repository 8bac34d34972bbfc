package rain

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/field"
	"lapwing/coverage/quantity"
	"lapwing/coverage/rain"
	"lapwing/geo"
	"lapwing/geo/plane"
)

func area(m2 float64) plane.Area { return plane.Area(m2 * float64(plane.SquareMetre)) }

// fieldOf is a field 800 m by so many metres, so many metres east of a place of no
// meaning.
func fieldOf(t *testing.T, name string, high, east float64) field.Field {
	frame := geo.NewFrame(geo.LonLat{Lon: 9.5, Lat: 58})
	var shell []geo.LonLat
	for _, c := range [][2]float64{{-400, -high / 2}, {400, -high / 2}, {400, high / 2}, {-400, high / 2}} {
		shell = append(shell, frame.FromMetres(east+c[0], c[1]))
	}
	f, err := field.NewField(name, []geo.Polygon{{Shell: shell}})
	require.NoError(t, err)
	return f
}

// high is how high the fields to come are, in turn, in metres.
var high = []float64{80, 160, 240, 80, 150, 240, 80}

// document is a drill of 10 m that worked three fields alike, 18,600 s each of 400 m
// height, and fields to come: 3,720 s for each 80 m. Rain comes after twelve hours.
func document(t *testing.T, names ...string) *Document {
	c := &rain.Crew{Machines: []string{"drill"}, At: geo.LonLat{Lon: 9.5, Lat: 58},
		Tanks: []rain.Tank{{Machine: "drill", Product: "UAN", Ground: area(50_000), Left: area(10_000)}}}
	for i := range 3 {
		c.Worked = append(c.Worked, rain.Worked{
			Name: fmt.Sprint("done ", i), Ground: rain.Ground{Area: area(320_000), Breadth: plane.DistanceOf(400)},
			By: []rain.Spent{{Machine: "drill", Width: 10 * plane.Metre, New: area(320_000), Swept: area(320_000), Passes: 40,
				Working: 16_000 * time.Second, Turning: 800 * time.Second, Stopped: 1800 * time.Second}},
		})
	}
	zone := time.FixedZone("CEST", 2*3600)
	begin := time.Date(2026, 5, 4, 6, 0, 0, 0, zone)
	q := &rain.Question{Hours: rain.Hours{Now: geo.InstantOf(begin), Zone: zone, Day: rain.Day{From: 6 * time.Hour, To: 21 * time.Hour}}, Rain: begin.Add(12 * time.Hour)}
	for i, name := range names {
		q.Next = append(q.Next, fieldOf(t, name, high[i%len(high)], float64(1000*i)))
	}
	return &Document{Crew: c, Question: q, Plan: rain.New(c, q)}
}

func TestTerminal(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, document(t, "ash", "birch", "cedar", "dogwood", "elm", "fir", "gorse").Text(&b))
	// 1,030 m are to come, 47,895 s, and the rain comes after 43,200 s. Without any of
	// 80 m they are 44,175 s, too long; without the 150 m 40,920 s. With the least factor
	// of 1.05 that is 42,966 s: sure.
	assert.Equal(t, `
Before the rain at 18:00: 6 of 7 fields, 173.96 ac: ash, birch, cedar, dogwood,
fir, gorse. Do not begin elm.
`, b.String()[:strings.Index(b.String(), "  1. ")])
	assert.Contains(t, b.String(), "\n  1. ash, 15.81 ac, yes: 06:00 to 07:02 (06:59 to 07:05); fills: 2 of UAN\n")
	assert.Contains(t, b.String(), "\n  leave: elm, 29.65 ac, no: ")
	b.Reset()
	require.NoError(t, document(t, "the long field beyond the old mill", "birch").Text(&b))
	assert.Contains(t, b.String(), "\n  1. the long field beyond the old mill, 15.81 ac, yes: 06:00 to 07:02 (06:59\n     to 07:05); fills: 2 of UAN\n")
	for line := range strings.Lines(b.String()) {
		assert.LessOrEqual(t, len(line), 80, line)
	}
}

func TestNothingIsBegunInVain(t *testing.T) {
	d := document(t, "ash")
	d.Rain = d.Rain.Add(-11*time.Hour - 30*time.Minute)
	d.Plan = rain.New(d.Crew, d.Question)
	assert.Equal(t, "Before the rain at 06:30 the one field is not done: begin none.", d.verdict(quantity.US))
	assert.Empty(t, d.rest(quantity.US))

	d = document(t, "ash")
	d.Crew.Begun = []rain.Begun{{Name: "home", Left: rain.Ground{Area: area(320_000), Breadth: plane.DistanceOf(400)}}}
	d.Rain = d.Rain.Add(-8 * time.Hour)
	d.Plan = rain.New(d.Crew, d.Question)
	assert.Equal(t, []string{"First finish home: 79.07 ac not worked yet, done about 11:10: after the rain."}, d.rest(quantity.US))
}

// The page says in words what rain.json says in figures, and holds no one else's markup.
func TestPageAndJSON(t *testing.T) {
	d := document(t, "ash", "<b>birch</b>", "cedar")
	var page, text bytes.Buffer
	require.NoError(t, d.Page(&page))
	require.NoError(t, d.JSON(&text))
	assert.Contains(t, page.String(), "1. ash")
	assert.Contains(t, page.String(), "2. &lt;b&gt;birch&lt;/b&gt;")
	assert.Contains(t, page.String(), "Times in CEST, of 4 May where no date stands.")
	assert.Contains(t, page.String(), "UAN on drill for 2.47\u00a0ac", "what is in the tank now")
	assert.Contains(t, page.String(), "A forecast is no promise")
	assert.Contains(t, page.String(), "who knows the ground decides")
	assert.NotContains(t, page.String(), "ammonia")
	var s summary
	require.NoError(t, json.Unmarshal(text.Bytes(), &s))
	assert.Equal(t, Schema, s.Schema)
	assert.Contains(t, page.String(), "run "+s.Run)
	assert.Equal(t, 3, s.Done)
	assert.Equal(t, "2026-05-04T16:00:00Z", s.Rain)
	require.Len(t, s.Fields, 3)
	assert.InDelta(t, 3720, float64(s.Fields[0].Takes), 1)
	assert.Equal(t, 2, s.Fields[0].Fills[0].Count)
	assert.Equal(t, rain.Yes, s.Fields[0].Before)
	require.NotNil(t, s.Fields[0].Stand)
	assert.Contains(t, page.String(), fmt.Sprintf("geo:%.6f,%.6f", s.Fields[0].Stand.Lat, s.Fields[0].Stand.Lon))

	d.Ammonia = true
	page.Reset()
	require.NoError(t, d.Page(&page))
	assert.Contains(t, page.String(), "Anhydrous ammonia")
}
