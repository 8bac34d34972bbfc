package desk

import (
	"context"
	"encoding/json"
	"testing"
	"time"

	"lapwing/report/desk/history"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Any message, on a desk with any job in it: the reply is JSON or a file, and the dropped
// files stay what they were.
func FuzzAsk(f *testing.F) {
	log := newDrive("2026-05-04T08:00:00Z", "").lines(2, 6, 12, 0, 40, "").csv()
	job := "field: x\nboundary: files/home.geojson\nmachines:\n  - {name: a, implement: {width: 12 m}, tracks: [files/day1.csv]}\n"
	for _, m := range []string{`{"do": "look"}`, `{"do": "answer", "job": "x.yaml", "key": "headland.rounds", "value": "2"}`, `{"do": "assess", "job": "x.yaml"}`,
		`{"do": "boundary", "job": "x.yaml", "shift": {"east_m": 1, "north_m": 2}}`, `{"do": "boundary", "job": "x.yaml", "ring": [[-105, 40], [-104.999, 40], [-104.999, 40.001]]}`,
		`{"do": "place", "log": "files/day1.csv", "job": ""}`, `{"do": "season"}`, `{"do": "waste", "runs": 0}`, `{"do": "compare", "jobs": ["x.yaml", "home.yaml"]}`,
		`{"do": "undo"}`, `{"do": "last", "job": "x.yaml"}`, `{"do": "file", "name": "x.yaml"}`, `{"do": "answer", "machine": "machines/machine-1.yaml", "set": {"mount": "towed"}}`} {
		f.Add(m, job)
	}
	f.Fuzz(func(t *testing.T, text, job string) {
		if len(job) > 10_000 || len(text) > 10_000 {
			return // long ones cost time and find no more
		}
		v := visit(t)
		v.drop("home.geojson", box("Home", 0, 0, 24, 40))
		v.drop("day1.csv", log)
		v.store.Set("x.yaml", []byte(job), time.Now())
		v.look()
		r := v.Ask(context.Background(), []byte(text), nil)
		if r.Type == JSON {
			require.True(t, json.Valid(r.Body))
		}
		for name, want := range map[string][]byte{"files/home.geojson": box("Home", 0, 0, 24, 40), "files/day1.csv": log} {
			kept := v.files()[name] == hashOf(want)
			for _, at := range v.below(history.Folder) {
				kept = kept || v.text(at) == string(want)
			}
			assert.True(t, kept, name)
		}
		v.look()
	})
}
