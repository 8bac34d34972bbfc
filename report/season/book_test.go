package season

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/coverage/assess/assesstest"
	"lapwing/coverage/cause"
	"lapwing/coverage/figure"
	"lapwing/coverage/quantity"
	"lapwing/coverage/season"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/report/field"
	"lapwing/report/page"
)

// files are the two files of an assessment that a season reads.
type files struct {
	summary, shapes []byte
	leaf            *page.Leaf
}

// sketch is of the shapes, kept and read again.
func (f files) sketch(t testing.TB) *Sketch {
	t.Helper()
	drawn, err := Draw(bytes.NewReader(f.shapes))
	require.NoError(t, err)
	drawn.Leaf, drawn.Mend = f.leaf, "mend.html"
	text, err := json.Marshal(drawn)
	require.NoError(t, err)
	again := &Sketch{}
	require.NoError(t, json.Unmarshal(text, again))
	require.Equal(t, drawn, again)
	return again
}

func filesFor(t testing.TB, r *field.Document) files {
	t.Helper()
	var summary, shapes bytes.Buffer
	require.NoError(t, r.WriteSummary(&summary))
	require.NoError(t, r.GeoJSON(&shapes))
	return files{summary.Bytes(), shapes.Bytes(), r.Leaf()}
}

// yearBefore moves the work of a report back by a year.
func yearBefore(r *field.Document) *field.Document {
	for i := range r.Map.Passes {
		p := &r.Map.Passes[i]
		p.Start = geo.InstantOf(p.Start.Time().AddDate(-1, 0, 0))
		p.End = geo.InstantOf(p.End.Time().AddDate(-1, 0, 0))
	}
	return r
}

// book is a season of the small field in two years, one with nothing done on
// it, and a job that failed.
func book(t testing.TB) (*Book, map[string]files) {
	t.Helper()
	idle := &field.Document{Assessment: assesstest.Empty()}
	idle.Map.Field.Name = "Dunlin Corner"
	all := map[string]files{}
	s := &Book{Failed: []Failure{{"jobs/wrong.yaml", `jobs/wrong.yaml:3: machinse: unknown key "machinse", want "machines"`}}}
	for _, entry := range []struct {
		dir string
		r   *field.Document
	}{{"fields/small", &field.Document{Assessment: assesstest.Small()}}, {"fields/before", yearBefore(&field.Document{Assessment: assesstest.Small()})}, {"fields/idle", idle}} {
		f := filesFor(t, entry.r)
		all[entry.dir] = f
		read, err := ReadEntry(strings.Replace(entry.dir, "fields", "jobs", 1)+".yaml", entry.dir, bytes.NewReader(f.summary), f.sketch(t))
		require.NoError(t, err)
		s.Entries = append(s.Entries, read)
	}
	earlier, err := ReadSkips(bytes.NewReader(all["fields/before"].shapes))
	require.NoError(t, err)
	later, err := ReadSkips(bytes.NewReader(all["fields/small"].shapes))
	require.NoError(t, err)
	c, err := season.Compare(earlier, later)
	require.NoError(t, err)
	s.Returns = []Return{{Earlier: s.Entries[1], Later: s.Entries[0], Comparison: c}}
	s.Order()
	return s, all
}

func bookPage(t testing.TB, s *Book) string {
	t.Helper()
	return written(t, s.Page)
}

// An entry read back says what the report it was written from says.
func TestEntryReadsBack(t *testing.T) {
	r := &field.Document{Assessment: assesstest.Small()}
	f := filesFor(t, r)
	s, err := ReadEntry("job.yaml", "fields/x", bytes.NewReader(f.summary), f.sketch(t))
	require.NoError(t, err)
	g := r.Map.Totals
	assert.Equal(t, r.Map.Field.Name, s.Name())
	assert.InDelta(t, g.Field.SquareMetres(), s.Field.Area.Float(), 1e-9)
	assert.InDelta(t, (g.Skip - g.Remainder).SquareMetres(), s.skipped(), 1e-6)
	assert.InDelta(t, g.Excess.SquareMetres(), s.Ground.Excess.Float(), 1e-9)
	assert.Equal(t, "Ida Falk", s.operator("north drill"))
	assert.Equal(t, r.Map.Passes[0].Start.Time().Year(), s.Year())
	assert.Len(t, r.Mistakes(), s.skips())
	assert.NotEmpty(t, s.sketch.Map.Marks)

	_, err = ReadEntry("job.yaml", "fields/x", bytes.NewReader(f.summary[:200]), f.sketch(t))
	assert.ErrorContains(t, err, "fields/x/summary.json")
	for name, broken := range map[string][]byte{"half": f.shapes[:len(f.shapes)/2], "no features": []byte("{}")} {
		_, err := Draw(bytes.NewReader(broken))
		assert.Error(t, err, name)
	}
}

// Each season is told by itself: what was skipped the year before is in its own list
// and in the change, and nowhere in what needs attention now.
func TestSeasonAnswers(t *testing.T) {
	s, _ := book(t)
	require.Equal(t, []int{1, 2, 3}, []int{s.Entries[0].Number, s.Entries[1].Number, s.Entries[2].Number})
	assert.Equal(t, "Dunlin Corner", s.Entries[1].Name(), "nothing to go back for")
	assert.Equal(t, 2025, s.Entries[2].Year(), "the last season comes first")
	seasons := s.seasons()
	require.Len(t, seasons, 2)
	assert.Equal(t, s.Entries[:2], seasons[0].entries, "one with nothing done on it may still be acted on")
	assert.Equal(t, s.Entries[2:], seasons[1].entries)
	said := strings.Join(s.answer(quantity.US), " ")
	assert.Contains(t, said, "2026: 2 fields, ")
	assert.Contains(t, said, "3 skips on 1 field, 0.39 ac of skipped ground in all.")
	assert.Contains(t, said, "Headland open on 2 fields, ")
	assert.Contains(t, said, "As much skipped as in 2025 on 1 field of both years.")
	assert.Contains(t, said, "0.39 ac of skips lay where there were skips in an earlier year.")
	assert.Contains(t, said, "1 job could not be assessed.")
	assert.Contains(t, strings.Join(seasons[1].answer(quantity.US), " "), "2025: 1 field, ")
	assert.Equal(t, "Season book 2025 to 2026", s.title())

	none := &Book{Failed: s.Failed}
	assert.Equal(t, []string{"No field could be assessed; see why below.", "1 job could not be assessed."}, none.answer(quantity.US))
	said = bookPage(t, none)
	assert.Contains(t, said, "Could not be assessed")
	assert.NotContains(t, said, "NaN")
}

// The counts of the sentence are those of the list under it.
func TestSeasonSentenceCountsTheList(t *testing.T) {
	s, _ := book(t)
	for _, y := range s.seasons() {
		list, total := y.fieldTable(), y.total()
		skips, withSkips, open := 0, 0, 0
		for _, row := range list.Rows {
			n, err := strconv.Atoi(row.Cells[5].Text.Shown)
			require.NoError(t, err)
			skips += n
			if n > 0 {
				withSkips++
			}
			if row.Cells[9].Sort != "0" {
				open++
			}
		}
		assert.Equal(t, []string{"Skips", "Edge open"}, []string{list.Columns[5].Name, list.Columns[9].Name})
		assert.Len(t, list.Rows, len(y.entries))
		assert.Equal(t, y.titleBlock()[0].Text.Shown, strconv.Itoa(len(list.Rows)))
		assert.Equal(t, []int{total.skips, total.skipFields, total.openFields}, []int{skips, withSkips, open})
	}
}

func squareMetres(m2 float64) figure.SquareMetres {
	return figure.SquareMetres(m2 * float64(plane.SquareMetre))
}

// What changed has a sign, and what is the same has none.
func TestSeasonChange(t *testing.T) {
	s, _ := book(t)
	y := s.seasons()[0]
	acre := squareMetres(quantity.Acre)
	s.Entries[0].Ground.Excess += acre
	s.Entries[0].Headland.Edge.Open -= 30.48 // 100 ft
	s.Entries[0].Ground.Skip -= acre / 10
	row := y.changeTable().Rows[0]
	var said []string
	for _, c := range row.Cells[2:] {
		said = append(said, c.Text.US)
	}
	assert.Equal(t, []string{"2025", "\u22120.10", "\u2212100", "+1.00", "0.00", "0"}, said)
	assert.Contains(t, strings.Join(y.answer(quantity.US), " "), "0.10 ac less skipped than in 2025 on 1 field of both years.")
	assert.Empty(t, s.seasons()[1].changeTable().Rows, "nothing before the first")
}

// One measure ranks the whole list: money where each field with skips is priced, in one
// currency; else ground, the open edge a row wide.
func TestSeasonRanks(t *testing.T) {
	entry := func(name string, skip, open, row, net float64, currency string) *Entry {
		e := &Entry{Summary: &assess.Summary{}, sketch: &Sketch{Row: row}}
		e.Field.Name, e.Ground.Skip, e.Headland.Edge.Open = name, squareMetres(skip), figure.Metres(open)
		if currency != "" {
			v := figure.Number(net)
			e.Loss = &assess.LossSummary{Net: &v, Currency: currency}
		}
		return e
	}
	order := func(entries ...*Entry) (names []string, said string) {
		s := &Book{Entries: entries}
		s.Order()
		for _, e := range s.Entries {
			names = append(names, e.Name())
		}
		return names, s.seasons()[0].fieldTable().Caption
	}
	names, said := order(entry("wheat", 900, 0, 0, 40, "EUR"), entry("seed", 300, 0, 0, 90, "EUR"), entry("shut", 0, 0, 0, 0, ""))
	assert.Equal(t, []string{"seed", "wheat", "shut"}, names)
	assert.Contains(t, said, "Ranked by what going back would bring")

	unpriced := entry("c", 500, 1000, 0.25, 0, "") // 500 m² and 250 m² along the edge
	names, said = order(entry("a", 700, 0, 0.25, 40, "EUR"), entry("b", 300, 0, 0.25, 90, "EUR"), unpriced)
	assert.Equal(t, []string{"c", "a", "b"}, names)
	assert.Contains(t, said, "Ranked by the ground to go back for")
	assert.Equal(t, 750.0, unpriced.toGoBackFor())
	assert.InDelta(t, 500+304.8, entry("d", 500, 1000, 0, 0, "").toGoBackFor(), 1e-9, "a foot where no job says")

	names, _ = order(entry("a", 300, 0, 0, 90, "EUR"), entry("b", 900, 0, 0, 40, "USD"))
	assert.Equal(t, []string{"b", "a"}, names, "two currencies are no measure")
}

// A skip that is likely the outline's is none in its season's list, and does not come
// back either.
func TestOutlinesDoNotComeBack(t *testing.T) {
	s, all := book(t)
	again := func() plane.Area {
		s.Returns = nil
		require.NoError(t, s.FindReturns(func(entry *Entry) (io.ReadCloser, error) {
			return io.NopCloser(bytes.NewReader(all[entry.Dir].shapes)), nil
		}))
		require.Len(t, s.Returns, 1)
		return s.Returns[0].Again
	}
	before := again()
	later := s.Returns[0].Later
	i := slices.IndexFunc(later.Skips, func(k assess.SkipSummary) bool { return k.Cause != cause.Unworked })
	later.Skips[i].Outlined = true
	// The shapes were rounded to nine decimals of a degree.
	assert.InDelta(t, (before - plane.Area(later.Skips[i].Area)).SquareMetres(), again().SquareMetres(), 0.02)
}

// Of many pairs the list has a place for each skip of the later year, the most ground
// first, and no more than one can look into.
func TestSkipsThatComeBackAreAShortList(t *testing.T) {
	s, _ := book(t)
	r := &s.Returns[0]
	r.Returns = nil
	for i := range 400 {
		area := plane.Area(1+i%40) * 3 * plane.SquareMetre
		r.Returns = append(r.Returns, season.Return{Earlier: i, Later: i % 40, Area: area, At: geo.LonLat{Lon: 1, Lat: 2}})
	}
	c := s.seasons()[0].comeBack()
	require.Len(t, c.Table.Rows, mostPlaces)
	assert.Equal(t, "skip 39", c.Table.Rows[0].Cells[3].Text.Shown)
	assert.Equal(t, "0.12\u00a0ha", c.Table.Rows[0].Cells[2].Text.Metric, "ten pairs of 120 m²")
	assert.Contains(t, c.Rest.Metric, "30\u00a0places more, 1.40\u00a0ha in all")
	assert.Len(t, c.Maps, 1)
	assert.Nil(t, s.seasons()[1].comeBack())
}

// By machine and by operator the same ground is shared out.
func TestSeasonTallies(t *testing.T) {
	s, _ := book(t)
	sum := func(tallies []*tally) (swept, lapped float64) {
		for _, line := range tallies {
			swept += line.swept
			lapped += line.lapped
		}
		return swept, lapped
	}
	swept, lapped := sum(s.seasons()[0].machineTallies())
	bySwept, byLapped := sum(s.seasons()[0].operatorTallies())
	assert.InDelta(t, swept, bySwept, 1e-6)
	assert.InDelta(t, lapped, byLapped, 1e-6)
	var names []string
	for _, line := range s.seasons()[0].operatorTallies() {
		names = append(names, line.name)
		assert.Equal(t, 1, line.fields)
	}
	assert.ElementsMatch(t, []string{"Ida Falk", "not named"}, names)
}

func TestSeasonPageIsSafe(t *testing.T) {
	s, _ := book(t)
	page := bookPage(t, s)
	assert.Equal(t, page, bookPage(t, s), "the same season gives the same bytes")
	assert.Equal(t, 1, strings.Count(page, "<script"))
	assert.NotContains(t, page, "ZgotmplZ")
	assert.NotContains(t, page, "<b>&\"east\"")
	assert.NotRegexp(t, `(?i)(src|href|action)\s*=\s*"?(https?:|//)`, page)
	for _, link := range regexp.MustCompile(`href="([^"]+)"`).FindAllStringSubmatch(page, -1) {
		assert.Regexp(t, `^(data:,|#season-202[56]|geo:[-0-9.,]+|season-print\.html(#field-\d)?|operators/[a-z0-9-]+\.html|fields/(small|before|idle)/(report|mend)\.html)$`, link[1])
	}
}

func readCSV(t *testing.T, write func(io.Writer) error) []map[string]string {
	t.Helper()
	return csvRows(t, written(t, write))
}

// csvRows are the lines of a table under its head, by the names of its columns.
func csvRows(t *testing.T, text string) []map[string]string {
	t.Helper()
	lines, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	require.NoError(t, err)
	var out []map[string]string
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, name := range lines[0] {
			row[name] = line[i]
		}
		out = append(out, row)
	}
	return out
}

func TestSeasonCSV(t *testing.T) {
	s, _ := book(t)
	fields := readCSV(t, s.CSV)
	require.Len(t, fields, 3)
	assert.Equal(t, s.Entries[0].Name(), fields[0]["field"])
	area, err := strconv.ParseFloat(fields[0]["area_m2"], 64)
	require.NoError(t, err)
	assert.Equal(t, s.Entries[0].Field.Area.Float(), area)
	assert.Equal(t, "3", fields[0]["skips"])
	assert.NotEmpty(t, fields[0]["lapwing_run"])
	_, err = time.Parse(time.RFC3339, fields[0]["first_work"])
	assert.NoError(t, err)
	assert.Empty(t, fields[1]["first_work"])

	machines := readCSV(t, s.MachinesCSV)
	assert.Equal(t, "Ida Falk", machines[0]["operator"])
	passes := 0
	for _, m := range machines {
		n, err := strconv.Atoi(m["passes"])
		require.NoError(t, err)
		passes += n
	}
	assert.Equal(t, 12, passes)
}

func TestEntriesNear(t *testing.T) {
	at := func(lon, lat float64) *Entry {
		return &Entry{sketch: &Sketch{Box: boxOf([]geo.Polygon{{Shell: []geo.LonLat{{Lon: lon, Lat: lat}, {Lon: lon + 0.01, Lat: lat}, {Lon: lon + 0.01, Lat: lat + 0.01}}}})}}
	}
	assert.True(t, at(10, 50).Near(at(10.005, 50.005)))
	assert.False(t, at(10, 50).Near(at(10.02, 50)))
	assert.False(t, at(10, 50).Near(at(10, 50.02)))
	assert.True(t, at(179.995, -18).Near(at(-179.999, -18)))
	assert.False(t, at(10, 50).Near(&Entry{sketch: &Sketch{Box: boxOf(nil)}}))
}

// BookOfSamples is the book of these tests, for those outside the package.
func BookOfSamples(t testing.TB) (*Book, Shapes) {
	s, all := book(t)
	return s, func(entry *Entry) (io.ReadCloser, error) {
		return io.NopCloser(bytes.NewReader(all[entry.Dir].shapes)), nil
	}
}
