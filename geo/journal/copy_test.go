package journal_test

import (
	"bytes"
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/journal"
)

// writtenOf is a journal of so many records of a machine, as it stands in a file.
func writtenOf(t testing.TB, root *os.Root, machine string, records int, seed uint64) []byte {
	r := rand.New(rand.NewPCG(seed, 1))
	j, err := journal.Create(journal.In(root), machine, time.Unix(int64(seed), 0), journal.Options{Sync: -1})
	require.NoError(t, err)
	for i := range records {
		require.NoError(t, j.Append(journal.Record{Machine: machine, Working: []string{"", "0", "1"}[r.IntN(3)], Sections: []string{"", "0101"}[r.IntN(2)],
			Fix: geo.Fix{Time: geo.Instant(1_800_000_000_000_000_000 + int64(i)*100_000_000), At: geo.LonLat{Lon: 2 + r.Float64(), Lat: 50 + r.Float64()}, Speed: 2.5, Heading: geo.Bearing(360 * r.Float64())}}))
	}
	require.NoError(t, j.Close())
	data, err := root.ReadFile(j.Name())
	require.NoError(t, err)
	return data
}

func rootOf(t testing.TB) *os.Root {
	root, err := os.OpenRoot(t.TempDir())
	require.NoError(t, err)
	t.Cleanup(func() { root.Close() })
	return root
}

// Law: whatever comes of a journal, in whatever order, cut short or twice, its copy is at
// any time a beginning of it, whole records long; and it goes on from there after a kill
// that tears it, or damages it anywhere, until it is all of it.
func TestCopyIsABeginning(t *testing.T) {
	seed := rand.Uint64()
	t.Log("seed", seed)
	r := rand.New(rand.NewPCG(seed, 0))
	for round := range uint64(20) {
		root := rootOf(t)
		in := journal.In(root)
		all := writtenOf(t, root, `drill "A", red`, 300, round)
		f, err := in.Create("copy.csv")
		require.NoError(t, err)
		require.NoError(t, f.Close())
		var seen []journal.Record
		open := func() *journal.Journal {
			seen = nil
			j, found, err := journal.OpenCopy(in, "copy.csv", `drill "A", red`, journal.Options{Sync: -1}, func(r journal.Record) { seen = append(seen, r) })
			require.NoError(t, err)
			assert.Equal(t, len(seen), found.Records)
			return j
		}
		j := open()
		for j.Status().Size < int64(len(all)) {
			end := j.Status().Size
			tail, at, err := j.Tail(1 + r.IntN(700))
			require.NoError(t, err)
			require.Equal(t, end, at)
			require.Equal(t, string(all[end-int64(len(tail)):end]), string(tail))
			from := end
			if r.IntN(2) == 0 { // something else comes
				from = r.Int64N(int64(len(all)))
			}
			p, err := journal.Cut(all[from:min(int64(len(all)), from+r.Int64N(3000))], from, `drill "A", red`)
			if from == end {
				require.NoError(t, err)
			}
			err = j.Take(p)
			var split *journal.SplitError
			switch {
			case from == end:
				require.NoError(t, err)
				seen = append(seen, p.Records...)
			default:
				require.ErrorAs(t, err, &split)
			}
			if r.IntN(8) == 0 {
				require.NoError(t, j.Sync())
			}
			if r.IntN(15) > 0 {
				continue
			}
			require.NoError(t, j.Close())
			data, err := root.ReadFile("copy.csv")
			require.NoError(t, err)
			require.Equal(t, string(all[:len(data)]), string(data))
			switch r.IntN(3) {
			case 0: // torn
				data = data[:r.IntN(len(data)+1)]
			case 1: // damaged
				data[r.IntN(len(data))] ^= 1
			}
			require.NoError(t, root.WriteFile("copy.csv", data, 0o600))
			j = open()
		}
		require.NoError(t, j.Close())
		data, err := root.ReadFile("copy.csv")
		require.NoError(t, err)
		require.Equal(t, string(all), string(data))
		assert.Len(t, seen, 300, "each record was handed on once")
	}
}

// What is no record of the machine ends a piece, and is told with its place.
func TestCutStopsAtDamage(t *testing.T) {
	root := rootOf(t)
	all := writtenOf(t, root, "drill", 3, 1)
	begin := int64(len(journal.Header))
	lines := bytes.SplitAfter(all[begin:], []byte("\n"))
	bad := bytes.Clone(all[begin:])
	bad[len(lines[0])+5] ^= 1
	p, err := journal.Cut(bad, begin, "drill")
	var damage *journal.Damage
	require.ErrorAs(t, err, &damage)
	assert.Equal(t, begin+int64(len(lines[0])), damage.Offset)
	assert.Equal(t, string(lines[0]), string(p.Lines))
	assert.Len(t, p.Records, 1)
	_, err = journal.Cut(all[begin:], begin, "another")
	require.ErrorAs(t, err, &damage)
	_, err = journal.Cut(all, 0, "drill")
	require.ErrorAs(t, err, &damage, "a header is no record")
}

// A piece that has no room in memory is not taken at all, and can come again.
func TestTakeWithoutRoom(t *testing.T) {
	root := rootOf(t)
	all := writtenOf(t, root, "drill", 300, 1)
	f, err := journal.In(root).Create("copy.csv")
	require.NoError(t, err)
	require.NoError(t, f.Close())
	j, _, err := journal.OpenCopy(journal.In(root), "copy.csv", "drill", journal.Options{Sync: -1, Waiting: 1000}, nil)
	require.NoError(t, err)
	begin := int64(len(journal.Header))
	p, err := journal.Cut(all[begin:], begin, "drill")
	require.NoError(t, err)
	require.ErrorIs(t, j.Take(p), journal.ErrNoRoom)
	assert.Equal(t, begin, j.Status().Size)
	assert.Zero(t, j.Status().Lost)
	p, err = journal.Cut(all[begin:begin+900], begin, "drill")
	require.NoError(t, err)
	require.NoError(t, j.Take(p))
	require.NoError(t, j.Close())
	require.Error(t, j.Take(p), "it is closed")
}

// Journals are told apart by how they begin.
func TestIdentity(t *testing.T) {
	root := rootOf(t)
	a, b := writtenOf(t, root, "drill", 3, 1), writtenOf(t, root, "drill", 3, 2)
	of := func(data []byte) string { return journal.Identity(bytes.NewReader(data)) }
	assert.NotEmpty(t, of(a))
	assert.NotEqual(t, of(a), of(b))
	first := len(journal.Header) + bytes.IndexByte(a[len(journal.Header):], '\n') + 1
	assert.Equal(t, of(a), of(a[:first]), "it does not grow with the journal")
	assert.Empty(t, of(a[:first-1]))
	assert.Empty(t, of(a[1:]))
	assert.Empty(t, of(nil))
	a[len(journal.Header)+3] ^= 1
	assert.Empty(t, of(a))
}
