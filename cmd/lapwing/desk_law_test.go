package main

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/cmd/lapwing/disk"
	"lapwing/report/desk"
	"lapwing/report/desk/store"
	fieldreport "lapwing/report/field"
)

// A deskVisitor drops files on a desk in memory, answers what it asks with its own
// guesses, and takes its files home.
type deskVisitor struct {
	t *testing.T
	*desk.Desk
	store *store.Memory
}

func visitDesk(t *testing.T) *deskVisitor {
	files := store.NewMemory(time.Now)
	return &deskVisitor{t, desk.New(files, desk.Options{Formats: disk.Formats, Program: "test"}), files}
}

// drop puts a folder of this computer on the desk, all of it or some files.
func (v *deskVisitor) drop(dir string, some ...string) {
	v.t.Helper()
	require.NoError(v.t, filepath.WalkDir(dir, func(at string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		rel, err := filepath.Rel(dir, at)
		require.NoError(v.t, err)
		first, _, _ := strings.Cut(filepath.ToSlash(rel), "/")
		if len(some) > 0 && !holds(strings.Join(some, " "), first) {
			return nil
		}
		data, err := os.ReadFile(at)
		require.NoError(v.t, err)
		name, err := v.NameFor(path.Join(filepath.Base(dir), filepath.ToSlash(rel)))
		require.NoError(v.t, err)
		v.store.Set(name, data, time.Now())
		return nil
	}))
}

// ask asks, wants an answer, and reads it.
func (v *deskVisitor) ask(into any, m map[string]any) {
	v.t.Helper()
	text, err := json.Marshal(m)
	require.NoError(v.t, err)
	r := v.Ask(context.Background(), text, nil)
	require.False(v.t, r.Failed, "%s: %s", text, r.Body)
	if into != nil {
		require.NoError(v.t, json.Unmarshal(r.Body, into))
	}
}

func (v *deskVisitor) look() (s desk.State) {
	v.t.Helper()
	v.ask(&s, map[string]any{"do": "look"})
	return s
}

// answer says of each machine whose width no file tells how wide it is, and nothing
// else: the rest goes by the guesses.
func (v *deskVisitor) answer(width string) desk.State {
	v.t.Helper()
	s := v.look()
	for _, q := range s.Questions {
		if q.Sure == "unknown" {
			require.Equal(v.t, "width", q.Key)
			v.ask(&s, map[string]any{"do": "answer", "machine": q.Machine, "key": q.Key, "value": width})
		}
	}
	return s
}

// home writes what the desk exports into a folder of this computer.
func (v *deskVisitor) home() string {
	v.t.Helper()
	r := v.Ask(context.Background(), []byte(`{"do": "export"}`), nil)
	require.False(v.t, r.Failed)
	z, err := zip.NewReader(bytes.NewReader(r.Body), int64(len(r.Body)))
	require.NoError(v.t, err)
	dir := v.t.TempDir()
	require.NoError(v.t, os.CopyFS(dir, z))
	return dir
}

// sameAsAssess assesses a job on the desk and by the command, in the folder that the desk
// exports, and compares their files to the byte.
func (v *deskVisitor) sameAsAssess(home, jobPath, units string) {
	t := v.t
	t.Helper()
	var got desk.Answer
	v.ask(&got, map[string]any{"do": "assess", "job": jobPath})
	t.Chdir(home)
	out := t.TempDir()
	var said, errs bytes.Buffer
	status := run(context.Background(), []string{"assess", filepath.FromSlash(jobPath), "--units", units, "--out", out}, strings.NewReader(""), &said, &errs)
	require.Equal(t, done, status, errs.String())
	assert.Equal(t, said.String(), got.Text)
	dir := path.Dir(strings.TrimPrefix(got.Page, "pages/"))
	if len(got.Files) > len(fieldreport.Files) { // of several fields or operations
		dir = path.Dir(dir)
	}
	for _, name := range got.Files {
		mine, err := fs.ReadFile(v.store, path.Join("pages", name))
		require.NoError(t, err)
		theirs, err := os.ReadFile(filepath.Join(out, filepath.FromSlash(strings.TrimPrefix(name, dir+"/"))))
		require.NoError(t, err)
		assert.True(t, bytes.Equal(theirs, mine), "%s of %s is not that of the command", path.Base(name), jobPath)
	}
}

// The desk answers as the command does, to the byte, on each sample and each case.
func TestDeskAnswersAsTheCommand(t *testing.T) {
	dirs := casesIn(t, "cases")
	for _, sample := range []string{"tern-bank", "long-meadow"} {
		dirs = append(dirs, filepath.Join(repository, "samples", sample))
	}
	for _, dir := range dirs {
		t.Run(filepath.Base(dir), func(t *testing.T) {
			v := visitDesk(t)
			v.drop(dir)
			v.ask(nil, map[string]any{"do": "answer", "key": "units", "value": "us"})
			s := v.look()
			require.Len(t, s.Jobs, 1)
			assert.True(t, s.Jobs[0].Ready, "%+v", s.Jobs[0].Error)
			assert.Empty(t, s.Jobs[0].Questions, "who wrote the job has said what there is to say")
			v.sameAsAssess(v.home(), s.Jobs[0].Job, "us")
		})
	}
}

// And on logs of others, of each format that they come in, with jobs that the desk
// wrote.
func TestDeskAnswersAsTheCommandOnRealLogs(t *testing.T) {
	for _, c := range []struct {
		set    string
		files  []string
		width  string
		fields int
	}{
		{set: "barley-harvest-2015", files: []string{"boundary.geojson", "yield.csv.gz"}, width: "40 ft", fields: 1},
		{set: "oats-harvest-2017", files: []string{"boundary.geojson", "yield.csv.gz"}, width: "24 ft", fields: 1},
		{set: "corn-harvest-gartner", files: []string{"yield.csv"}, width: "30 ft", fields: 1},
		{set: "n-topdress-2016-middle-polygons", files: []string{"boundary.geojson", "applied-polygons.zip"}, width: "30.48 m", fields: 1},
		{set: "isoxml-forage-harvest-5-tasks", files: []string{"TASKDATA"}, width: "7.5 m", fields: 1},
		{set: "isoxml-simulated-disc", files: []string{"TASKDATA.zip"}, width: "4 m", fields: 1},
	} {
		t.Run(c.set, func(t *testing.T) {
			dir, err := filepath.Abs(filepath.Join(repository, "..", "shared", "data", c.set))
			require.NoError(t, err)
			if _, err := os.Stat(dir); err != nil {
				t.Skip("no shared/data beside the checkout: real logs were not tried")
			}
			v := visitDesk(t)
			v.drop(dir, c.files...)
			s := v.answer(c.width)
			assert.GreaterOrEqual(t, len(s.Jobs), c.fields)
			home := v.home()
			for _, j := range s.Jobs {
				require.True(t, j.Ready, "%s: %+v", j.Job, j.Error)
				v.sameAsAssess(home, j.Job, s.Units)
			}
		})
	}
}

// And so do last, mend, waste and season.
func TestDeskAnswersAsOtherCommands(t *testing.T) {
	v := visitDesk(t)
	for _, sample := range []string{"tern-bank", "long-meadow"} {
		v.drop(filepath.Join(repository, "samples", sample))
	}
	v.ask(nil, map[string]any{"do": "answer", "key": "units", "value": "us"})
	s := v.look()
	require.Len(t, s.Jobs, 2)
	t.Chdir(v.home())
	command := func(args ...string) (said string, out string) {
		t.Helper()
		out = t.TempDir()
		var text, errs bytes.Buffer
		status := run(context.Background(), append(args, "--out", out), strings.NewReader(""), &text, &errs)
		require.Equal(t, done, status, errs.String())
		return text.String(), out
	}
	same := func(got desk.Answer, said, out string) {
		t.Helper()
		assert.True(t, strings.HasPrefix(said, got.Text), "%s\n%s", said, got.Text)
		for _, name := range got.Files {
			mine, err := fs.ReadFile(v.store, path.Join("pages", name))
			require.NoError(t, err)
			theirs, err := os.ReadFile(filepath.Join(out, path.Base(name)))
			require.NoError(t, err)
			assert.True(t, bytes.Equal(theirs, mine), "%s is not that of the command", name)
		}
	}
	for _, do := range []string{"last", "mend"} {
		for _, j := range s.Jobs {
			var got desk.Answer
			v.ask(&got, map[string]any{"do": do, "job": j.Job})
			said, out := command(do, filepath.FromSlash(j.Job))
			same(got, said, out)
		}
	}
	var got desk.Answer
	v.ask(&got, map[string]any{"do": "waste", "runs": 2})
	said, out := command("waste", ".", "--runs", "2")
	same(got, said, out)
	v.ask(&got, map[string]any{"do": "season"})
	said, _ = command("season", ".")
	assert.True(t, strings.HasPrefix(said, got.Text), "%s\n%s", said, got.Text)
}

// The archive that a desk exports is read as it is, by the commands too.
func TestCommandsReadWhatTheDeskExports(t *testing.T) {
	v := visitDesk(t)
	v.drop(filepath.Join(repository, "samples", "tern-bank"))
	v.drop(filepath.Join(repository, "testdata", "cases", "slough"), "boundary.geojson", "log.csv")
	v.ask(nil, map[string]any{"do": "answer", "key": "units", "value": "us"})
	s := v.answer("12 m")
	require.Len(t, s.Jobs, 2)
	r := v.Ask(context.Background(), []byte(`{"do": "export"}`), nil)
	t.Chdir(t.TempDir())
	require.NoError(t, os.WriteFile("desk.zip", r.Body, 0o600))
	for _, j := range s.Jobs {
		var said, errs bytes.Buffer
		at := filepath.Join("desk.zip", filepath.FromSlash(j.Job))
		require.Equal(t, done, run(context.Background(), []string{"assess", at}, strings.NewReader(""), &said, &errs), errs.String())
		var got desk.Answer
		v.ask(&got, map[string]any{"do": "assess", "job": j.Job})
		assert.Equal(t, said.String(), got.Text)
	}
	for command, table := range map[string]string{"season": "season.csv", "waste": "waste-fields.csv"} {
		var said, errs bytes.Buffer
		require.Equal(t, done, run(context.Background(), []string{command, "desk.zip"}, strings.NewReader(""), &said, &errs), errs.String())
		fields, err := os.ReadFile(filepath.Join(command, table))
		require.NoError(t, err)
		for _, j := range s.Jobs {
			assert.Contains(t, string(fields), filepath.Join("desk.zip", filepath.FromSlash(j.Job)), command)
		}
	}
}
