package desk

import (
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

	"lapwing/geo/format"
)

// A visitor drops files on a desk in memory and asks it things.
type visitor struct {
	t *testing.T
	*Desk
	store *Memory
}

func visit(t *testing.T) *visitor {
	t.Helper()
	at := time.Date(2026, 5, 4, 0, 0, 0, 0, time.UTC)
	store := NewMemory(func() time.Time {
		at = at.Add(time.Second)
		return at
	})
	return &visitor{t, New(store, Options{Formats: format.Plain(), Program: "test"}), store}
}

// again opens the same store anew, as after a restart.
func (v *visitor) again() *visitor {
	return &visitor{v.t, New(v.store, Options{Formats: format.Plain(), Program: "test"}), v.store}
}

// drop puts a file on the desk.
func (v *visitor) drop(name string, data []byte) string {
	v.t.Helper()
	at, err := v.NameFor(name)
	require.NoError(v.t, err)
	v.store.Set(at, data, time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC))
	return at
}

// dropFrom drops files of a folder of this computer, by their names from there.
func (v *visitor) dropFrom(dir string, names ...string) {
	v.t.Helper()
	for _, name := range names {
		data, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(v.t, err)
		v.drop(name, data)
	}
}

// get asks and wants an answer.
func get[T any](v *visitor, m map[string]any) T {
	v.t.Helper()
	var out T
	r := v.send(m)
	require.False(v.t, r.Failed, "%s", r.Body)
	require.NoError(v.t, json.Unmarshal(r.Body, &out))
	return out
}

func (v *visitor) send(m map[string]any) Reply {
	v.t.Helper()
	text, err := json.Marshal(m)
	require.NoError(v.t, err)
	return v.Ask(context.Background(), text, nil)
}

func (v *visitor) look() State { v.t.Helper(); return get[State](v, map[string]any{"do": "look"}) }

func (v *visitor) text(name string) string {
	v.t.Helper()
	text, err := fs.ReadFile(v.store, name)
	require.NoError(v.t, err)
	return string(text)
}

const samples = "../../samples"

func TestFirstAnswer(t *testing.T) {
	v := visit(t)
	v.dropFrom(path.Join(samples, "tern-bank"), "boundary.geojson", "drill.csv")
	s := v.look()
	require.Len(t, s.Jobs, 1)
	assert.Len(t, s.Finds, 2)
	t.Log(v.text(s.Jobs[0].Job))
	for _, m := range s.Machines {
		t.Log(v.text(m.Machine))
	}
	for _, q := range s.Questions {
		t.Logf("%+v", *q)
	}
	b, _ := json.Marshal(s)
	t.Log(len(b))
	for _, q := range s.Machines[0].Questions {
		if q.Key == "width" {
			s = get[State](v, map[string]any{"do": "answer", "machine": q.Machine, "key": "width", "value": "9 m"})
		}
	}
	got := get[Answer](v, map[string]any{"do": "assess", "job": s.Jobs[0].Job})
	t.Log(got.Text, got.Files)
	assert.NotEmpty(t, got.Verdict)
	assert.False(t, got.Kept)
	got = get[Answer](v, map[string]any{"do": "assess", "job": s.Jobs[0].Job})
	assert.True(t, got.Kept)
	s = v.look()
	require.NotNil(t, s.Jobs[0].Assessed)
	assert.False(t, s.Jobs[0].Assessed.Stale)
	assert.True(t, strings.Contains(s.Undo, "width"))
}
