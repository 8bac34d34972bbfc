//go:build linux

package main

import (
	"bufio"
	"bytes"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book"
)

// Two cabs that reach a served book and not each other have each other's ground, while the
// server is killed in between; in the end both say what assess says of all journals.
func TestServePassesJournalsOn(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	at := "file:" + filepath.Join(dir, "book.gpkg")
	owner, err := storeAt(t.Context(), at)
	require.NoError(t, err)
	require.NoError(t, owner.AddManager(t.Context(), book.NewPerson{SignIn: "max", Name: "Max", Password: keptOnce()}))
	require.NoError(t, owner.Close())
	address := freePort(t)
	start := func() *exec.Cmd {
		c := exec.Command("lapwing", "serve", "--book", at, "--listen", address, "--desks", filepath.Join(dir, "desks"))
		said := &bytes.Buffer{}
		c.Stderr = said
		out, err := c.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, c.Start())
		_, err = bufio.NewReader(out).ReadString('\n')
		require.NoError(t, err, said)
		return c
	}
	server := start()
	t.Cleanup(func() { _ = server.Process.Kill(); _ = server.Wait() })

	// Each driver has a token of their own.
	c := &crowd{t: t}
	max := &visitor{c: c, http: c.visitor().http}
	max.base = "http://" + address
	require.Equal(t, 303, max.do("POST", "/sign-in", url.Values{"name": {"max"}, "password": {password}}).status)
	require.Equal(t, 303, max.do("POST", "/farms", url.Values{"name": {"Aspen"}}).status)
	farm := regexp.MustCompile(`/farm/(\d+)/desk/`).FindStringSubmatch(max.do("GET", "/", nil).text)[1]
	var crew []*crewMember
	for i, name := range drills[:2] {
		token := onceIn(t, max.do("POST", "/account/tokens", url.Values{"name": {name}, "may": {"work"}, "days": {"2"}}).text)
		m := &crewMember{name: name, dir: cabJob(t), id: strings.Repeat(string(rune('a'+i)), 8), tractor: newTractorAt(t, 5*time.Millisecond, 100*float64(i))}
		put(t, filepath.Join(m.dir, "job.yaml"), "field: Pit Field\nboundary: field.geojson\ntime_zone: UTC\nmachines:\n  - {name: drill A, implement: {width: 10 m}}\n  - {name: drill B, implement: {width: 10 m}}\n")
		require.NoError(t, os.Mkdir(filepath.Join(m.dir, "journal"), 0o755))
		put(t, filepath.Join(m.dir, "journal", "this-cab.json"), fmt.Sprintf(`{"cab": %q, "look": %q, "drive": %q}`, m.id, strings.Repeat(string(rune('A'+i)), 26), strings.Repeat(string(rune('C'+i)), 26)))
		m.args = []string{"--receiver", "tcp:" + m.tractor.listener.Addr().String() + "?machine=" + strings.ReplaceAll(name, " ", "%20"),
			"--share", "http://" + address + "/farm/" + farm + "/crew/#" + token}
		m.start(t)
		crew = append(crew, m)
	}
	time.Sleep(3 * time.Second)
	require.NoError(t, server.Process.Kill())
	_ = server.Wait()
	// What was cut off in the middle is brought again.
	for _, m := range crew {
		journals, err := filepath.Glob(filepath.Join(dir, "desks", "farm-"+farm+"-crew", m.id, "*.csv"))
		require.NoError(t, err)
		for _, name := range journals {
			info, err := os.Stat(name)
			require.NoError(t, err)
			require.NoError(t, os.Truncate(name, info.Size()-7))
		}
	}
	time.Sleep(time.Second)
	server = start()
	time.Sleep(2 * time.Second)
	endAll(t, crew)
	assert.Equal(t, crew[0].summary(t), crew[1].summary(t), "both say the same")
	require.NoError(t, server.Process.Signal(syscall.SIGTERM))
	require.NoError(t, server.Wait())
}

// Journals are brought by who works for the farm, each cab's by whom it was brought first,
// and given to who works for it.
func TestServeCrewKeepsApart(t *testing.T) {
	c := newFileCrowd(t)
	token := func(name, may string) *visitor {
		v := c.visitor()
		v.token = onceIn(t, c.in(name, password).do("POST", "/account/tokens", url.Values{"name": {"cab"}, "may": {may}, "days": {"2"}}).text)
		return v
	}
	list := `{"schema": "lapwing/journals/1", "cab": "aaaaaaaa", "machines": [], "journals": []}`
	tell := func(v *visitor, farm string) int {
		return v.send("PUT", "/farm/"+farm+"/crew/journals.json", strings.NewReader(list)).status
	}
	ada, bo, max := token("ada", "work"), token("bo", "work"), token("max", "work")
	assert.Equal(t, 200, tell(ada, c.aspen))
	assert.Equal(t, 200, tell(ada, c.aspen), "again")
	assert.Equal(t, 403, tell(max, c.aspen), "another's cab")
	assert.Equal(t, 404, tell(bo, c.aspen))
	assert.Equal(t, 403, tell(token("ada", "look"), c.aspen))
	assert.Equal(t, 403, tell(token("al", "work"), c.aspen))
	assert.Equal(t, 200, tell(bo, c.birch))
	assert.Equal(t, 200, max.send("GET", "/farm/"+c.aspen+"/crew/journals.json", nil).status)
	for _, v := range []*visitor{bo, c.visitor()} {
		assert.GreaterOrEqual(t, v.send("GET", "/farm/"+c.aspen+"/crew/journals.json", nil).status, 400)
		assert.GreaterOrEqual(t, v.send("POST", "/farm/"+c.aspen+"/crew/journals/aaaaaaaa/x.csv?from=0", strings.NewReader("x")).status, 400)
	}
	for path, want := range map[string]int{
		"journals/aaaaaaaa/x.csv?from=0": 404, "journals/aaaaaaaa/..%2fbrought.json?from=0": 404, "journals/bbbbbbbb/x.csv?from=0": 404, "journals/aaaaaaaa/x.csv?from=": 400,
	} {
		assert.Equal(t, want, ada.send("POST", "/farm/"+c.aspen+"/crew/"+path, strings.NewReader("x")).status, path)
	}
}
