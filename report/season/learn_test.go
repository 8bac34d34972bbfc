package season

import (
	"bytes"
	"io"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/coverage/assess/assesstest"
	"lapwing/coverage/figure"
	"lapwing/coverage/quantity"
	"lapwing/report/field"
)

// lapPass is a pass of a machine that kept a lap on its left, or on its right where right.
func lapPass(id int, machine, day string, aimed, kept, spread float64, right bool) assess.PassSummary {
	none := assess.LapSideSummary{Mean: figure.Metres(math.NaN())}
	side := assess.LapSideSummary{Along: 300, Mean: figure.Metres(kept)}
	p := assess.PassSummary{
		ID: id, Machine: machine, Kind: "interior", Day: day, Start: day + "T10:00:00Z", End: day + "T10:05:00Z", Length: 320,
		Lap: assess.LapKeptSummary{Aimed: figure.Metres(aimed), Planned: aimed > 0, Along: 300, Mean: side.Mean, Spread: figure.Metres(spread), Receiver: 0.0254, Left: side, Right: none},
	}
	if right {
		p.Lap.Left, p.Lap.Right = none, side
	}
	return p
}

// lapBook is a season of two operators and a machine without one: Ada over two days, on
// two fields.
func lapBook(t testing.TB) *Book {
	t.Helper()
	entry := func(name, dir string, machines []assess.MachineSummary, passes ...assess.PassSummary) *Entry {
		f := filesFor(t, &field.Document{Assessment: assesstest.Small()})
		e, err := ReadEntry("job.yaml", dir, bytes.NewReader(f.summary), f.sketch(t))
		require.NoError(t, err)
		e.Field.Name, e.Machines, e.Passes = name, machines, passes
		at, err := time.Parse(time.RFC3339, passes[0].Start)
		require.NoError(t, err)
		e.first, e.last = at, at
		return e
	}
	s := &Book{Entries: []*Entry{
		entry("Gannet Rise", "fields/a", []assess.MachineSummary{{Name: "drill", Operator: "Ada Holt"}, {Name: "sprayer"}},
			lapPass(1, "drill", "2026-05-04", 0.1016, 0.2032, 0.1016, false), lapPass(2, "drill", "2026-05-04", 0.1016, 0.2032, 0.1016, true),
			lapPass(3, "sprayer", "2026-05-04", 0, -0.127, 0.0254, false)),
		entry("Dunlin Corner", "fields/b", []assess.MachineSummary{{Name: "drill", Operator: "ada  holt"}, {Name: "other drill", Operator: "Bo"}},
			lapPass(1, "drill", "2026-05-06", 0.1016, 0.1016, 0.0254, false), lapPass(2, "other drill", "2026-05-06", 0, 0.0508, 0.0508, false)),
	}}
	s.Order()
	return s
}

func written(t testing.TB, write func(io.Writer) error) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, write(&b))
	return b.String()
}

// operatorPages are the files of all operators by their names.
func operatorPages(t testing.TB, s *Book) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, f := range s.OperatorFiles() {
		out[f.Name] = written(t, f.Write)
	}
	return out
}

// Each operator has a page of their own, whatever field they drove on, however their name
// is spaced; a machine that no job names one for has it.
func TestOperatorPages(t *testing.T) {
	s := lapBook(t)
	pages := operatorPages(t, s)
	require.Len(t, pages, 6)
	ada := pages["operators/ada-holt.html"]
	require.NotEmpty(t, ada)
	// By hand: 300 m each of 8, 8 and 4 in, mean 20/3; the aim was 4 in.
	assert.Contains(t, ada, "On the mean a lap of 6.7\u00a0in was kept where 4.0\u00a0in was aimed for;")
	assert.Contains(t, ada, "3\u00a0passes on 2\u00a0days")
	assert.Contains(t, ada, "Spread on the first day 4.0\u00a0in, on the last 1.0\u00a0in.")
	assert.Contains(t, ada, "The receivers alone move such a lap by about 1.0\u00a0in.")
	for _, other := range []string{">Bo<", "sprayer", "other drill"} {
		assert.NotContains(t, ada, other, "a page says nothing of anybody else")
	}
	assert.Contains(t, ada, `href="../fields/a/report.html"`)
	assert.Contains(t, ada, `<nav aria-label="Season book"><a href="../season.html">`)
	days := cellsOf(t, ada, "days")
	require.Len(t, days, 2)
	assert.Equal(t, []string{"6 May 2026", "1", "984 ft", "4.0 in", "4.0 in", "0.0 in", "1.0 in", "1.0 in"}, days[0], "the last day first")
	assert.Equal(t, []string{"4 May 2026", "2", "1,969 ft", "4.0 in", "8.0 in", "4.0 in", "4.0 in", "1.0 in"}, days[1])
	assert.Contains(t, ada, "6\u00a0May 2026: 1\u00a0pass, lap kept 4.0\u00a0in, spread 1.0\u00a0in")

	var nameless string
	for name, page := range pages {
		if strings.HasPrefix(name, "operators/machine-sprayer-") && strings.HasSuffix(name, ".html") {
			nameless = page
		}
	}
	assert.Contains(t, nameless, "<h1><bdi>sprayer</bdi></h1>")
	assert.Contains(t, nameless, "not named in the job")
	assert.Contains(t, nameless, "On the mean a gap of 5.0\u00a0in was kept where the job plans none, and bars are taken to meet edge to edge;")
	assert.Contains(t, nameless, ">edge to edge<")
	assert.Contains(t, nameless, "\u22125.0\u00a0in")
}

// One flag leaves operators out of all that is for all, and of nothing of their own.
func TestNoOperators(t *testing.T) {
	named, without := lapBook(t), lapBook(t)
	without.NoOperators = true
	forAll := func(s *Book) string {
		all := ""
		for _, f := range Files.Of(s) {
			all += written(t, f.Write)
		}
		return all
	}
	assert.Contains(t, bookPage(t, named), `<a href="operators/ada-holt.html"><bdi>ada holt</bdi></a>`)
	assert.Contains(t, bookPage(t, named), `<a href="operators/machine-sprayer-`)
	assert.Contains(t, bookPage(t, named), "By operator")
	all := forAll(without)
	assert.Contains(t, forAll(named), "Ada Holt")
	for _, gone := range []string{"Ada", "ada  holt", "ada holt", ">Bo<", "By operator", `href="operators/`, "Operators named"} {
		assert.NotContains(t, all, gone)
	}
	before, after := operatorPages(t, named), operatorPages(t, without)
	require.Len(t, after, len(before))
	for name := range before {
		assert.Equal(t, strings.ReplaceAll(before[name], named.run(), ""), strings.ReplaceAll(after[name], without.run(), ""), name)
	}
	assert.NotEqual(t, named.run(), without.run(), "they say different things")
}

// Laps as a table: a line for each pass, empty where no lap was kept.
func TestLapsCSV(t *testing.T) {
	s := lapBook(t)
	s.Entries[0].Passes[0].Lap = assess.LapKeptSummary{Mean: figure.Metres(math.NaN()), Spread: figure.Metres(math.NaN()), Receiver: figure.Metres(math.NaN())}
	all := readCSV(t, s.LapsCSV)
	require.Len(t, all, 5)
	assert.Equal(t, "", all[0]["lap_mean_m"])
	assert.Equal(t, "0", all[0]["lap_along_m"])
	for _, row := range all[1:] {
		assert.NotEmpty(t, row["lap_mean_m"])
		assert.NotEmpty(t, row["day"])
	}
	bo := csvRows(t, operatorPages(t, s)["operators/bo-"+slugOf("bo")[3:]+".csv"])
	require.Len(t, bo, 1)
	assert.Equal(t, "0.0508", bo[0]["lap_mean_m"])
	assert.Equal(t, "Bo", bo[0]["operator"])
}

// Names of files are plain, keep names apart, and never lead out of their folder.
func TestOperatorSlugs(t *testing.T) {
	assert.Equal(t, "ada-holt", slugOf(operatorKey(" Ada  HOLT ", "drill")))
	seen := map[string]string{"ada-holt": "Ada Holt"}
	for _, name := range []string{"Ada-Holt", "../../ada holt", "Per Ödegård", "Per Odegard.", "Åse", "Con", "nul", "Bo", "شمال", strings.Repeat("unbroken ", 30), "", "machine: "} {
		slug := slugOf(operatorKey(name, "drill"))
		assert.Regexp(t, `^[a-z0-9-]{4,60}$`, slug, name)
		assert.Empty(t, seen[slug], "%q and %q have one name", name, seen[slug])
		seen[slug] = name
	}
}

// A machine that laps on the one side what it leaves bare on the other hangs, and its
// driver is not told of a spread.
func TestLearnPageTellsOfABarThatHangs(t *testing.T) {
	s := lapBook(t)
	e := s.Entries[slices.IndexFunc(s.Entries, func(e *Entry) bool { return e.Name() == "Gannet Rise" })]
	for i := range e.Passes {
		if e.Passes[i].Machine != "drill" {
			continue
		}
		e.Passes[i] = lapPass(i+1, "drill", "2026-05-04", 0, 0.508*float64(1-2*(i%2)), 0.0254, i%2 == 1)
	}
	s.Entries = []*Entry{e}
	page := operatorPages(t, s)["operators/ada-holt.html"]
	assert.Contains(t, page, "drill on Gannet Rise: 20.0\u00a0in of lap on the left, \u221220.0\u00a0in on the right")
	assert.Contains(t, page, "; spread 1.0\u00a0in,")
}

// Whoever has kept no lap yet is told so, and no figure is made up.
func TestLearnPageWithoutLaps(t *testing.T) {
	s, _ := book(t) // the small field's passes run beside none
	s.Units = quantity.Metric
	pages := operatorPages(t, s)
	ida := pages["operators/ida-falk.html"]
	assert.Contains(t, ida, "there is no lap to tell of yet")
	assert.NotContains(t, ida, "NaN")
	assert.NotContains(t, ida, `class="chart`)
}

var (
	tableRows  = regexp.MustCompile(`(?s)<tr[^>]*>(.*?)</tr>`)
	tableCells = regexp.MustCompile(`(?s)<t[hd][^>]*>(.*?)</t[hd]>`)
	elements   = regexp.MustCompile(`<[^>]*>`)
)

// cellsOf are the texts in the body of a table of a page.
func cellsOf(t testing.TB, page, id string) (out [][]string) {
	t.Helper()
	_, table, found := strings.Cut(page, `<table id="`+id+`"`)
	require.True(t, found)
	table, _, _ = strings.Cut(table, "</table>")
	_, body, _ := strings.Cut(table, "<tbody>")
	for _, row := range tableRows.FindAllStringSubmatch(body, -1) {
		var cells []string
		for _, cell := range tableCells.FindAllStringSubmatch(row[1], -1) {
			cells = append(cells, strings.ReplaceAll(elements.ReplaceAllString(cell[1], ""), "\u00a0", " "))
		}
		out = append(out, cells)
	}
	return out
}
