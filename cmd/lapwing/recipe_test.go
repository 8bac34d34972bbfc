//go:build unix

package main

import (
	"bufio"
	"bytes"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book/postgis/pgtest"
)

// A step is what the recipe has between its fences.
type step struct{ kind, text string }

func recipe(t *testing.T) (steps []step) {
	t.Helper()
	text, err := os.ReadFile("../../samples/serving/recipe.md")
	require.NoError(t, err)
	for _, m := range regexp.MustCompile("(?ms)^```([^\n]+)\n(.*?)^```$").FindAllStringSubmatch(string(text), -1) {
		steps = append(steps, step{m[1], m[2]})
	}
	require.NotEmpty(t, steps)
	return steps
}

// The recipe is followed from end to end, on a server of its own: what is served from a
// book that was dumped and restored is the same to the byte.
func TestRecipe(t *testing.T) {
	server := pgtest.Start(t)
	u, err := url.Parse(server.Address("postgres"))
	require.NoError(t, err)
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(filepath.Join(dir, "2026"), os.DirFS("../../samples/tern-bank")))
	steps := recipe(t)

	pgpass := filepath.Join(dir, "pgpass")
	var lines strings.Builder
	for _, m := range regexp.MustCompile(`CREATE ROLE (\w+) LOGIN PASSWORD '([^']+)'`).FindAllStringSubmatch(steps[0].text, -1) {
		lines.WriteString("127.0.0.1:*:*:" + m[1] + ":" + m[2] + "\n")
	}
	require.NoError(t, os.WriteFile(pgpass, []byte(lines.String()), 0o600))
	admin := func(database, statements string) {
		t.Helper()
		c, err := pgx.Connect(t.Context(), server.Address(database))
		require.NoError(t, err)
		defer c.Close(t.Context())
		for statement := range strings.SplitSeq(statements, ";\n") { // a database is made in no transaction
			_, err := c.Exec(t.Context(), statement)
			require.NoError(t, err, statement)
		}
	}
	// here is a line of the recipe with this test's host, password and places.
	here := func(text string) string {
		return strings.NewReplacer("db.example", u.Host, "/var/lib/lapwing", dir, "127.0.0.1:8080", "127.0.0.1:0").Replace(text)
	}
	command := func(line string) *exec.Cmd {
		c := exec.Command("sh", "-ec", here(line))
		c.Dir = dir
		c.Env = append(os.Environ(), "PGPASSFILE="+pgpass, "PATH="+server.Programs()+":"+os.Getenv("PATH"))
		c.Stdin = strings.NewReader(password + "\n")
		return c
	}
	// served is the front page and a field's, as Ada gets them.
	served := func(line string) (pages []string) {
		t.Helper()
		c := command("exec " + line)
		var said bytes.Buffer
		c.Stderr = &said
		out, err := c.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, c.Start())
		defer func() {
			require.NoError(t, c.Process.Signal(os.Interrupt))
			require.NoError(t, c.Wait(), said.String())
		}()
		first, err := bufio.NewReader(out).ReadString('\n')
		require.NoError(t, err, said.String())
		address, found := strings.CutPrefix(strings.TrimSpace(first), "serve ")
		require.True(t, found, first)
		jar, err := cookiejar.New(nil)
		require.NoError(t, err)
		// The proxy is not here: its cookie, which only https gets, is sent by hand.
		client := &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
		r, err := client.PostForm(address+"sign-in", url.Values{"name": {"ada"}, "password": {password}})
		require.NoError(t, err)
		r.Body.Close()
		require.Equal(t, http.StatusSeeOther, r.StatusCode, said.String())
		cookie, _, _ := strings.Cut(r.Header.Get("Set-Cookie"), ";")
		get := func(path string) string {
			q, err := http.NewRequest("GET", address+path, nil)
			require.NoError(t, err)
			q.Header.Set("Cookie", cookie)
			r, err := client.Do(q)
			require.NoError(t, err)
			defer r.Body.Close()
			var b bytes.Buffer
			_, err = b.ReadFrom(r.Body)
			require.NoError(t, err)
			require.Equal(t, http.StatusOK, r.StatusCode, path)
			return b.String()
		}
		list := get("")
		at := regexp.MustCompile(`href="/(farm/\d+/field/[0-9a-f]{64}/0/report.html)"`).FindStringSubmatch(list)
		require.NotEmpty(t, at, list)
		return []string{list, get(at[1]), get("people"), get(strings.Replace(at[1], "report.html", "coverage.geojson", 1))}
	}

	var serve string
	var before []string
	for _, s := range steps {
		switch s.kind {
		case "sql":
			admin("postgres", s.text)
		case "sql farm":
			admin("farm", s.text)
			admin("postgres", "CREATE DATABASE farm2 OWNER keeper")
			admin("farm2", s.text)
		case "sh serve":
			serve = strings.TrimSpace(s.text)
			before = served(serve)
		case "sh":
			for line := range strings.Lines(s.text) {
				out, err := command(line).CombinedOutput()
				require.NoError(t, err, "%s\n%s", line, out)
			}
		case "sh file":
			out, err := command("lapwing season 2026 --book file:book.gpkg --out season && mkdir copy && " + s.text).CombinedOutput()
			require.NoError(t, err, string(out))
			out, err = command("lapwing season 2026 --book file:copy/book.gpkg --out other").CombinedOutput()
			require.NoError(t, err, string(out))
			assert.Contains(t, string(out), "1 of 1 jobs taken from the book", "the copy has it all")
		case "systemd":
			verify, err := exec.LookPath("systemd-analyze")
			if err != nil {
				continue
			}
			unit := filepath.Join(dir, "lapwing.service")
			program, err := exec.LookPath("lapwing")
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(unit, []byte(strings.ReplaceAll(s.text, "/usr/local/bin/lapwing", program)), 0o644))
			out, err := exec.Command(verify, "verify", "--man=no", unit).CombinedOutput()
			assert.NoError(t, err, string(out))
			assert.NotContains(t, string(out), unit, "what it warns of is in this unit")
		}
	}
	after := served(strings.ReplaceAll(serve, "/farm ", "/farm2 "))
	assert.Equal(t, before, after)
}
