package relay

import (
	"bytes"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/cmd/lapwing/crew"
	"lapwing/geo"
	"lapwing/geo/journal"
)

// journalOf is a journal of so many records that begins at a time.
func journalOf(t *testing.T, records int, begins int64) []byte {
	root, err := os.OpenRoot(t.TempDir())
	require.NoError(t, err)
	defer root.Close()
	j, err := journal.Create(journal.In(root), "drill", time.Unix(begins, 0), journal.Options{Sync: -1})
	require.NoError(t, err)
	for i := range records {
		require.NoError(t, j.Append(journal.Record{Machine: "drill", Fix: geo.Fix{Time: geo.InstantOf(time.Unix(begins+int64(i), 0)), At: geo.LonLat{Lon: 2, Lat: 54}, Heading: geo.Bearing(90)}}))
	}
	require.NoError(t, j.Close())
	data, err := root.ReadFile(j.Name())
	require.NoError(t, err)
	return data
}

// A relay has what was brought to it, byte for byte, whatever breaks: brought in parts,
// twice, by a cab that goes on writing, and over a restart that finds a torn end.
func TestRelay(t *testing.T) {
	dir := t.TempDir()
	open := func() *Relay {
		root, err := os.OpenRoot(dir)
		require.NoError(t, err)
		y, err := Open(root)
		require.NoError(t, err)
		return y
	}
	relay := open()
	person := int64(7)
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		relay.Handler(func(*http.Request) int64 { return person }).ServeHTTP(w, r)
	}))
	defer server.Close()
	at, err := crew.ParseAddress(server.URL + "/#WORKWORKWORK")
	require.NoError(t, err)
	c := crew.NewClient(at, nil)
	all := journalOf(t, 2000, 1_800_000_000)
	entry := crew.Entry{Cab: "bbbbbbbb", Machine: "drill", Name: "drill-1.csv", Identity: journal.Identity(bytes.NewReader(all))}
	bring := func(until int) error {
		e := entry
		e.Size = int64(until)
		own := &crew.Listing{Schema: crew.Schema, Cab: "bbbbbbbb", Machines: []crew.Machine{{Cab: "bbbbbbbb", Name: "drill", Keys: "name: drill"}, {Cab: "cccccccc", Name: "x"}}, Journals: []crew.Entry{e}}
		return c.Bring(t.Context(), own, func(of crew.Key) (*crew.Opened, bool) {
			return &crew.Opened{ReadSeeker: bytes.NewReader(all[:until]), Identity: entry.Identity, Close: func() {}}, of == entry.Key()
		})
	}
	kept := func() []byte {
		list, ok := relay.List(nil)
		require.True(t, ok)
		require.Len(t, list.Journals, 1)
		j, ok := relay.Open(nil, entry.Key())
		require.True(t, ok)
		defer j.Close()
		data, err := io.ReadAll(j)
		require.NoError(t, err)
		assert.Equal(t, list.Journals[0].Size, int64(len(data)))
		return data
	}
	end := func(n int) int { return bytes.LastIndexByte(all[:n], '\n') + 1 } // of a record
	require.NoError(t, bring(30_000))
	assert.Equal(t, all[:end(30_000)], kept())
	require.NoError(t, bring(30_000), "nothing new")
	require.NoError(t, bring(90_000))
	assert.Equal(t, all[:end(90_000)], kept())

	list, err := c.List(t.Context())
	require.NoError(t, err)
	assert.True(t, list.Takes)
	assert.Equal(t, []crew.Machine{{Cab: "bbbbbbbb", Name: "drill", Keys: "name: drill"}}, list.Machines, "of other cabs it is told nothing by this one")

	// A torn end is taken away, and brought again.
	require.NoError(t, relay.Close())
	file := filepath.Join(dir, "bbbbbbbb", entry.Name)
	require.NoError(t, os.Truncate(file, int64(end(90_000))-5))
	name := list.Cab
	relay = open()
	assert.Equal(t, all[:end(end(90_000)-5)], kept())
	require.NoError(t, bring(len(all)))
	assert.Equal(t, all, kept())
	list, err = c.List(t.Context())
	require.NoError(t, err)
	assert.Equal(t, name, list.Cab, "to the cabs it is the same one")

	// What is no journal of that machine, or does not go on there, is refused.
	post := func(from, body string) int {
		r, err := http.Post(server.URL+"/journals/bbbbbbbb/drill-1.csv?from="+from, "text/csv", bytes.NewReader([]byte(body)))
		require.NoError(t, err)
		r.Body.Close()
		return r.StatusCode
	}
	assert.Equal(t, http.StatusConflict, post("0", string(all)))
	assert.Equal(t, http.StatusConflict, post("9999999", "x\n"))
	assert.Equal(t, http.StatusUnprocessableEntity, post(strconv.Itoa(len(all)), "no record\n"))
	assert.Equal(t, http.StatusUnprocessableEntity, post(strconv.Itoa(len(all)), string(all[len(journal.Header):end(2000)-3])), "half a record")
	person = 8
	assert.Equal(t, http.StatusNotFound, post(strconv.Itoa(len(all)), string(all[len(journal.Header):end(2000)])), "another person")
	var refused *crew.Refusal
	require.ErrorAs(t, bring(len(all)), &refused)
	assert.Equal(t, http.StatusForbidden, refused.Status)
	assert.Equal(t, all, kept())
}
