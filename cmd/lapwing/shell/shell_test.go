package shell

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/job"
	"lapwing/report/desk"
	"lapwing/report/page"
)

// A fakeDesk says what it was asked, and names files as they were dropped.
type fakeDesk struct {
	folder *fakeFolder
	from   map[string]string // where files came from that were taken from a watched folder
	ask    func(ctx context.Context, message []byte, progress func(string, float64)) desk.Reply
}

func (d *fakeDesk) Ask(ctx context.Context, message []byte, progress func(string, float64)) desk.Reply {
	return d.ask(ctx, message, progress)
}

func (d *fakeDesk) Renew(_ context.Context, name, from string) error {
	d.from[name] = from
	return nil
}

func (d *fakeDesk) NameFor(dropped string) (string, error) {
	if strings.Contains(dropped, "..") {
		return "", &job.InputError{File: dropped, Found: "found a name that leads elsewhere", Want: "a name"}
	}
	end := filepath.Ext(dropped)
	name := "files/" + dropped
	for n := 2; ; n++ {
		if _, err := fs.Stat(d.folder, name); err != nil {
			return name, nil
		}
		name = fmt.Sprintf("files/%s (%d)%s", strings.TrimSuffix(dropped, end), n, end)
	}
}

// A fakeFolder keeps files in a directory of the test.
type fakeFolder struct {
	fs.FS
	dir string
	mu  sync.Mutex
}

func (f *fakeFolder) Receive(ctx context.Context, body io.Reader, name func(fs.File) (string, error)) error {
	data, err := io.ReadAll(body)
	if err != nil {
		return err
	}
	came, err := os.CreateTemp(f.dir, ".came-*")
	if err != nil {
		return err
	}
	defer os.Remove(came.Name())
	defer came.Close()
	if _, err := came.Write(data); err != nil {
		return err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	at, err := name(came)
	if err != nil || at == "" || ctx.Err() != nil {
		return errors.Join(err, ctx.Err())
	}
	path := filepath.Join(f.dir, filepath.FromSlash(at))
	return errors.Join(os.MkdirAll(filepath.Dir(path), 0o755), os.WriteFile(path, data, 0o644))
}

func newShell(t *testing.T) (*Shell, *fakeFolder) {
	dir := t.TempDir()
	folder := &fakeFolder{FS: os.DirFS(dir), dir: dir}
	return &Shell{Desk: &fakeDesk{folder: folder, from: map[string]string{}}, Folder: folder}, folder
}

// call asks the shell one thing.
func call(t *testing.T, s *Shell, method, target string, body io.Reader) *http.Response {
	t.Helper()
	w := httptest.NewRecorder()
	s.Pages().ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), method, target, body))
	return w.Result()
}

func textOf(t *testing.T, r *http.Response) string {
	t.Helper()
	text, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	return string(text)
}

func TestAsk(t *testing.T) {
	s, _ := newShell(t)
	server := httptest.NewServer(s.Pages())
	t.Cleanup(server.Close)
	events, err := http.Get(server.URL + "/events")
	require.NoError(t, err)
	t.Cleanup(func() { _ = events.Body.Close() }) // the server waits for it
	heard := make(chan string)
	go func() {
		buffer := make([]byte, 1<<10)
		for {
			n, err := events.Body.Read(buffer)
			if err != nil {
				return
			}
			heard <- string(buffer[:n])
		}
	}()
	assert.Equal(t, ": listening\n\n", <-heard)
	s.Desk.(*fakeDesk).ask = func(_ context.Context, message []byte, progress func(string, float64)) desk.Reply {
		progress("reads", 0.5)
		return desk.Reply{Type: "application/zip", Body: append([]byte("heard "), message...)}
	}
	look, err := http.NewRequest("POST", server.URL+"/ask", strings.NewReader(`{"do": "look"}`))
	require.NoError(t, err)
	look.Header.Set("Lapwing-Ask", "7")
	r, err := http.DefaultClient.Do(look)
	require.NoError(t, err)
	assert.Equal(t, "application/zip", r.Header.Get("Content-Type"))
	assert.Equal(t, `heard {"do": "look"}`, textOf(t, r))
	assert.Equal(t, "data: {\"id\":\"7\",\"text\":\"reads\",\"share\":0.5}\n\n", <-heard)

	// Whoever goes is not worked for.
	stopped := make(chan struct{})
	s.Desk.(*fakeDesk).ask = func(ctx context.Context, _ []byte, _ func(string, float64)) desk.Reply {
		<-ctx.Done()
		close(stopped)
		return desk.Reply{Type: "application/json", Body: []byte(`{"error": {}}`), Failed: true}
	}
	ctx, leave := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer leave()
	q, err := http.NewRequestWithContext(ctx, "POST", server.URL+"/ask", strings.NewReader("{}"))
	require.NoError(t, err)
	_, err = http.DefaultClient.Do(q)
	assert.Error(t, err)
	<-stopped

	// A message may not be without end.
	r, err = http.Post(server.URL+"/ask", "application/json", bytes.NewReader(make([]byte, mostMessage+1)))
	require.NoError(t, err)
	assert.Equal(t, 422, r.StatusCode)
	assert.Contains(t, textOf(t, r), "a message that did not come whole")
}

// A file is kept once under a name, and another one of that name beside it.
func TestReceive(t *testing.T) {
	s, folder := newShell(t)
	for _, c := range []struct {
		dropped, content string
		status           int
		says             string
	}{
		{"stick/day 1.csv", "one", 200, `{"name":"files/stick/day 1.csv"}`},
		{"stick/day 1.csv", "one", 200, `{"name":"files/stick/day 1.csv"}`},
		{"stick/day 1.csv", "two", 200, `{"name":"files/stick/day 1 (2).csv"}`},
		{"stick/day 1.csv", "six", 200, `{"name":"files/stick/day 1 (3).csv"}`},
		{"day 1.csv", "one", 200, `{"name":"files/day 1.csv"}`},
		{"<b>.csv", "", 200, `files/\u003cb\u003e.csv`},
		{"", "", 422, "found no name"},
		{"../up.csv", "", 422, "leads elsewhere"},
		{"a\x00b.csv", "", 422, "no text"},
		{"\xff.csv", "", 422, "no text"},
		{strings.Repeat("d/", mostDepth+1) + "a.csv", "", 422, "folders deep"},
		{strings.Repeat("d", mostName+1), "", 422, "more than 1 KiB"},
	} {
		r := call(t, s, "POST", "/files?name="+url.QueryEscape(c.dropped), strings.NewReader(c.content))
		text := textOf(t, r)
		assert.Equal(t, c.status, r.StatusCode, c.dropped)
		assert.Contains(t, text, c.says)
		var reply struct {
			Error *desk.Fault `json:"error"`
		}
		require.NoError(t, json.Unmarshal([]byte(text), &reply))
		assert.Equal(t, c.status != 200, reply.Error != nil && strings.Contains(reply.Error.Text, ", want "))
	}
	for name, want := range map[string]string{"day 1.csv": "one", "day 1 (2).csv": "two", "day 1 (3).csv": "six"} {
		got, err := os.ReadFile(filepath.Join(folder.dir, "files", "stick", name))
		require.NoError(t, err)
		assert.Equal(t, want, string(got))
	}
}

// An upload that is broken off leaves nothing, whatever was on its way.
func TestReceiveBrokenOff(t *testing.T) {
	s, folder := newShell(t)
	r := call(t, s, "POST", "/files?name=day.csv", io.MultiReader(strings.NewReader("half"), brokenOff{}))
	assert.Equal(t, 500, r.StatusCode)
	left, err := os.ReadDir(folder.dir)
	require.NoError(t, err)
	assert.Empty(t, left)
}

type brokenOff struct{}

func (brokenOff) Read([]byte) (int, error) { return 0, io.ErrUnexpectedEOF }

// What is given as what: only documents of this program are pages, and nothing else
// runs, is shown in place, or is there.
func TestGive(t *testing.T) {
	s, folder := newShell(t)
	doc, err := os.ReadFile("../../../report/field/testdata/small.html")
	require.NoError(t, err)
	evil := strings.Replace(string(doc), "script-src '", "script-src 'unsafe-inline' '", 1)
	for name, text := range map[string]string{
		"pages/a/report.html": string(doc), "pages/a/evil.html": evil, "pages/a/summary.json": "{}", "pages/a/drawn.svg": "<svg/>", "pages/a/odd.xyz": "?",
		"files/page.html": string(doc), "files/day \"1\".csv": "a,b", "job.yaml": "field: a", "history/1/x": "x", "desk.json": "{}",
	} {
		at := filepath.Join(folder.dir, filepath.FromSlash(name))
		require.NoError(t, os.MkdirAll(filepath.Dir(at), 0o755))
		require.NoError(t, os.WriteFile(at, []byte(text), 0o644))
	}
	for _, c := range []struct{ path, kind, policy, saved string }{
		{"pages/a/report.html", "text/html; charset=utf-8", "its own", ""},
		{"pages/a/evil.html", "text/html; charset=utf-8", inert, ""},
		{"pages/a/summary.json", "application/json", inert, ""},
		{"pages/a/drawn.svg", octets, inert, "attachment; filename=drawn.svg"},
		{"pages/a/odd.xyz", octets, inert, `attachment; filename=odd.xyz`},
		{"files/page.html", octets, inert, `attachment; filename=page.html`},
		{"files/day%20%221%22.csv", octets, inert, `attachment; filename="day \"1\".csv"`},
	} {
		r := call(t, s, "GET", "/"+c.path, nil)
		require.Equal(t, 200, r.StatusCode, c.path)
		assert.Equal(t, c.kind, r.Header.Get("Content-Type"), c.path)
		assert.Equal(t, c.saved, r.Header.Get("Content-Disposition"), c.path)
		policy := r.Header.Get("Content-Security-Policy")
		if c.policy == "its own" {
			stated, framed := strings.CutSuffix(policy, "; frame-ancestors 'self'")
			assert.True(t, framed)
			assert.True(t, page.IsPolicy(stated))
			continue
		}
		assert.Equal(t, c.policy, policy, c.path)
	}
	for _, path := range []string{"pages/", "pages/a", "files/", "files/none", "files/..%2fjob.yaml", "files/../job.yaml", "pages/%2e%2e/job.yaml", "pages//a/summary.json", "pages/a/summary.json/"} {
		r := call(t, s, "GET", "/"+path, nil)
		assert.Contains(t, []int{404, 307}, r.StatusCode, path)
	}
	for _, c := range []struct {
		method, path string
		status       int
	}{
		{"GET", "/job.yaml", 404}, {"GET", "/desk.json", 404}, {"GET", "/history/1/x", 404}, {"GET", "/", 404}, {"GET", "/ask", 405},
		{"PUT", "/files?name=a", 405}, {"DELETE", "/files/page.html", 405}, {"POST", "/pages/a", 405},
	} {
		assert.Equal(t, c.status, call(t, s, c.method, c.path, nil).StatusCode, c.method+" "+c.path)
	}
}

// A pipeWriter is a page at the other end of a pipe.
type pipeWriter struct{ *io.PipeWriter }

func (p *pipeWriter) Header() http.Header { return http.Header{} }
func (p *pipeWriter) WriteHeader(int)     {}
func (p *pipeWriter) Flush()              {}

func newGet(ctx context.Context) *http.Request {
	return httptest.NewRequestWithContext(ctx, "GET", "/events", nil)
}
