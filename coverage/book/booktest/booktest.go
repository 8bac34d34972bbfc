// Package booktest is what every book must do, whatever keeps it.
package booktest

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess/assesstest"
	"lapwing/coverage/book"
	"lapwing/geo"
)

// Run tries a kind of book. fresh returns what opens a book, each time the same one,
// which is not there before.
func Run(t *testing.T, fresh func(t *testing.T) (open func(t *testing.T) book.Store)) {
	for name, try := range map[string]func(*testing.T, func(*testing.T) book.Store){
		"what is put is there": putIsThere, "a job is kept once": keptOnce, "a job changes": changes,
		"a field through the years": throughTheYears, "what stands": whatStands, "files": files, "all or nothing": allOrNothing,
		"many at a time": manyAtATime, "made by two at once": madeByTwo, "shapes that are cut": cutShapes,
	} {
		t.Run(name, func(t *testing.T) { try(t, fresh(t)) })
	}
}

// A work is what a test says of a job: where the field is, when it was worked, by whom.
type work struct {
	name              string
	at                geo.LonLat
	year              int
	machine, operator string
	crop              string
}

// home is where the fields of tests are, east and north of it in km.
func home(east, north float64) geo.LonLat {
	return geo.LonLat{Lon: -98.4 + east/71, Lat: 50 + north/111}
}

// small is the assessment that all works are made of.
var small = sync.OnceValue(assesstest.Small)

// part is a work as a book keeps it.
func (w work) part(t testing.TB) *book.Part {
	t.Helper()
	a := *small()
	a.Zone = nil // a made-up one has no name to be found by
	reckoning := *a.Reckoning
	a.Reckoning = &reckoning
	reckoning.Accounts = append(reckoning.Accounts[:0:0], reckoning.Accounts...)
	m := *a.Map
	m.Field.Name, m.Field.Frame = w.name, geo.NewFrame(w.at)
	m.Machines = append(m.Machines[:0:0], m.Machines...)
	for i := range m.Machines {
		m.Machines[i].Name, m.Machines[i].Operator = w.machine, w.operator
	}
	for i := range a.Accounts {
		a.Accounts[i].Map = &m
	}
	a.Map = &m
	p, err := book.PartOf(&a)
	require.NoError(t, err)
	p.Field.Crop = w.crop
	p.First = time.Date(w.year, 5, 4, 9, 0, 0, 0, time.UTC)
	p.Last = p.First.Add(6 * time.Hour)
	return p
}

// bytesOf is what is in a file of tests.
func bytesOf(name string) []byte { return []byte(strings.Repeat("what is in "+name+"\n", 100)) }

// sought is a job of a file.
func sought(name string) *book.Sought {
	hash := func(b []byte) string {
		sum := sha256.Sum256(b)
		return hex.EncodeToString(sum[:])
	}
	data := bytesOf(name)
	return &book.Sought{Key: hash([]byte("key of " + name)), Program: "lapwing 1", Question: "season us",
		Files: []book.File{{Name: "job.yaml", Path: name + "/job.yaml", Size: int64(len(data)), SHA256: hash(data)}}}
}

func reading(data []byte) func() (io.ReadCloser, error) {
	return func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(data)), nil }
}

// put puts the job of a name, with its files.
func put(t testing.TB, b book.Store, source, name string, works ...work) *book.Sought {
	t.Helper()
	job := sought(name)
	require.NoError(t, b.AddFile(t.Context(), job.Files[0], reading(bytesOf(name))))
	var parts []*book.Part
	for _, w := range works {
		parts = append(parts, w.part(t))
	}
	require.NoError(t, b.Put(t.Context(), source, job, parts))
	return job
}

func holds(t testing.TB, b book.Store) book.Contents {
	t.Helper()
	c, err := b.Holds(t.Context())
	require.NoError(t, err)
	return c
}

var (
	north = work{"North", home(0, 0), 2026, "drill A", "Ada", "winter rye"}
	south = work{"South", home(0, -5), 2026, "drill B", "Bo", "spring barley"}
)

func putIsThere(t *testing.T, open func(*testing.T) book.Store) {
	b := open(t)
	assert.Equal(t, book.Contents{}, holds(t, b))
	_, err := b.Stored(t.Context(), sought("one").Key)
	require.ErrorIs(t, err, book.ErrNotFound)
	_, err = b.JobAt(t.Context(), "here")
	require.ErrorIs(t, err, book.ErrNotFound)
	has, err := b.Has(t.Context(), sought("one").Key)
	require.NoError(t, err)
	assert.False(t, has)
	put(t, b, "", "one", north, south)
	assert.Equal(t, book.Contents{}, holds(t, b), "it stands nowhere")
	has, err = b.Has(t.Context(), sought("one").Key)
	require.NoError(t, err)
	assert.True(t, has)

	job := put(t, b, "here", "one", north, south)
	look := func(b book.Store) {
		t.Helper()
		parts, err := b.Stored(t.Context(), job.Key)
		require.NoError(t, err)
		require.Len(t, parts, 2)
		for i, w := range []work{north, south} {
			assert.True(t, bytes.Equal(w.part(t).Stored, parts[i]), "part %d", i)
			again, a, err := book.ReadPart(parts[i])
			require.NoError(t, err)
			assert.Equal(t, w.name, a.Map.Field.Name)
			assert.Len(t, again.SkipShapes, len(again.Skips))
		}
		at, err := b.JobAt(t.Context(), "here")
		require.NoError(t, err)
		assert.Equal(t, job.Key, at)
		assert.Equal(t, book.Contents{Fields: 2, Assessments: 2, Machines: 2, Operators: 2, First: 2026, Last: 2026}, holds(t, b))
	}
	look(b)
	require.NoError(t, b.Close())
	b = open(t) // it is all there another time
	look(b)
	require.NoError(t, b.Close())
}

func keptOnce(t *testing.T, open func(*testing.T) book.Store) {
	b := open(t)
	defer b.Close()
	put(t, b, "here", "one", north)
	first := north.part(t)
	other := north.part(t)
	other.Stored = []byte("other bytes")
	job := sought("one")
	require.NoError(t, b.Put(t.Context(), "here", job, []*book.Part{other}))
	require.NoError(t, b.Put(t.Context(), "there", job, []*book.Part{other}))
	parts, err := b.Stored(t.Context(), job.Key)
	require.NoError(t, err)
	assert.True(t, bytes.Equal(first.Stored, parts[0]), "what was stored first stays")
	assert.Equal(t, book.Contents{Fields: 1, Assessments: 1, Machines: 1, Operators: 1, First: 2026, Last: 2026}, holds(t, b))
}

func changes(t *testing.T, open func(*testing.T) book.Store) {
	b := open(t)
	defer b.Close()
	put(t, b, "here", "one", north)
	put(t, b, "there", "one", north)
	later := north
	later.name, later.machine, later.operator = "North, drained", "drill C", ""
	put(t, b, "here", "two", later)
	assert.Equal(t, book.Contents{Fields: 1, Assessments: 2, Machines: 2, Operators: 1, First: 2026, Last: 2026}, holds(t, b), "the first stands there still")
	put(t, b, "there", "two", later)
	assert.Equal(t, book.Contents{Fields: 1, Assessments: 1, Machines: 1, First: 2026, Last: 2026}, holds(t, b), "the first stands nowhere")
	_, err := b.Stored(t.Context(), sought("one").Key)
	require.NoError(t, err, "what it was found to be stays")
	put(t, b, "here", "one", north)
	put(t, b, "there", "one", north)
	assert.Equal(t, book.Contents{Fields: 1, Assessments: 1, Machines: 1, Operators: 1, First: 2026, Last: 2026}, holds(t, b), "it came back")
	put(t, b, "here", "none")
	put(t, b, "there", "none")
	assert.Equal(t, book.Contents{}, holds(t, b))
}

func throughTheYears(t *testing.T, open func(*testing.T) book.Store) {
	b := open(t)
	defer b.Close()
	for i, w := range []work{
		{"North", home(0, 0), 2024, "drill A", "Ada", ""},
		{"the north one", home(0.02, 0.01), 2025, "drill A", "Bo", ""}, // driven anew, and called otherwise
		{"North", home(0, 0), 2026, "drill B", "", ""},
		{"North", home(30, 0), 2026, "drill B", "Bo", ""}, // another farm's
	} {
		put(t, b, fmt.Sprint(i), fmt.Sprint(i), w)
	}
	assert.Equal(t, book.Contents{Fields: 2, Assessments: 4, Machines: 2, Operators: 2, First: 2024, Last: 2026}, holds(t, b))
}

// whatStands is listed, the latest work first, by the name that its field was given last.
func whatStands(t *testing.T, open func(*testing.T) book.Store) {
	b := open(t)
	defer b.Close()
	list := func(of book.Choice, all int) (told []string) {
		t.Helper()
		found, n, err := b.Standing(t.Context(), of)
		require.NoError(t, err)
		assert.Equal(t, all, n)
		for _, s := range found {
			assert.InDelta(t, north.part(t).Field.Area.Float(), s.Area, 1e-6)
			told = append(told, fmt.Sprintln(s.Field, s.First.Format(time.RFC3339), s.Last.Format(time.RFC3339), s.Part, strings.Join(s.Machines, ", ")))
		}
		return told
	}
	assert.Empty(t, list(book.Choice{Most: 9}, 0))
	before := north
	before.year = 2025
	put(t, b, "", "nowhere", north)
	put(t, b, "ada:/jobs/one", "one", before)
	job := put(t, b, "bo:/jobs/two", "two", north, south)
	told := []string{
		"North 2026-05-04T09:00:00Z 2026-05-04T15:00:00Z 0 drill A\n", "South 2026-05-04T09:00:00Z 2026-05-04T15:00:00Z 1 drill B\n",
		"North 2025-05-04T09:00:00Z 2025-05-04T15:00:00Z 0 drill A\n",
	}
	assert.Equal(t, told, list(book.Choice{Most: 9}, 3))
	assert.Equal(t, told[:1], list(book.Choice{Most: 1}, 3))
	assert.Empty(t, list(book.Choice{}, 3))
	assert.Equal(t, told[1:2], list(book.Choice{Named: "OUT", Most: 9}, 1))
	assert.Empty(t, list(book.Choice{Named: "%", Most: 9}, 0))
	assert.Equal(t, told[2:], list(book.Choice{Except: "bo:/jobs/", Most: 9}, 1))
	put(t, b, "ada:/jobs/three", "two", north, south)
	assert.Equal(t, told[2:], list(book.Choice{Except: "bo:/jobs/", Most: 9}, 1), "it stands there too")

	called := north
	called.name = "Teal_End"
	put(t, b, "ada:/jobs/three", "two", called, south)
	told[0] = strings.Replace(told[0], "North", "Teal_End", 1)
	assert.Equal(t, told[:1], list(book.Choice{Named: "l_e", Most: 9}, 1))
	assert.Equal(t, told[1:2], list(book.Choice{Named: "South", Most: 9}, 1))
	assert.Equal(t, book.Contents{Fields: 2, Assessments: 3, Machines: 2, Operators: 2, First: 2025, Last: 2026}, holds(t, b))

	again, err := b.Job(t.Context(), job.Key)
	require.NoError(t, err)
	job.Files[0].Path = ""
	assert.Equal(t, job, again)
	_, err = b.Job(t.Context(), "none")
	require.ErrorIs(t, err, book.ErrNotFound)
}

func files(t *testing.T, open func(*testing.T) book.Store) {
	b := open(t)
	defer b.Close()
	job := sought("one")
	file := job.Files[0]
	_, err := b.OpenFile(t.Context(), file.SHA256)
	require.ErrorIs(t, err, book.ErrNotFound)
	err = b.AddFile(t.Context(), file, reading([]byte("something else by now")))
	require.ErrorContains(t, err, "one/job.yaml: changed while it was read")
	_, err = b.OpenFile(t.Context(), file.SHA256)
	require.ErrorIs(t, err, book.ErrNotFound, "half of it")

	require.NoError(t, b.AddFile(t.Context(), file, reading(bytesOf("one"))))
	require.NoError(t, b.AddFile(t.Context(), file, func() (io.ReadCloser, error) {
		t.Error("a file that is kept is read again")
		return nil, io.ErrUnexpectedEOF
	}))
	f, err := b.OpenFile(t.Context(), file.SHA256)
	require.NoError(t, err)
	data, err := io.ReadAll(f)
	require.NoError(t, err)
	require.NoError(t, f.Close())
	assert.Equal(t, string(bytesOf("one")), string(data))

	lost := sought("lost")
	require.Error(t, b.Put(t.Context(), "here", lost, []*book.Part{north.part(t)}), "its file is not kept")
	_, err = b.Stored(t.Context(), lost.Key)
	require.ErrorIs(t, err, book.ErrNotFound)
}

func allOrNothing(t *testing.T, open func(*testing.T) book.Store) {
	b := open(t)
	defer b.Close()
	put(t, b, "here", "one", north)
	before := holds(t, b)
	job := sought("two")
	require.NoError(t, b.AddFile(t.Context(), job.Files[0], reading(bytesOf("two"))))
	broken := south.part(t)
	broken.Stored = nil
	require.Error(t, b.Put(t.Context(), "here", job, []*book.Part{south.part(t), broken}))
	ended, end := context.WithCancel(t.Context())
	end()
	require.ErrorIs(t, b.Put(ended, "here", job, []*book.Part{south.part(t)}), context.Canceled)
	_, err := b.Stored(t.Context(), job.Key)
	require.ErrorIs(t, err, book.ErrNotFound)
	at, err := b.JobAt(t.Context(), "here")
	require.NoError(t, err)
	assert.Equal(t, sought("one").Key, at)
	assert.Equal(t, before, holds(t, b))
	require.NoError(t, b.Put(t.Context(), "here", job, []*book.Part{south.part(t)}), "and it goes on")
}

func manyAtATime(t *testing.T, open func(*testing.T) book.Store) {
	const writers, jobs = 4, 6
	var parts []*book.Part
	for i := range jobs {
		parts = append(parts, work{fmt.Sprint("field ", i), home(3*float64(i), 0), 2026, "drill A", "Ada", ""}.part(t))
	}
	var all sync.WaitGroup
	for w := range writers {
		b := open(t)
		defer b.Close()
		all.Go(func() {
			for i := range jobs {
				i = (i + w) % jobs
				job := sought(fmt.Sprint(i))
				if !assert.NoError(t, b.AddFile(t.Context(), job.Files[0], reading(bytesOf(fmt.Sprint(i))))) ||
					!assert.NoError(t, b.Put(t.Context(), fmt.Sprint(w, i), job, parts[i:i+1])) {
					return
				}
			}
		})
	}
	all.Wait()
	b := open(t)
	defer b.Close()
	assert.Equal(t, book.Contents{Fields: jobs, Assessments: jobs, Machines: 1, Operators: 1, First: 2026, Last: 2026}, holds(t, b))
}

// madeByTwo opens a book that is not there from several at once: each migration is
// done once.
func madeByTwo(t *testing.T, open func(*testing.T) book.Store) {
	var all sync.WaitGroup
	for i := range 4 {
		all.Go(func() {
			b := open(t)
			defer b.Close()
			put(t, b, fmt.Sprint(i), "one", north)
		})
	}
	all.Wait()
	b := open(t)
	defer b.Close()
	assert.Equal(t, 1, holds(t, b).Assessments)
}

// cutShapes are of a field on the antimeridian.
func cutShapes(t *testing.T, open func(*testing.T) book.Store) {
	b := open(t)
	defer b.Close()
	w := work{"Date line", geo.LonLat{Lon: 180, Lat: -17}, 2025, "drill A", "Ada", ""}
	put(t, b, "one", "one", w)
	w.year++
	put(t, b, "two", "two", w)
	assert.Equal(t, book.Contents{Fields: 1, Assessments: 2, Machines: 1, Operators: 1, First: 2025, Last: 2026}, holds(t, b))
}

// Sample puts two fields of one job into a book, for tests of what stands in its tables:
// North and South, worked in 2026 by Ada with drill A and by Bo with drill B. It returns
// their parts.
func Sample(t testing.TB, b book.Store) []*book.Part {
	t.Helper()
	put(t, b, "here", "one", north, south)
	return []*book.Part{north.part(t), south.part(t)}
}
