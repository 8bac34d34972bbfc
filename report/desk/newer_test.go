package desk

import (
	"bytes"
	"encoding/json"
	"maps"
	"slices"
	"strings"
	"testing"

	"lapwing/report/desk/history"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// watched drops a file as one that a watched folder has.
func (v *visitor) watched(name string, data []byte) string {
	v.t.Helper()
	at := v.drop(name, data)
	require.NoError(v.t, v.Renew(v.t.Context(), at, "/stick/"+name))
	return at
}

// dropped are the names of the dropped files of a desk.
func (v *visitor) dropped() []string {
	var names []string
	for name := range maps.Keys(v.files()) {
		if strings.HasPrefix(name, "files/") {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}

// A log that has grown is the same log: its field is assessed again, with all of it and
// nothing twice.
func TestLogGrows(t *testing.T) {
	whole := dayOne()
	half := whole[:bytes.LastIndexByte(whole[:len(whole)/2], '\n')+1]
	for name, again := range map[string]func(*visitor, string, []byte) string{"in a watched folder": (*visitor).watched, "dropped again": (*visitor).drop} {
		t.Run(name, func(t *testing.T) {
			v := visit(t)
			v.drop("home.geojson", homeField())
			again(v, "logs/day1.csv", half)
			job := v.look().Jobs[0].Job
			get[State](v, in{"do": "answer", "job": job, "key": "headland.rounds", "value": "2"})
			before := summaryOf(t, v.assess(job)).Ground.Covered
			for _, until := range []int{len(whole) * 3 / 4, len(whole)} {
				again(v, "logs/day1.csv", whole[:until])
			}
			v = v.again() // and a program that begins anew in the middle
			s := v.look()
			assert.Equal(t, []string{"files/home.geojson", "files/logs/day1.csv"}, v.dropped())
			require.Len(t, s.Jobs, 1)
			assert.Equal(t, []string{"files/logs/day1.csv"}, s.Jobs[0].Logs)
			assert.True(t, s.Jobs[0].Assessed.Stale)
			assert.Contains(t, s.Undo, "headland.rounds", "that a log grows is no change of a person's")
			got := summaryOf(t, v.assess(job)).Ground
			assert.Greater(t, got.Covered, 1.9*before)
			assert.Less(t, got.Overlap, 0.1)

			// An old copy from a stick adds nothing.
			v.drop("logs/day1.csv", half)
			v.look()
			assert.Equal(t, string(whole), v.text("files/logs/day1.csv"))
			assert.Equal(t, []string{"files/home.geojson", "files/logs/day1.csv"}, v.dropped())
			assert.Equal(t, "files/logs/day1 (2).csv", v.drop("logs/day1.csv", nil), "the name is free again")
		})
	}
}

// What a watched folder has in place of a log takes its place here, and undo brings the
// earlier one back.
func TestLogIsReplaced(t *testing.T) {
	v := visit(t)
	v.drop("home.geojson", homeField())
	first := dayOne()
	v.watched("day1.csv", first)
	job := v.look().Jobs[0].Job
	before := summaryOf(t, v.assess(job)).Ground.Covered
	v = v.again()
	second := newDrive("2026-05-04T08:00:05Z", "").lines(8, 6, 12, 0, 200, "").csv()
	v.watched("day1.csv", second)
	s := v.look()
	assert.Equal(t, []string{"files/day1.csv"}, s.Jobs[0].Logs)
	assert.Greater(t, summaryOf(t, v.assess(job)).Ground.Covered, 1.2*before)
	assert.Equal(t, "the newer day1.csv", s.Undo)
	assert.NotContains(t, v.text("desk.json"), "/stick", "what is exported tells no path of this computer")
	s = get[State](v, in{"do": "undo"})
	assert.Equal(t, []string{"files/day1.csv", "files/home.geojson"}, v.dropped())
	assert.Equal(t, string(first), v.text("files/day1.csv"))
	assert.True(t, slices.ContainsFunc(v.below(history.Folder), func(name string) bool { return v.text(name) == string(second) }), "nothing is lost")
	assert.InDelta(t, before, summaryOf(t, v.assess(job)).Ground.Covered, 0.001)
}

// A terminal may begin its log anew each day under one name: those are logs of two days.
// So are two that a person drops, whatever their times.
func TestLogOfAnotherDay(t *testing.T) {
	v := visit(t)
	v.drop("home.geojson", homeField())
	v.watched("log.csv", newDrive("2026-05-04T08:00:00Z", "").lines(5, 6, 12, 0, 200, "").csv())
	v.look()
	tuesday := newDrive("2026-05-05T08:00:00Z", "").lines(3, 66, 12, 0, 200, "")
	v.watched("log.csv", tuesday.csv())
	v.look()
	v.watched("log.csv", tuesday.lines(2, 102, 12, 0, 200, "").csv())
	s := v.look()
	require.Len(t, s.Jobs, 1)
	assert.Equal(t, []string{"files/log.csv", "files/log (2).csv"}, s.Jobs[0].Logs)
	ground := summaryOf(t, v.assess(s.Jobs[0].Job)).Ground
	assert.Less(t, ground.Overlap, 0.1)
	assert.InDelta(t, 120*200, ground.Covered, 1500)

	v.drop("log.csv", newDrive("2026-05-04T08:00:05Z", "").lines(1, 6, 12, 0, 200, "").csv())
	v.look()
	assert.Equal(t, []string{"files/home.geojson", "files/log (2).csv", "files/log (3).csv", "files/log.csv"}, v.dropped())
}

type summary struct {
	Ground struct {
		Covered float64 `json:"covered_m2"`
		Overlap float64 `json:"overlap_m2"`
	}
}

func summaryOf(t *testing.T, a Answer) (s summary) {
	t.Helper()
	require.NoError(t, json.Unmarshal(a.Summary, &s))
	return s
}
