//go:build unix

package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/cmd/lapwing/disk"
	"lapwing/coverage/book"
	"lapwing/coverage/book/postgis/pgtest"
	"lapwing/report/desk"
	"lapwing/report/desk/store"
)

// visitDeskOf is visitDesk of a desk with a book, which lies at a place.
func visitDeskOf(t *testing.T, address, place string) *deskVisitor {
	t.Helper()
	held, err := storeAt(t.Context(), address)
	require.NoError(t, err)
	t.Cleanup(func() { held.Close() })
	files := store.NewMemory(time.Now)
	return &deskVisitor{t, desk.New(files, desk.Options{Formats: disk.Formats, Program: "test", Book: &desk.Book{Store: held, Program: bookProgram(), Place: place}}), files}
}

// bodyOf asks, wants an answer, and returns it and the steps that it took.
func (v *deskVisitor) bodyOf(m map[string]any) (body string, steps []string) {
	v.t.Helper()
	text, err := json.Marshal(m)
	require.NoError(v.t, err)
	r := v.Ask(context.Background(), text, func(step string, _ float64) { steps = append(steps, step) })
	require.False(v.t, r.Failed, "%s: %s", text, r.Body)
	return string(r.Body), steps
}

// measures is the step of whoever measures.
var measures = regexp.MustCompile(`(^|: )measuring`)

func hasMeasured(steps []string) bool { return slices.ContainsFunc(steps, measures.MatchString) }

// pagesOn are the pages that a desk has written.
func (v *deskVisitor) pagesOn() map[string]string {
	v.t.Helper()
	out := map[string]string{}
	for _, name := range store.Below(v.store, "pages") {
		text, err := fs.ReadFile(v.store, name)
		require.NoError(v.t, err)
		// The record tells when files were written.
		if filepath.Base(name) != book.RecordFile {
			out[name] = string(text)
		}
	}
	return out
}

// without is a desk that has the files of another, and no book.
func (v *deskVisitor) without() *deskVisitor {
	v.t.Helper()
	plain := visitDesk(v.t)
	for _, name := range store.Below(v.store, ".") {
		if !strings.HasPrefix(name, "pages/") {
			text, err := fs.ReadFile(v.store, name)
			require.NoError(v.t, err)
			plain.store.Set(name, text, time.Now())
		}
	}
	return plain
}

// twoFields writes a job whose one log is of two fields, and leads past them.
func twoFields(t *testing.T, dir string) {
	t.Helper()
	const lon, lat, east, north = -98.4, 50.0, 1 / 71_700.0, 1 / 111_200.0 // a metre, near enough
	var features, log []string
	for i, name := range []string{"Tern", "Teal"} {
		x := float64(i) * 300
		at := func(dx, dy float64) string { return fmt.Sprintf("[%.7f,%.7f]", lon+(x+dx)*east, lat+dy*north) }
		features = append(features, fmt.Sprintf(`{"type":"Feature","properties":{"name":%q},"geometry":{"type":"Polygon","coordinates":[[%s,%s,%s,%s,%s]]}}`,
			name, at(0, 0), at(200, 0), at(200, 40), at(0, 40), at(0, 0)))
	}
	second := 0
	for lane := range 4 {
		for step := range 141 { // over both, the way between them, and 50 m more at either end
			x := float64(step)*4 - 30
			if lane%2 == 1 {
				x = 530 - x - 30
			}
			working := 1
			if x < 0 || x > 500 || x > 200 && x < 300 {
				working = 0
			}
			log = append(log, fmt.Sprintf("%s,%.7f,%.7f,%d", time.Date(2026, 5, 4, 8, 0, second, 0, time.UTC).Format(time.RFC3339), lat+(5+10.3*float64(lane))*north, lon+x*east, working))
			second += 2
		}
	}
	put(t, filepath.Join(dir, "fields.geojson"), `{"type":"FeatureCollection","features":[`+strings.Join(features, ",")+`]}`)
	put(t, filepath.Join(dir, "day.csv"), "time,lat,lon,working\n"+strings.Join(log, "\n")+"\n")
	put(t, filepath.Join(dir, "job.yaml"), "boundary: fields.geojson\nmachines:\n  - {name: drill, implement: {width: 10 m}, tracks: [day.csv]}\n")
}

// A desk with a book answers as one without, to the byte, and measures nothing that a
// season did, on this desk or elsewhere; the fields that the book holds come onto the desk
// with their files. A season has what the desk measured, too.
func TestDeskWithABook(t *testing.T) {
	t.Parallel()
	work := t.TempDir()
	jobsOfAllKinds(t, filepath.Join(work, "jobs"))
	twoFields(t, filepath.Join(work, "jobs", "two"))
	eachBook(t, func(t *testing.T, address string) {
		said := lapwingIn(t, work, "season", "jobs/around", "jobs/two", "jobs/cases/lap-and-skip", "jobs/cases/two-drills", "jobs/cases/rate-not-logged", "--out", outOf(t)+"out", "--book", address)
		holds := regexp.MustCompile(`holds (\d+) fields, (\d+) assessments`).FindStringSubmatch(said)
		require.NotNil(t, holds, said)

		v := visitDeskOf(t, address, "here:/desk/")
		s := v.look()
		require.NotNil(t, s.Book)
		assert.Empty(t, s.Book.Trouble)
		assert.Equal(t, holds[2], fmt.Sprint(s.Book.All))
		require.Len(t, s.Book.Fields, s.Book.All)
		assert.Empty(t, s.Jobs)
		var keys []string
		for _, f := range s.Book.Fields {
			assert.NotContains(t, f.Field, "5b0c7d93")
			if !slices.Contains(keys, f.Key) {
				keys = append(keys, f.Key)
			}
		}
		var found desk.Held
		v.ask(&found, map[string]any{"do": "held", "find": "TEAL E"})
		require.Len(t, found.Fields, 1)
		assert.Equal(t, "teal end", found.Fields[0].Field, "it has its name from its file")
		assert.Equal(t, []string{"narrow"}, found.Fields[0].Machines)

		v.ask(nil, map[string]any{"do": "answer", "key": "units", "value": "us"})
		for i, key := range keys {
			s = desk.State{}
			v.ask(&s, map[string]any{"do": "fetch", "key": key})
			require.Equal(t, i+1, len(s.Jobs))
		}
		plain := v.without()
		assert.Equal(t, s.Jobs, plain.look().Jobs)
		whole := 0 // jobs of one field
		for i, j := range s.Jobs {
			require.True(t, j.Ready, "%s: %+v", j.Job, j.Error)
			body, steps := v.bodyOf(map[string]any{"do": "assess", "job": j.Job})
			assert.False(t, hasMeasured(steps), "%s: %q", j.Job, steps)
			want, steps := plain.bodyOf(map[string]any{"do": "assess", "job": j.Job})
			assert.True(t, hasMeasured(steps))
			assert.Equal(t, want, body)
			if len(j.Boundary) > 0 && i < 3 && !strings.Contains(want, `"summary":[`) {
				whole++
				for _, do := range []string{"last", "mend"} {
					body, _ := v.bodyOf(map[string]any{"do": do, "job": j.Job})
					want, _ := plain.bodyOf(map[string]any{"do": do, "job": j.Job})
					assert.Equal(t, want, body)
				}
			}
		}
		assert.Positive(t, whole)
		for _, m := range []map[string]any{{"do": "season"}, {"do": "waste", "runs": 2}, {"do": "assess", "job": "files/job/job.yaml", "what_if": true}} {
			body, _ := v.bodyOf(m)
			want, _ := plain.bodyOf(m)
			assert.Equal(t, want, body)
		}
		assert.Equal(t, plain.pagesOn(), v.pagesOn())
		assert.Contains(t, fmt.Sprint(v.pagesOn()), "a fix lies in none of the fields: ")
		assert.Zero(t, v.look().Book.All, "all are on this desk")
		assert.NotContains(t, fmt.Sprintf("%+v", v.look()), pgtest.Password)

		// Another desk, with what a third dropped: the first measures it, the other takes it.
		one, other := visitDeskOf(t, address, "here:/one/"), visitDeskOf(t, address, "here:/other/")
		for i, v := range []*deskVisitor{one, other} {
			v.drop(filepath.Join(repository, "testdata", "cases", "lap-and-skip"), "boundary.geojson", "log.csv")
			s := v.answer("11 m")
			require.Len(t, s.Jobs, 1)
			for k, m := range []map[string]any{{"do": "assess", "job": s.Jobs[0].Job}, {"do": "waste", "runs": 2}, {"do": "assess", "job": s.Jobs[0].Job, "what_if": true}} {
				_, steps := v.bodyOf(m)
				assert.Equal(t, i == 0, hasMeasured(steps), "%d, %d: %q", i, k, steps)
			}
		}
		home := one.home()
		said = lapwingIn(t, home, "season", ".", "--out", "out", "--book", address, "--units", one.look().Units)
		assert.Contains(t, said, "; 1 of 1 jobs taken from the book")
		said = lapwingIn(t, home, "waste", ".", "--runs", "2", "--out", "waste", "--book", address, "--units", one.look().Units)
		assert.Contains(t, said, "; 1 of 1 jobs taken from the book")
	})
}

// A desk that was there before its book gives that all that it has worked out; while the
// book does not answer the desk says so, and loses nothing.
func TestDeskOpensABookLater(t *testing.T) {
	t.Parallel()
	address := "file:" + filepath.Join(t.TempDir(), "book.gpkg")
	before := visitDesk(t)
	before.drop(filepath.Join(repository, "testdata", "cases", "slough"))
	job := before.look().Jobs[0].Job
	before.ask(nil, map[string]any{"do": "assess", "job": job})
	require.False(t, before.look().Jobs[0].Assessed.Stale)
	pages := before.pagesOn()

	held, err := storeAt(t.Context(), address)
	require.NoError(t, err)
	v := &deskVisitor{t, desk.New(before.store, desk.Options{Formats: disk.Formats, Program: "test", Book: &desk.Book{Store: held, Program: "1", Place: "here:/"}}), before.store}
	assert.True(t, v.look().Jobs[0].Assessed.Stale, "the book has not got it yet")
	v.ask(nil, map[string]any{"do": "assess", "job": job})
	assert.False(t, v.look().Jobs[0].Assessed.Stale)
	assert.Equal(t, pages, v.pagesOn())
	c, err := held.Holds(t.Context())
	require.NoError(t, err)
	assert.Equal(t, 1, c.Assessments)

	require.NoError(t, held.Close())
	s := v.look()
	assert.Contains(t, s.Book.Trouble, "the book does not answer: ")
	assert.Len(t, s.Jobs, 1)
	r := v.Ask(t.Context(), fmt.Appendf(nil, `{"do": "assess", "job": %q}`, job), nil)
	assert.True(t, r.Failed)
	assert.Contains(t, string(r.Body), `"text":"the book: `)
	assert.Equal(t, pages, v.pagesOn())
	for _, m := range []string{`{"do": "fetch", "key": "none"}`, `{"do": "held"}`} {
		r := before.Ask(t.Context(), []byte(m), nil)
		assert.Contains(t, string(r.Body), "found no book, want a desk that was opened with --book")
	}
}

// The command does so too: what one desk worked out another has, and the season.
func TestDeskCommandWithABook(t *testing.T) {
	t.Parallel()
	work := t.TempDir()
	address := "file:" + filepath.Join(work, "book.gpkg")
	one := startDesk(t, filepath.Join(work, "one"), "--no-open", "--book", address)
	dir := filepath.Join(repository, "testdata", "cases", "lap-and-skip")
	for _, name := range []string{"job.yaml", "boundary.geojson", "log.csv"} {
		one.drop(t, "lap/"+name, filepath.Join(dir, name))
	}
	jobs := jobsOf(t, one.ask(t, `{"do": "look"}`))
	require.Len(t, jobs, 1)
	want := one.ask(t, fmt.Sprintf(`{"do": "assess", "job": %q}`, jobs[0]))
	assert.Equal(t, 0, one.end(t, syscall.SIGTERM))
	assert.Contains(t, one.said.String(), "The book "+address+" holds no fields, no assessments, no machines and no operators\n")

	two := startDesk(t, filepath.Join(work, "two"), "--no-open", "--book", address)
	var s desk.State
	require.NoError(t, json.Unmarshal([]byte(two.ask(t, `{"do": "look"}`)), &s))
	require.Equal(t, 1, s.Book.All)
	require.NoError(t, json.Unmarshal([]byte(two.ask(t, fmt.Sprintf(`{"do": "fetch", "key": %q}`, s.Book.Fields[0].Key))), &s))
	require.Len(t, s.Jobs, 1)
	got := two.ask(t, fmt.Sprintf(`{"do": "assess", "job": %q}`, s.Jobs[0].Job))
	var a, b desk.Answer
	require.NoError(t, json.Unmarshal([]byte(want), &a))
	require.NoError(t, json.Unmarshal([]byte(got), &b))
	assert.Equal(t, a.Text, b.Text)
	assert.Equal(t, 0, two.end(t, syscall.SIGTERM))
	said := lapwingIn(t, work, "season", "two", "--out", "out", "--book", address, "--units", s.Units)
	assert.Contains(t, said, "; 1 of 1 jobs taken from the book")
	assert.Contains(t, said, "holds 1 field, 1 assessment,")
}
