//go:build unix

package journal_test

import (
	"bufio"
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lapwing/geo/journal"
)

// childEnv makes this program a cab that appends until it is killed: the value
// is the folder, and the journal to go on with or "".
const childEnv = "LAPWING_JOURNAL_CHILD"

func TestMain(m *testing.M) {
	if folder, ok := os.LookupEnv(childEnv); ok {
		child(folder)
	}
	os.Exit(m.Run())
}

// drawn is how many records the child may append; it is killed long before.
const drawn = 60_000

// child appends a drive, or goes on with it, and says of each record that it
// was appended.
func child(what string) {
	fail := func(err error) {
		fmt.Println(err)
		os.Exit(1)
	}
	dir, name, _ := strings.Cut(what, "\n")
	root, err := os.OpenRoot(dir)
	if err != nil {
		fail(err)
	}
	at, records := 0, drive("drill A", drawn)
	var j *journal.Journal
	if name == "" {
		j, err = journal.Create(byBytes{journal.In(root)}, "drill A", start, journal.Options{})
	} else {
		var found journal.Found
		j, found, err = journal.Open(byBytes{journal.In(root)}, name, "drill A", journal.Options{}, nil)
		at = found.Records
	}
	if err != nil {
		fail(err)
	}
	fmt.Println("name " + j.Name())
	for i, r := range records[at:] {
		if err := j.Append(r); err != nil {
			fail(err)
		}
		fmt.Println(at + i + 1)
	}
	fail(fmt.Errorf("nobody kills me"))
}

// byBytes is a folder whose files are written a few bytes at a time, so that a
// kill meets records half written.
type byBytes struct{ journal.Folder }

func (b byBytes) Create(name string) (journal.File, error) { return pieces(b.Folder.Create(name)) }
func (b byBytes) Open(name string) (journal.File, error)   { return pieces(b.Folder.Open(name)) }

func pieces(f journal.File, err error) (journal.File, error) {
	if err != nil {
		return nil, err
	}
	return piecemeal{f}, nil
}

type piecemeal struct{ journal.File }

func (f piecemeal) WriteAt(p []byte, at int64) (n int, err error) {
	for n < len(p) && err == nil {
		var some int
		some, err = f.File.WriteAt(p[n:min(n+7, len(p))], at+int64(n))
		n += some
	}
	return n, err
}

// kill starts a child and kills it after a while; it gives the journal's name
// and how many records the child said were appended.
func kill(t *testing.T, dir, name string, after time.Duration) (string, int) {
	t.Helper()
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), childEnv+"="+dir+"\n"+name)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	lines := bufio.NewScanner(out)
	require.True(t, lines.Scan())
	name, ok := strings.CutPrefix(lines.Text(), "name ")
	require.True(t, ok, lines.Text())
	timer := time.AfterFunc(after, func() { c.Process.Kill() })
	defer timer.Stop()
	said := 0
	for lines.Scan() {
		n, err := strconv.Atoi(lines.Text())
		require.NoError(t, err, lines.Text())
		said = n
	}
	c.Wait()
	return name, said
}

// Killed at any moment, a journal has every record that was appended and none
// that was not; what was half written is cut off, and it goes on. 20 kills, or
// 200 with LAPWING_LONG.
func TestKilled(t *testing.T) {
	rounds := 20
	if os.Getenv("LAPWING_LONG") != "" {
		rounds = 200
	}
	seed := uint64(time.Now().UnixNano())
	r := rand.New(rand.NewPCG(seed, 0))
	records := drive("drill A", drawn)
	dir, name, torn, before := "", "", 0, 0
	var root *os.Root
	for round := range rounds {
		if round%5 == 0 { // a start of its own, gone on with four times
			var err error
			dir, name, before = t.TempDir(), "", 0
			root, err = os.OpenRoot(dir)
			require.NoError(t, err)
			defer root.Close()
		}
		var said int
		name, said = kill(t, dir, name, time.Duration(r.IntN(40_000))*time.Microsecond)
		data, err := root.ReadFile(name)
		require.NoError(t, err)
		got, found := read(t, data)
		require.GreaterOrEqual(t, len(got), max(said, before), "seed %d, round %d", seed, round)
		require.LessOrEqual(t, len(got), max(said, before)+1, "seed %d, round %d: one may have been appended and not said", seed, round)
		requireRecords(t, records[:len(got)], got, "seed %d, round %d", seed, round)
		require.Empty(t, found.Damage, "seed %d, round %d", seed, round)
		if found.Torn != nil {
			torn++
			require.True(t, bytes.HasPrefix(lineOf(t, records[len(got)]), data[found.Torn.Offset:]), "seed %d, round %d", seed, round)
		}
		before = len(got)
	}
	t.Logf("%d kills, %d records half written", rounds, torn)
	require.Positive(t, torn, "no kill met a record half written")
}

// lineOf is the line of a record.
func lineOf(t *testing.T, r journal.Record) []byte {
	data, _ := written(t, []journal.Record{r})
	_, line, _ := bytes.Cut(data, []byte("\n"))
	return line
}
