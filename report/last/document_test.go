package last

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/assess/assesstest"
	"lapwing/coverage/beside"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/mend"
	"lapwing/coverage/quantity"
	"lapwing/coverage/work"
	"lapwing/geo/plane"
	"lapwing/report/words"
)

// measured measures lanes of 300 m, see [covertest.Lanes], and asks about the
// last pass of each machine.
func measured(t testing.TB, line string) *Document {
	t.Helper()
	s := covertest.Lanes(line, 300)
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	m.Field.Name = "Lanes"
	r := &assess.Assessment{Reckoning: agronomy.Reckon(m, nil, nil), Run: "b1e0-77", MinArea: plane.SquareMetre, EdgeTolerance: m.Headland.Edge.Tolerance}
	r.Last, err = r.LastPasses(assess.LastQuestion{Machine: -1})
	require.NoError(t, err)
	r.Verdict, err = r.Judge(assess.LastQuestion{Machine: -1})
	require.NoError(t, err)
	return New(r)
}

func textOf(t *testing.T, l *Document) string {
	t.Helper()
	var b strings.Builder
	require.NoError(t, l.Text(&b))
	return b.String()
}

// small asks about two passes of the small report, with seams made by hand:
// a gap on the left of the first in two places, and a lap of a hand on its
// right; the second has no neighbour yet.
func small() *Document {
	r := assesstest.Small()
	first, second := &r.Map.Passes[len(r.Map.Passes)-1], &r.Map.Passes[0]
	metre := plane.Distance(plane.Metre)
	left := beside.Seam{Beside: first.Length, Open: 45 * metre, Mean: 0.02 * metre, WidestGap: 0.35 * metre, WidestLap: 0.2 * metre}
	right := beside.Seam{Beside: first.Length, Mean: 0.1 * metre, WidestLap: 0.15 * metre}
	for from := plane.Distance(0); from < first.Length; from += metre {
		by := 0.1 * metre
		if back := (first.Length - from) / metre; back < 30 || back > 60 && back < 75 {
			by = -0.35 * metre
		}
		to := min(from+metre, first.Length)
		left.Marks = append(left.Marks, beside.SeamStretch{From: from, To: to, Beside: true, By: by})
		right.Marks = append(right.Marks, beside.SeamStretch{From: from, To: to, Beside: from > 20*metre, By: 0.1 * metre})
	}
	left.Gaps = []beside.SeamGap{
		{From: first.Length - 75*metre, To: first.Length - 60*metre, Widest: 0.35 * metre, At: assesstest.At(40, 60)},
		{From: first.Length - 30*metre, To: first.Length, Widest: 0.35 * metre, At: assesstest.At(40, 90)},
	}
	alone := beside.Seam{Alone: second.Length}
	skips := r.Mistakes()[:2]
	for i := range r.Map.Machines {
		im := &r.Map.Machines[i].Implement
		im.Sections = machine.EqualSections(im.Width, 4)
	}
	r.Verdict = assess.Verdict{
		Findings: []assess.Finding{assess.HeadlandOpen, assess.GoBack, assess.CannotSay}, Openings: []assess.OpenStretch{{Length: 30 * plane.Distance(plane.Metre), Max: 12 * plane.Distance(plane.Metre), At: r.Map.Headland.Edge.Openings[0].At}},
		Back:  &assess.Mending{Plan: mend.New(r.Map, mend.Options{Skips: skips, All: true, Start: assesstest.At(60, 100)})},
		Alone: []assess.LonePass{{ID: second.ID, Alone: second.Length, Length: second.Length}},
	}
	return &Document{Assessment: r, Passes: []Pass{
		{Pass: first, Left: left, Right: right, Stands: assesstest.At(60, 100)},
		{Pass: second, Left: alone, Right: alone, Stands: assesstest.At(-60, 100)},
	}}
}

func TestLastGoldens(t *testing.T) {
	l := small()
	assesstest.Golden(t, "last.us.txt", l.Text)
	assesstest.Golden(t, "last.json", l.JSON)
	assesstest.Golden(t, "last.html", l.Page)
	l.Units = quantity.Metric
	assesstest.Golden(t, "last.metric.txt", l.Text)
}

// The verdict answers the question: did the last pass join?
func TestLastVerdict(t *testing.T) {
	for lines, want := range map[string]string{
		"0-30: 0-10 9.9-19.9":              "Pass 2 joined its neighbour along its whole length.",
		"0-30: 0-10 10.5-20.5":             "Pass 2 is open along ",
		"0-30: 0-10":                       "Pass 1 ran along the boundary; no other pass is beside it.",
		"0-60: 30-40":                      "Pass 1 has no neighbour yet.",
		"0-30: a0-10 b9.9-19.9 b20.9-30.9": "Pass 3 of b is open along ",
	} {
		l := measured(t, lines)
		for i := range l.Passes {
			l.Passes[i].Pass.Headland = false // a field of a few lanes is headland all over
		}
		assert.Contains(t, strings.Join(l.Also(quantity.US), " "), want, lines)
	}
}

// Where the headland was just worked, whether it closed comes first; else the
// seam does.
func TestLastHeadlandFirst(t *testing.T) {
	l := measured(t, "0-40: 0-10 9.8-19.8")
	l.Passes[0].Pass.Headland = true
	assert.Regexp(t, `(?s)^[^.]*\.\sHeadland open`, textOf(t, l))
	l.Passes[0].Pass.Headland = false
	assert.Regexp(t, `(?s)^[^.]*\.\sPass\s2\sjoined`, textOf(t, l))
}

// Whatever there is to say, it is one screenful.
func TestLastFitsTheScreen(t *testing.T) {
	many := "0-200: "
	for i := range 9 {
		many += fmt.Sprintf("%c%g-%g ", 'a'+i, 20*float64(i), 20*float64(i)+10)
		many += fmt.Sprintf("%c%g-%g ", 'a'+i, 20*float64(i)+10.5, 20*float64(i)+20.5)
	}
	for _, line := range []string{"0-40: 0-10 9.8-19.8 20.4-30.4", many} {
		for _, u := range []quantity.Units{quantity.US, quantity.Metric} {
			l := measured(t, line)
			l.Units = u
			for i := range l.Map.Machines {
				l.Map.Machines[i].Name = strings.Repeat("the long name of a machine ", 4)
			}
			text := textOf(t, l)
			assert.LessOrEqual(t, strings.Count(text, "\n"), lines, text)
			for row := range strings.Lines(text) {
				assert.LessOrEqual(t, len([]rune(strings.TrimSuffix(row, "\n"))), words.Width, row)
			}
		}
	}
}

// Far back and near: a gap is told from the end of the pass.
func TestGapWords(t *testing.T) {
	p := &coverage.Pass{Pass: work.Pass{Length: 300 * plane.Distance(plane.Metre)}}
	for _, c := range []struct {
		from, to float64 // m from the start
		want     string
	}{
		{0, 100, "from 300 m to 200 m back, right-hand end: 40 cm bare"},
		{155, 160, "145 m back, right-hand end: 40 cm bare"},
		{280, 299.5, "from 20 m back to where the pass ended, right-hand end: 40 cm bare"},
	} {
		g := beside.SeamGap{From: plane.DistanceOf(c.from), To: plane.DistanceOf(c.to), Widest: plane.DistanceOf(0.4)}
		assert.Equal(t, c.want, gapWords(quantity.Metric, p, &g, "right"))
	}
}

func TestLastWithoutPasses(t *testing.T) {
	l := New(assesstest.Empty())
	assert.Equal(t, "No pass yet.\n", textOf(t, l))
	var b strings.Builder
	require.NoError(t, l.Page(&b))
	assert.Contains(t, b.String(), "No pass yet")
}
