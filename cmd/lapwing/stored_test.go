package main

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/coverage/job"
	"lapwing/coverage/quantity"
	"lapwing/geo/format"
	"lapwing/geo/source"
	fieldreport "lapwing/report/field"
	"lapwing/report/last"
	"lapwing/report/mend"
	"lapwing/report/waste"
)

// Every file of every document is the same to the byte from an assessment that
// was written and read back: of the samples, and of the cases.
func TestStoredAssessmentGivesTheSamePages(t *testing.T) {
	jobs, err := filepath.Glob(filepath.Join(repository, "samples", "*", "job.yaml"))
	require.NoError(t, err)
	require.NotEmpty(t, jobs)
	for _, dir := range casesIn(t, "cases") {
		jobs = append(jobs, filepath.Join(dir, "job.yaml"))
	}
	in := job.Inputs{Files: source.Files{FS: os.DirFS("/")}, Formats: format.Plain()}
	for _, path := range jobs {
		t.Run(filepath.Base(filepath.Dir(path)), func(t *testing.T) {
			full, err := filepath.Abs(path)
			require.NoError(t, err)
			j, err := job.Load(in, strings.TrimPrefix(filepath.ToSlash(full), "/"), job.Overrides{})
			require.NoError(t, err)
			a, err := assess.Do(j, j.Fields[0], assess.Options{
				Units: quantity.US, OffRates: true, Last: &assess.LastQuestion{Machine: -1},
				Mend: &assess.MendQuestion{Machine: -1, All: true}, WhatIf: &assess.WhatIfOptions{Runs: 2},
			})
			require.NoError(t, err)

			var stored, again bytes.Buffer
			require.NoError(t, a.Encode(&stored))
			back, err := assess.Decode(bytes.NewReader(stored.Bytes()))
			require.NoError(t, err)
			require.NoError(t, back.Encode(&again))
			assert.True(t, bytes.Equal(stored.Bytes(), again.Bytes()), "written again it is another")

			before, after := documentsOf(t, a), documentsOf(t, back)
			for name := range before {
				assert.True(t, bytes.Equal(before[name], after[name]), "%s is another:\n%s", name, firstDifference(before[name], after[name]))
			}
			t.Logf("%d bytes stored, %d files", stored.Len(), len(before))
		})
	}
}

// documentsOf writes all documents that can be made of one assessment.
func documentsOf(t *testing.T, a *assess.Assessment) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	add := func(name string, write func(io.Writer) error) {
		var b bytes.Buffer
		require.NoError(t, write(&b), name)
		out[name] = b.Bytes()
	}
	d := &fieldreport.Document{Assessment: a}
	for _, f := range fieldreport.Files {
		add("field/"+f.Name, func(w io.Writer) error { return f.Write(d, w) })
	}
	for _, f := range fieldreport.Tables {
		add("field/"+f.Name, func(w io.Writer) error { return f.Write(d, w) })
	}
	add("assess.txt", d.Text)
	l := last.New(a)
	for _, f := range last.Files {
		add("last/"+f.Name, func(w io.Writer) error { return f.Write(l, w) })
	}
	add("last.txt", l.Text)
	m := &mend.Document{Assessment: a}
	for _, f := range mend.Files {
		add("mend/"+f.Name, func(w io.Writer) error { return f.Write(m, w) })
	}
	add("mend.txt", m.Text)
	if len(a.Accounts) > 0 {
		w, err := waste.New(a.Units, []waste.Field{waste.FieldOf(a, "job.yaml")}, nil)
		require.NoError(t, err)
		add("waste.csv", w.CSV)
		add("waste.html", w.Page)
		add("waste.json", w.JSON)
		add("waste.txt", w.Text)
	}
	return out
}

// firstDifference shows both texts from a little before they part.
func firstDifference(a, b []byte) string {
	at := 0
	for at < len(a) && at < len(b) && a[at] == b[at] {
		at++
	}
	from := max(0, at-80)
	return string(a[from:min(len(a), at+80)]) + "\n" + string(b[from:min(len(b), at+80)])
}
