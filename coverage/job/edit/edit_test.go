package edit

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v4"
)

const implement = `# The implement of drill A.

name: drill A
# FILL IN: no file tells the working width, and 1 pass lies beside another.
# The best guess is 39.4 ft.
width:                          # <- FILL IN, such as width: 40 ft
# openers: 48               # better, where you know them
mount: mounted
# GUESS: no file tells. Towed bars cut corners.
antenna_to_hitch: 0 m # my note
# GUESS: nor this.
`

func TestSet(t *testing.T) {
	for _, c := range []struct{ name, in, key, value, why, want string }{
		{"a line to fill in", implement, "width", "40 ft", "Said on the desk.", `# The implement of drill A.

name: drill A
width: 40 ft
# Said on the desk.
# openers: 48               # better, where you know them
mount: mounted
# GUESS: no file tells. Towed bars cut corners.
antenna_to_hitch: 0 m # my note
# GUESS: nor this.
`},
		{"a guess", "a: 1\nmount: mounted\n# GUESS: no file tells.\n# more\nb: 2\n", "mount", "towed", "Said.", "a: 1\nmount: towed\n# Said. It was mounted.\n# more\nb: 2\n"},
		{"a guess on its line", "working: inferred    # GUESS: no log says\n                     # second line\n", "working", "logged", "Said.", "working: logged\n# Said. It was inferred.\n                     # second line\n"},
		{"a comment at the end stays", "a: 0 m # my note\n", "a", "2 m", "", "a: 2 m # my note\n"},
		{"a key of its own", "m:\n  - name: a\n    width: 4 m\n\n# next\nb: 1\n", "m.0.mount", "towed", "Said.", "m:\n  - name: a\n    width: 4 m\n    mount: towed\n    # Said.\n\n# next\nb: 1\n"},
		{"in brackets", "p:\n  - {name: seed, rate: 90 lb/ac} # as sold\n", "p.0.rate", "100 lb/ac", "", "p:\n  - {name: seed, rate: 100 lb/ac} # as sold\n"},
		{"a key in brackets", "p:\n  - {name: seed}\n", "p.0.rate", "100 lb/ac", "Said.", "p:\n  - {name: seed, rate: 100 lb/ac}\n"},
		{"keys that are not there", "a: 1\n", "headland.rounds", "2", "", "a: 1\nheadland: {rounds: 2}\n"},
		{"quotes", "a: 'it''s' # b\n", "a", `x: "y" # z`, "", "a: \"x: \\\"y\\\" # z\" # b\n"},
		{"null in quotes", "a: b\n", "a", "null", "", "a: \"null\"\n"},
		{"ends of lines of Windows", "a: 1\r\nb: 2\r\n", "a", "3", "Said.", "a: 3\r\n# Said. It was 1.\r\nb: 2\r\n"},
		{"letters of more than a byte", "ä: {öl: 1, b: 2}\n", "ä.b", "3", "", "ä: {öl: 1, b: 3}\n"},
		{"a list in brackets", "sections: 6\n", "sections", "[4 ft, 6 ft]", "", "sections: [4 ft, 6 ft]\n"},
		{"over lines", "tracks: [a,\n  b] # c\nd: 1\n", "tracks", "[e]", "", "tracks: [e] # c\nd: 1\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := Parse([]byte(c.in))
			require.NoError(t, err)
			require.NoError(t, f.Set(c.key, c.value, c.why))
			assert.Equal(t, c.want, string(f.Text()))
		})
	}
}

// What is written as a text is read as that text by any reader of YAML, also where it
// looks like a number, a list or a comment.
func TestText(t *testing.T) {
	for _, s := range []string{"", "tern bank", "Tern Bank (east)", "../logs/day 1.csv", "12", "1e3", "no", "On", "null", "~", "a: b", "a #b", "- a", "[a]", `"a"`, "it's", "ä", " a", "a ", "2026-05-01", "a\nb"} {
		var got map[string]any
		require.NoError(t, yaml.Unmarshal([]byte("v: "+Text(s)+"\n"), &got), s)
		assert.Equal(t, s, got["v"], s)
	}
	assert.Equal(t, "../logs/day 1.csv", Text("../logs/day 1.csv")) // plain where it can be
}

// A value cannot bring keys, comments or documents of its own.
func TestSetOnlyThat(t *testing.T) {
	for _, value := range []string{"4 m\nwidth: 5 m", "{a: 1} b: 2", "[1] # x", "a\u2028b", "4 m\x00"} {
		f, err := Parse([]byte("a: 1\n"))
		require.NoError(t, err)
		if err := f.Set("a", value, ""); err == nil {
			assert.Equal(t, value, f.Value("a"))
		}
		assert.Len(t, f.flat(), 2, "%q: %s", value, f.Text())
	}
	for _, text := range []string{"a: |\n  x\n", "a: &x 1\nb: *x\n", "a: !!str 1\n"} {
		f, err := Parse([]byte(text))
		require.NoError(t, err)
		assert.ErrorIs(t, f.Set("a", "2", ""), ErrShape)
		assert.Equal(t, text, string(f.Text()))
	}
}

func TestAddAndRemove(t *testing.T) {
	const block = "m:\n  - name: a\n    tracks:\n      - day1.csv\n      # seen: CSV\n\nheadland:\n  rounds: 1\n"
	for _, c := range []struct {
		name, in string
		do       func(f *File) error
		want     string
	}{
		{"an item", block, func(f *File) error { return f.Add("m.0.tracks", "day 2.csv", "seen: CSV") },
			"m:\n  - name: a\n    tracks:\n      - day1.csv\n      # seen: CSV\n      - day 2.csv\n        # seen: CSV\n\nheadland:\n  rounds: 1\n"},
		{"an item in brackets", "t: [a] # x\n", func(f *File) error { return f.Add("t", "b, c", "") }, "t: [a, \"b, c\"] # x\n"},
		{"a single value", "t: a # x\n", func(f *File) error { return f.Add("t", "b", "") }, "t: [a, b] # x\n"},
		{"a new list", "a: 1\n\n\n", func(f *File) error { return f.Add("products", "{name: seed, rate: 90 lb/ac}", "") },
			"a: 1\n\nproducts:\n  - {name: seed, rate: 90 lb/ac}\n"},
		{"an item of lines", block, func(f *File) error { return f.AddLines("m", []string{"- name: b", "  tracks: [c]"}) },
			"m:\n  - name: a\n    tracks:\n      - day1.csv\n      # seen: CSV\n  - name: b\n    tracks: [c]\n\nheadland:\n  rounds: 1\n"},
		{"an item out", "t:\n  - a\n  # seen\n  - {log: b, from: c}\n    # seen\n  - d\nu: 1\n", func(f *File) error { return f.Remove("t.1") }, "t:\n  - a\n  # seen\n  - d\nu: 1\n"},
		{"out of brackets", "t: [a, {log: b}, c]\n", func(f *File) error { return f.Remove("t.1") }, "t: [a, c]\n"},
		{"the last out of brackets", "t: [a, b] # c\n", func(f *File) error { return f.Remove("t.1") }, "t: [a] # c\n"},
		{"a key out", "a: 1\nshift: {east: 1 m}\n# why\nb: 2\n", func(f *File) error { return f.Remove("shift") }, "a: 1\n# why\nb: 2\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := Parse([]byte(c.in))
			require.NoError(t, err)
			require.NoError(t, c.do(f))
			assert.Equal(t, c.want, string(f.Text()))
		})
	}
}

func TestNotes(t *testing.T) {
	f, err := Parse([]byte(implement))
	require.NoError(t, err)
	assert.Equal(t, []string{"FILL IN: no file tells the working width, and 1 pass lies beside another.", "The best guess is 39.4 ft.",
		"<- FILL IN, such as width: 40 ft", "openers: 48               # better, where you know them"}, f.Notes("width"))
	assert.Equal(t, []string{"GUESS: no file tells. Towed bars cut corners."}, f.Notes("mount"))
	assert.Equal(t, []string{"my note", "GUESS: nor this."}, f.Notes("antenna_to_hitch"))
	assert.False(t, f.Has("width"))
	assert.Equal(t, 8, f.Line("mount"))
}

// Any text, any key, any value: a change says what was asked, or nothing changes.
func FuzzSet(f *testing.F) {
	f.Add(implement, "width", "40 ft")
	f.Add("a: [b, {c: d}]\n", "a.1.c", "{x: 'y'}")
	f.Add("a:\n- b\n", "a.0", "c: d")
	f.Fuzz(func(t *testing.T, text, key, value string) {
		file, err := Parse([]byte(text))
		if err != nil {
			return
		}
		before := file.flat()
		for _, change := range []func() error{
			func() error { return file.Set(key, value, "Said.") },
			func() error { return file.Add(key, value, "seen") },
			func() error { return file.Remove(key) },
		} {
			if err := change(); err != nil {
				assert.Equal(t, before, file.flat())
			}
			before = file.flat()
			_, err := Parse(file.Text())
			require.NoError(t, err)
		}
	})
}
