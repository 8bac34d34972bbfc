package desk

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/format"
	"lapwing/report"
)

// A rooted store is a folder of this computer, as a server has it: nothing in it leads
// out. It notes whatever name somebody tries to open that is none of its files.
type rooted struct {
	t    *testing.T
	root *os.Root
	mu   sync.Mutex
	odd  []string
}

func (r *rooted) note(name string) {
	if fs.ValidPath(name) {
		return
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	r.odd = append(r.odd, name)
}

func (r *rooted) Open(name string) (fs.File, error) {
	r.note(name)
	return r.root.FS().Open(name)
}

func (r *rooted) Stat(name string) (fs.FileInfo, error) {
	r.note(name)
	return fs.Stat(r.root.FS(), name)
}

func (r *rooted) ReadDir(name string) ([]fs.DirEntry, error) {
	r.note(name)
	return fs.ReadDir(r.root.FS(), name)
}

func (r *rooted) Put(ctx context.Context, files []report.File) error {
	for _, f := range files {
		if !fs.ValidPath(f.Name) {
			return errors.New("a name that leads out")
		}
		var b bytes.Buffer
		if err := f.Write(&b); err != nil {
			return err
		}
		if err := r.root.MkdirAll(filepath.Dir(f.Name), 0o700); err != nil {
			return err
		}
		if err := r.root.WriteFile(f.Name, b.Bytes(), 0o600); err != nil {
			return err
		}
	}
	return ctx.Err()
}

func (r *rooted) Remove(names ...string) error {
	for _, name := range names {
		if err := r.root.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

// marks stand in files outside the desk: none of them may show in any reply or page.
const (
	secretName = "The Secret Field"
	secretLon  = "-104.99970"
)

// A path of a job, a task set, an archive or a message leads nowhere outside the desk:
// not absolute, not by two dots, not by a link, not to a pipe or a device.
func TestPathsStayInside(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("links and pipes are made as Unix has them")
	}
	outside := t.TempDir()
	dir := filepath.Join(outside, "farm", "desk")
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "files"), 0o700))
	secretBoundary := bytes.ReplaceAll(homeField(), []byte("Home"), []byte(secretName))
	secretLog := newDrive("2026-05-04T08:00:00Z", ",machine").lines(3, 6, 12, 0, 60, ",Secret Drill").csv()
	for name, data := range map[string][]byte{
		"secret.geojson": secretBoundary, "secret.csv": secretLog, "secret.yaml": []byte("name: Secret Drill\nwidth: 12 m\n"),
		"TASKDATA.XML": []byte(`<?xml version="1.0"?><ISO11783_TaskData VersionMajor="4" VersionMinor="0"><PFD A="PFD1" C="` + secretName + `" D="1"/></ISO11783_TaskData>`),
	} {
		require.NoError(t, os.WriteFile(filepath.Join(outside, name), data, 0o600))
		require.NoError(t, os.WriteFile(filepath.Join(outside, "farm", name), data, 0o600))
		require.NoError(t, os.Symlink(filepath.Join(outside, name), filepath.Join(dir, "files", "link-"+name)))
	}
	require.NoError(t, os.Symlink(outside, filepath.Join(dir, "files", "folder-out")))
	require.NoError(t, os.Symlink("/dev/zero", filepath.Join(dir, "files", "zero.csv")))
	require.NoError(t, syscall.Mkfifo(filepath.Join(dir, "files", "pipe.csv"), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "files", "home.geojson"), homeField(), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "files", "day1.csv"), dayOne(), 0o600))

	root, err := os.OpenRoot(dir)
	require.NoError(t, err)
	defer root.Close()
	store := &rooted{t: t, root: root}
	v := &visitor{t: t, Desk: New(store, Options{Formats: format.Plain(), Program: "test"})}
	s := v.look()
	require.Len(t, s.Jobs, 1, "the good files beside the odd ones")
	home := s.Jobs[0].Job
	good := string(must(fs.ReadFile(store, home)))

	outs := []string{filepath.Join(outside, "secret.%s"), "../secret.%s", "../../secret.%s", "files/../../secret.%s", "./files/./../../../secret.%s",
		`..\secret.%s`, `..\..\secret.%s`, `C:\secret.%s`, `\\host\share\secret.%s`, "file://" + outside + "/secret.%s", "files/link-secret.%s", "files/folder-out/secret.%s",
		"files/folder-out", "/", "..", "-", "/dev/stdin", "/dev/zero", "files/zero.csv", "files/pipe.csv", "/proc/self/environ", "~/secret.%s", "../TASKDATA.XML", "..#PFD1", "files/folder-out#PFD1", "files/link-TASKDATA.XML"}
	within := func(out, end string) string {
		if strings.Contains(out, "%s") {
			return fmt.Sprintf(out, end)
		}
		return out
	}
	quote := func(s string) string { b, _ := json.Marshal(s); return string(b) }
	inJob := map[string]func(out string) string{
		"boundary": func(out string) string {
			return strings.Replace(good, "boundary: files/home.geojson", "boundary: "+quote(within(out, "geojson")), 1)
		},
		"boundary, in a list": func(out string) string {
			return strings.Replace(good, "boundary: files/home.geojson", "boundary: [files/home.geojson, "+quote(within(out, "geojson"))+"]", 1)
		},
		"machines.implement": func(out string) string {
			return strings.Replace(good, "machines/machine-1.yaml", quote(within(out, "yaml")), 1)
		},
		"machines.tracks": func(out string) string {
			return strings.Replace(good, "- files/day1.csv", "- "+quote(within(out, "csv")), 1)
		},
		"machines.tracks.log": func(out string) string {
			return strings.Replace(good, "- files/day1.csv", "- {log: "+quote(within(out, "csv"))+"}", 1)
		},
	}
	silent := func(what string, r Reply) {
		t.Helper()
		for _, mark := range []string{"Secret", secretLon, "root:x:"} {
			if i := strings.Index(string(r.Body), mark); i >= 0 && !strings.Contains(what, "Secret") {
				assert.Fail(t, "it was read", "%s: %s shows: %.200s", what, mark, r.Body[max(0, i-100):])
			}
		}
	}
	every := []in{{"do": "look"}, {"do": "assess", "job": "wrong.yaml"}}
	more := []in{{"do": "last", "job": "wrong.yaml"}, {"do": "season", "jobs": []string{"wrong.yaml"}}, {"do": "waste", "jobs": []string{"wrong.yaml"}, "runs": 0},
		{"do": "boundary", "job": "wrong.yaml", "hole": ringOf(40, 40, 60, 60)}, {"do": "export"}}
	for key, text := range inJob {
		for i, out := range outs {
			wrong := text(out)
			require.NotEqual(t, good, wrong, key)
			require.NoError(t, root.WriteFile("wrong.yaml", []byte(wrong), 0o600))
			asks := every
			if i%5 == 0 { // all of them go by the same reader
				asks = slices.Concat(every, more)
			}
			for _, m := range asks {
				what := fmt.Sprint(key, ": ", out, ": ", m["do"])
				r := soon(t, v, m)
				silent(what, r)
				if m["do"] == "assess" {
					assert.True(t, r.Failed, what)
				}
			}
		}
	}
	require.NoError(t, root.Remove("wrong.yaml"))
	for _, out := range outs {
		for _, m := range []in{
			{"do": "file", "name": within(out, "csv")}, {"do": "assess", "job": within(out, "yaml")}, {"do": "season", "jobs": []string{within(out, "yaml")}},
			{"do": "compare", "jobs": []string{within(out, "yaml"), home}}, {"do": "answer", "job": within(out, "yaml"), "key": "field", "value": "x"},
			{"do": "answer", "machine": within(out, "yaml"), "key": "width", "value": "3 m"}, {"do": "answer", "job": home, "key": "boundary", "value": within(out, "geojson")},
			{"do": "place", "log": within(out, "csv"), "job": home}, {"do": "place", "log": "files/day1.csv", "job": within(out, "yaml")},
		} {
			what := fmt.Sprint(m)
			r := soon(t, v, m)
			silent(what, r)
			assert.True(t, r.Failed, what)
		}
	}
	assert.Equal(t, good, string(must(fs.ReadFile(store, home))))
	for _, name := range []string{"secret.geojson", "secret.csv", "secret.yaml"} {
		_, err := os.Stat(filepath.Join(outside, name))
		assert.NoError(t, err, "nothing outside is taken away")
	}
	assert.Empty(t, store.odd, "names that lead out never reach the store")
}

func must(text []byte, err error) []byte {
	if err != nil {
		panic(err)
	}
	return text
}

// soon asks, and fails where no answer comes: nothing may wait for a pipe.
func soon(t *testing.T, v *visitor, m in) Reply {
	t.Helper()
	text, err := json.Marshal(m)
	require.NoError(t, err)
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	r := v.Ask(ctx, text, nil)
	require.NoError(t, ctx.Err(), "%v", m)
	return r
}

// Archives lead nowhere either, and one that unpacks to too much is refused.
func TestArchivesStayInside(t *testing.T) {
	pack := func(files map[string]string) []byte {
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		for name, data := range files {
			w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate})
			require.NoError(t, err)
			_, err = w.Write([]byte(data))
			require.NoError(t, err)
		}
		require.NoError(t, z.Close())
		return b.Bytes()
	}
	job := "field: x\nboundary: home.geojson\nmachines:\n  - {name: a, implement: {width: 12 m}, tracks: [day1.csv]}\n"
	notes := `{"generator": "lapwing"}`
	for name, files := range map[string]map[string]string{
		"up":         {"job.yaml": job, "../out.csv": "x", "desk.json": notes},
		"absolute":   {"job.yaml": job, "/out.csv": "x", "desk.json": notes},
		"backslash":  {"job.yaml": job, `..\out.csv`: "x", "desk.json": notes},
		"drive":      {"job.yaml": job, `C:\out.csv`: "x", "desk.json": notes},
		"history":    {"job.yaml": job, "history/1/change.json": `{"made": ["files/mine.csv"]}`, "desk.json": notes},
		"pages":      {"job.yaml": job, "pages/x/report.html": "<script>", "desk.json": notes},
		"a name":     {"job.yaml": job, "files/con.csv": "x", "desk.json": notes},
		"same names": {"job.yaml": job, "desk.json": notes, "files/mine.csv": "theirs"},
	} {
		v := visit(t)
		v.drop("mine.csv", []byte("mine"))
		v.drop("theirs.zip", pack(files))
		v.look()
		assert.Equal(t, hashOf([]byte("mine")), v.files()["files/mine.csv"], name)
		for at := range v.files() {
			assert.True(t, fs.ValidPath(at), "%s: %s", name, at)
			if first, _, deeper := cut(at); deeper {
				assert.Contains(t, []string{"files", "machines", "boundaries", "unpacked"}, first, "%s: %s", name, at)
			}
		}
		assert.Empty(t, v.below("pages"), name)
		for _, at := range v.below("history") {
			assert.NotContains(t, v.text(at), `{"made"`, name)
		}
	}
	v := visit(t)
	v.drop("home.geojson", homeField())
	v.drop("day1.csv", dayOne())
	torn := pack(map[string]string{"job.yaml": job, "day1.csv": strings.Repeat("torn ", 1000)})
	copy(torn[bytes.Index(torn, []byte("day1.csv"))+20:], "xxxx") // in its packed bytes
	v.drop("torn.zip", torn)
	v.drop("bomb.zip", pack(map[string]string{"job.yaml": job, "day1.csv": strings.Repeat("\x00", 300<<20)}))
	s := v.look()
	require.Len(t, s.Jobs, 1)
	found := false
	for _, l := range s.Left {
		found = found || l.Path == "files/bomb.zip"
	}
	assert.True(t, found, "%+v", s.Left)
}
