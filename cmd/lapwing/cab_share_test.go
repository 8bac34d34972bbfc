//go:build linux

package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/cmd/lapwing/cab"
	"lapwing/cmd/lapwing/serve"
	"lapwing/geo/journal"
)

// A link carries bytes from one cab to another, as a radio over a field does: at a rate,
// or not at all, and what is under way when it is cut is gone.
type link struct {
	listener net.Listener
	target   string

	mu    sync.Mutex
	rate  int  // bytes a second; 0 for as fast as it goes
	down  bool // whoever calls is cut off at once
	stuck bool // nothing goes through, and nobody is told
	open  map[net.Conn]bool
}

// newLink listens where that cab is called by this one: at the cab's own port, since a cab
// answers nobody who calls it by another.
func newLink(t *testing.T, host, target string) *link {
	_, port, err := net.SplitHostPort(target)
	require.NoError(t, err)
	l := &link{target: target, open: map[net.Conn]bool{}}
	l.listener, err = net.Listen("tcp", net.JoinHostPort(host, port))
	require.NoError(t, err)
	t.Cleanup(func() { l.listener.Close(); l.set(func() { l.down = true }) })
	go func() {
		for {
			c, err := l.listener.Accept()
			if err != nil {
				return
			}
			go l.carry(c)
		}
	}()
	return l
}

// set changes how a link is; one that is down cuts off all that it carries.
func (l *link) set(do func()) {
	l.mu.Lock()
	defer l.mu.Unlock()
	do()
	if l.down {
		for c := range l.open {
			c.Close()
		}
	}
}

func (l *link) carry(from net.Conn) {
	defer from.Close()
	to, err := net.Dial("tcp", l.target)
	if err != nil {
		return
	}
	defer to.Close()
	l.mu.Lock()
	l.open[from] = true
	down := l.down
	l.mu.Unlock()
	defer func() {
		l.mu.Lock()
		delete(l.open, from)
		l.mu.Unlock()
	}()
	if down {
		return
	}
	go func() {
		_, _ = io.Copy(to, from)
		to.Close()
	}()
	buffer := make([]byte, 700) // which cuts records anywhere
	for {
		n, err := to.Read(buffer)
		if err != nil {
			return
		}
		for {
			l.mu.Lock()
			rate, stuck, down := l.rate, l.stuck, l.down
			l.mu.Unlock()
			if down {
				return
			}
			if !stuck {
				if rate > 0 {
					time.Sleep(time.Duration(n) * time.Second / time.Duration(rate))
				}
				break
			}
			time.Sleep(20 * time.Millisecond)
		}
		if _, err := from.Write(buffer[:n]); err != nil {
			return
		}
	}
}

// A crewMember is one of four cabs of one field.
type crewMember struct {
	name, dir, address, id, look string
	tractor                      *tractor
	args                         []string
	process                      *cabProcess
}

var drills = []string{"drill A", "drill B", "drill C", "drill D"}

// newCrew makes four cabs whose tractors work a quarter of the field each, and the links
// between all of them: links[i][k] is that by which cab i calls cab k. A job has all four
// machines, or its own only.
func newCrew(t *testing.T, every time.Duration, names []string, all bool) (crew []*crewMember, links [][]*link) {
	for i := range 4 {
		m := &crewMember{name: names[i], dir: cabJob(t), address: freePort(t), id: strings.Repeat(string(rune('a'+i)), 8), look: strings.Repeat(string(rune('A'+i)), 26), tractor: newTractorAt(t, every, 100*float64(i))}
		list := "field: Pit Field\nboundary: field.geojson\ntime_zone: UTC\nmachines:\n"
		for k, name := range names {
			if all || k == i {
				list += fmt.Sprintf("  - name: %s\n    implement: {width: 10 m, sections: 4}\n", name)
			}
		}
		put(t, filepath.Join(m.dir, "job.yaml"), list)
		require.NoError(t, os.Mkdir(filepath.Join(m.dir, "journal"), 0o755))
		put(t, filepath.Join(m.dir, "journal", "this-cab.json"), fmt.Sprintf(`{"cab": %q, "look": %q, "drive": %q}`, m.id, m.look, serve.NewKey()))
		m.args = []string{"--receiver", "tcp:" + m.tractor.listener.Addr().String() + "?machine=" + strings.ReplaceAll(m.name, " ", "%20"), "--listen", m.address}
		crew = append(crew, m)
	}
	links = make([][]*link, 4)
	for i, m := range crew {
		links[i] = make([]*link, 4)
		for k, other := range crew {
			if k == i {
				continue
			}
			host := fmt.Sprintf("127.0.%d.%d", 1+i, 1+k)
			links[i][k] = newLink(t, host, other.address)
			_, port, _ := net.SplitHostPort(other.address)
			m.args = append(m.args, "--share", "http://"+net.JoinHostPort(host, port)+"/#"+other.look)
		}
	}
	return crew, links
}

func (m *crewMember) start(t *testing.T) { m.process = startCab(t, m.dir, m.args...) }

func (m *crewMember) kill(t *testing.T) {
	require.NoError(t, m.process.Process.Kill())
	_ = m.process.Wait()
}

// journalsOf are the journals in a folder that hold a record, by name.
func journalsOf(t *testing.T, dir string) map[string]string {
	out := map[string]string{}
	entries, err := os.ReadDir(dir)
	if os.IsNotExist(err) {
		return out
	}
	require.NoError(t, err)
	for _, e := range entries {
		if filepath.Ext(e.Name()) != ".csv" {
			continue
		}
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		require.NoError(t, err)
		if journal.Identity(strings.NewReader(string(data))) != "" {
			out[e.Name()] = string(data)
		}
	}
	return out
}

// haveAll reports whether each cab has all journals of each other, to the byte.
func haveAll(t *testing.T, crew []*crewMember) bool {
	for _, of := range crew {
		want := journalsOf(t, filepath.Join(of.dir, "journal"))
		for _, m := range crew {
			if m != of && !assert.ObjectsAreEqual(want, journalsOf(t, filepath.Join(m.dir, "journal", "cab-"+of.id))) {
				return false
			}
		}
	}
	return true
}

var ofThisCab = regexp.MustCompile(`"run": *"[0-9a-f]*"|cab-[a-d]{8}/`)

// summary is what a cab wrote, without the run, and without what names the folder of a
// journal.
func (m *crewMember) summary(t *testing.T) string {
	data, err := os.ReadFile(filepath.Join(m.dir, "assessment", "summary.json"))
	require.NoError(t, err)
	return ofThisCab.ReplaceAllString(string(data), "")
}

// endAll stops the tractors, waits until the cabs have what they can, ends them, and fails
// unless each says what assess says of all journals.
func endAll(t *testing.T, crew []*crewMember) {
	for _, m := range crew {
		m.tractor.stop(true)
	}
	settled := assert.Eventually(t, func() bool { return haveAll(t, crew) }, 90*time.Second, 200*time.Millisecond, "each has what the others wrote")
	for _, m := range crew {
		m.process.end(t, syscall.SIGTERM)
		holdsItsLaw(t, m.dir)
		if !settled || t.Failed() {
			t.Log(m.name, m.process.stderr)
		}
	}
	require.True(t, settled)
}

// Four cabs work one field, each a quarter, while the links between them are cut, slowed
// and stuck, and the cabs themselves are killed, with a torn end too. In the end each has
// what all wrote, says what assess says of that, and all four say the same.
func TestCrewKilled(t *testing.T) {
	t.Parallel()
	seed := rand.Uint64()
	t.Log("seed", seed)
	rng := rand.New(rand.NewPCG(seed, 0))
	crew, links := newCrew(t, 5*time.Millisecond, drills, true)
	for _, m := range crew {
		m.start(t)
	}
	rounds, killed := kills(), 0
	for range rounds {
		for range 6 {
			l := links[rng.IntN(4)][rng.IntN(4)]
			if l == nil {
				continue
			}
			l.set(func() {
				l.down, l.stuck, l.rate = rng.IntN(3) == 0, rng.IntN(4) == 0, []int{0, 0, 3000, 40_000}[rng.IntN(4)]
			})
		}
		time.Sleep(time.Duration(rng.IntN(1200)) * time.Millisecond)
		m := crew[rng.IntN(4)]
		switch rng.IntN(3) {
		case 0, 1:
			m.kill(t)
			killed++
			for _, dir := range []string{"journal", "journal/cab-" + crew[rng.IntN(4)].id} {
				if dir = filepath.Join(m.dir, dir); rng.IntN(2) == 0 && len(journalsOf(t, dir)) > 0 {
					tear(t, dir, rng)
				}
			}
			time.Sleep(time.Duration(rng.IntN(300)) * time.Millisecond)
			m.start(t)
		}
	}
	for _, row := range links {
		for _, l := range row {
			if l != nil {
				l.set(func() { l.down, l.stuck, l.rate = false, false, 0 })
			}
		}
	}
	t.Logf("%d rounds, %d kills", rounds, killed)
	endAll(t, crew)
	for _, m := range crew[1:] {
		require.Equal(t, crew[0].summary(t), m.summary(t), "all say the same")
	}
	var told cab.Summary
	data, err := os.ReadFile(filepath.Join(crew[0].dir, "assessment", cab.SummaryFile))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(data, &told))
	assert.GreaterOrEqual(t, len(told.Shared.Journals), 3)
}

// Cabs that do not reach each other hear of each other through one that both reach. Each
// job has its own machine only, and all call it the same: none is taken for another.
func TestCrewOfOneName(t *testing.T) {
	t.Parallel()
	crew, links := newCrew(t, 2*time.Millisecond, []string{"drill", "drill", "drill", "drill"}, false)
	for i, row := range links { // a chain: 0 - 1 - 2 - 3
		for k, l := range row {
			if l != nil && i != k+1 && k != i+1 {
				l.set(func() { l.down = true })
			}
		}
	}
	for _, m := range crew {
		m.start(t)
	}
	require.Eventually(t, func() bool { return crew[3].tractor.fixes(time.Now()) > 1500 }, 60*time.Second, 20*time.Millisecond)
	endAll(t, crew)
	for _, m := range crew {
		want := []string{"drill"}
		for _, o := range crew {
			if o != m {
				want = append(want, "drill (cab "+o.id+")")
			}
		}
		assert.Equal(t, want, m.machines(t))
	}
}

// machines are the names of those whose passes are in what a cab wrote.
func (m *crewMember) machines(t *testing.T) (names []string) {
	for _, p := range regexp.MustCompile(`"machine": *"([^"]*)"`).FindAllStringSubmatch(m.summary(t), -1) {
		names = append(names, p[1])
	}
	slices.Sort(names)
	return slices.Compact(names)
}

// A machine of another cab that was the one of its name, and even the one that the job
// knows, is told apart from the moment on that a second cab has one of that name.
func TestCrewNameTakenLater(t *testing.T) {
	t.Parallel()
	crew, _ := newCrew(t, 2*time.Millisecond, []string{"alpha", "drill", "drill", "beta"}, false)
	job, err := os.ReadFile(filepath.Join(crew[0].dir, "job.yaml"))
	require.NoError(t, err)
	put(t, filepath.Join(crew[0].dir, "job.yaml"), string(job)+"  - name: Drill\n    implement: {width: 12 m}\n")
	crew[0].start(t)
	crew[1].start(t)
	crew[3].start(t)
	t.Cleanup(func() {
		if t.Failed() {
			t.Log(crew[0].process.stderr)
		}
	})
	said := func(m *crewMember, text string) func() bool {
		return func() bool {
			m.process.stderr.Lock()
			defer m.process.stderr.Unlock()
			return strings.Contains(m.process.stderr.String(), text)
		}
	}
	require.Eventually(t, said(crew[0], "cab: drill of cab bbbbbbbb joins, called Drill here\n"), 60*time.Second, 20*time.Millisecond)
	require.Eventually(t, said(crew[0], "warning: Drill works 39.37 ft here and 32.81 ft in its own cab; the job here holds\n"), 60*time.Second, 20*time.Millisecond)
	require.Eventually(t, said(crew[3], "cab: drill of cab bbbbbbbb joins\n"), 60*time.Second, 20*time.Millisecond)
	require.Eventually(t, func() bool {
		return len(journalsOf(t, filepath.Join(crew[0].dir, "journal", "cab-"+"bbbbbbbb"))) > 0
	}, 60*time.Second, 20*time.Millisecond)
	time.Sleep(time.Second) // some of it comes
	crew[2].start(t)
	require.Eventually(t, said(crew[0], "cab: drill of cab bbbbbbbb joins, called drill (cab bbbbbbbb) here\n"), 60*time.Second, 20*time.Millisecond)
	require.Eventually(t, func() bool { return crew[2].tractor.fixes(time.Now()) > 1500 }, 60*time.Second, 20*time.Millisecond)
	endAll(t, crew)
	for _, k := range []int{0, 3} {
		assert.Equal(t, []string{"alpha", "beta", "drill (cab bbbbbbbb)", "drill (cab cccccccc)"}, crew[k].machines(t))
	}
	assert.Equal(t, []string{"alpha", "beta", "drill", "drill (cab cccccccc)"}, crew[1].machines(t))
}

// Whatever is wrong with an address is one clear line, stands in cab.json and on the page,
// and the cab goes on without it.
func TestCrewGoesOnWithout(t *testing.T) {
	t.Parallel()
	crew, _ := newCrew(t, 2*time.Millisecond, drills, true)
	first, far, copied := crew[0], crew[1], crew[2]
	far.tractor = newTractorAt(t, 2*time.Millisecond, 20_000)
	far.args = slices.Delete(far.args, 4, len(far.args)) // it asks nobody
	far.args[1] = "tcp:" + far.tractor.listener.Addr().String() + "?machine=drill%20B"
	put(t, filepath.Join(copied.dir, "journal", "this-cab.json"), fmt.Sprintf(`{"cab": %q, "look": %q, "drive": %q}`, first.id, copied.look, serve.NewKey()))
	copied.args = slices.Delete(copied.args, 4, len(copied.args))
	far.start(t)
	copied.start(t)
	_, farPort, _ := net.SplitHostPort(far.address)
	first.args = append(first.args[:4],
		"--share", "192.168.4.7:8080",
		"--share", "http://192.0.2.1:8080/", // without a key
		"--share", "http://"+far.address+"/#WRONGWRONGWRONG",
		"--share", "http://localhost:"+farPort+"/#"+far.process.key,
		"--share", "http://"+first.address+"/#"+first.look,
		"--share", "http://"+copied.address+"/#"+copied.look,
		"--share", "https://"+far.address+"/#"+far.look)
	first.start(t)
	lines := []string{
		`warning: --share: found "192.168.4.7:8080", which is no address, want the address that the other cab shows for those who look, such as http://192.168.4.7:8080/#KEY; it is left out`,
		`warning: --share: found "http://192.0.2.1:8080/" without a key, want the address`,
		"cab: --share " + far.address + ": it refuses the key; the cab goes on without it, and tries again",
		"warning: --share localhost:" + farPort + ": the key given drives that cab; the one that only looks is enough",
		"warning: --share localhost:" + farPort + ": the ground of drill B is not on this field but 12.2 mi away; left out until it comes here",
		"cab: --share " + first.address + ": it is this cab itself; the cab goes on without it",
		"cab: --share " + copied.address + ": its journals lie in a copy of this cab's directory, and both are one cab to others: remove this-cab.json there and start it again; the cab goes on without it",
		"cab: --share " + far.address + ": http: server gave HTTP response to HTTPS client; the cab goes on without it",
	}
	said := func() string {
		first.process.stderr.Lock()
		defer first.process.stderr.Unlock()
		return first.process.stderr.String()
	}
	for _, line := range lines {
		if !assert.Eventually(t, func() bool { return strings.Contains(said(), line) }, 60*time.Second, 20*time.Millisecond, line) {
			t.Log(said())
		}
	}
	assert.NotContains(t, said(), far.look)
	assert.NotContains(t, said(), "WRONGWRONG")
	status, body := first.process.ask(t, "GET", "answer.json", first.process.key, "")
	require.Equal(t, 200, status)
	var told struct {
		Shared []cab.Shared `json:"shared"`
	}
	require.NoError(t, json.Unmarshal([]byte(body), &told))
	warnings := map[string]string{}
	for _, s := range told.Shared {
		warnings[s.Machine] += s.Warning
	}
	assert.Contains(t, warnings["drill B"], "not on this field")
	assert.Contains(t, warnings[first.address], "it is this cab itself")
	require.Eventually(t, func() bool { return len(first.process.answer(t).Passes) > 0 }, 60*time.Second, 20*time.Millisecond)
	first.process.end(t, syscall.SIGTERM)
	holdsItsLaw(t, first.dir)
	assert.Equal(t, []string{"drill A"}, first.machines(t))
	var sum cab.Summary
	data, err := os.ReadFile(filepath.Join(first.dir, "assessment", cab.SummaryFile))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(data, &sum))
	assert.Empty(t, sum.Shared.Journals)
	assert.Len(t, sum.Shared.Warnings, 8)
}

// The key that looks reads journals and lists, and nothing else of the computer; without
// one nobody does.
func TestCrewOnlyJournalsAreServed(t *testing.T) {
	t.Parallel()
	crew, _ := newCrew(t, time.Millisecond, drills, false)
	m := crew[0]
	m.args = slices.Delete(m.args, 4, len(m.args))
	m.start(t)
	require.Eventually(t, func() bool {
		_, body := m.process.ask(t, "GET", "journals.json", m.look, "")
		return strings.Contains(body, m.id)
	}, 60*time.Second, 20*time.Millisecond)
	var name string
	require.Eventually(t, func() bool {
		for name = range journalsOf(t, filepath.Join(m.dir, "journal")) {
			return true
		}
		return false
	}, 60*time.Second, 20*time.Millisecond)
	require.Eventually(t, func() bool {
		_, body := m.process.ask(t, "GET", "journals.json", m.look, "")
		return strings.Contains(body, name)
	}, 60*time.Second, 20*time.Millisecond)
	for path, want := range map[string]int{
		"journals.json":                                200,
		"journals/" + m.id + "/" + name:                200,
		"journals/bbbbbbbb/" + name:                    404,
		"journals/" + m.id + "/other.csv":              404,
		"journals/" + m.id + "/this-cab.json":          404,
		"journals/" + m.id + "/..%2f..%2fjob.yaml":     404,
		"journals/" + m.id + "/%2e%2e%2fthis-cab.json": 404,
	} {
		status, body := m.process.ask(t, "GET", path, m.look, "")
		assert.Equal(t, want, status, path)
		assert.NotContains(t, body, m.look, path)
		status, _ = m.process.ask(t, "GET", path, "", "")
		assert.Equal(t, 401, status, path)
		status, _ = m.process.ask(t, "POST", path, m.look, "")
		assert.Equal(t, 403, status, path)
	}
	status, body := m.process.ask(t, "GET", "journals/"+m.id+"/"+name, m.look, "")
	assert.Equal(t, 200, status)
	assert.True(t, strings.HasPrefix(body, journal.Header))
	m.process.end(t, syscall.SIGTERM)
	holdsItsLaw(t, m.dir)
}
