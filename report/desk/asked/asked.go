// Package asked says what job files and implement files leave open: their values that are
// marked as guesses or as missing, each a question with the best answer.
package asked

import (
	"path"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/job/edit"
	"lapwing/coverage/quantity"
	"lapwing/geo"
)

// A Question is a line of a job file or an implement file that files leave open.
type Question struct {
	ID      string   `json:"id"`
	Job     string   `json:"job,omitempty"`
	Machine string   `json:"machine,omitempty"`
	Key     string   `json:"key"`
	Text    string   `json:"text"`
	Best    string   `json:"best"` // as it would stand in the file; "" where there is no guess
	Why     string   `json:"why"`
	Sure    string   `json:"sure"` // unknown: a job waits for it; guessed: it goes without an answer
	Kind    string   `json:"kind"` // length, number, choice, zone, boundary, product, units
	Choices []Choice `json:"choices,omitempty"`
	// Shown are the jobs in whose sketch the answer shows: as the width of ways.
	Shown []string `json:"shown,omitempty"`
}

// A Choice is an answer and what it is called.
type Choice struct {
	Value string `json:"value"`
	Text  string `json:"text"`
}

// How sure an answer is, as a reply has it.
const (
	Unknown = "unknown"
	Guessed = "guessed"
)

// IsGuess reports whether the comments of a value say that a person should look at it.
func IsGuess(notes []string) bool {
	return slices.ContainsFunc(notes, func(n string) bool { return strings.HasPrefix(n, edit.Guess) || strings.HasPrefix(n, edit.FillIn) })
}

// Why is what the comments of a value say of where it is from, and the best guess that
// they name.
func Why(notes []string) (text, best string) {
	for _, n := range notes {
		for _, mark := range []string{edit.Guess, edit.FillIn} {
			if rest, ok := strings.CutPrefix(n, mark); ok {
				text = strings.TrimSuffix(strings.TrimSpace(rest), ".")
			}
		}
		if rest, ok := strings.CutPrefix(n, "The best guess is "); ok {
			best = strings.TrimSuffix(rest, ".")
		}
	}
	return text, best
}

// lines are those of an implement file that may be open.
var lines = []struct {
	key, kind, text string
	choices         []Choice
	when            func(f *edit.File) bool
}{
	{"width", "length", "How wide does %s work?", nil, nil},
	{"openers", "number", "How many openers or rows has %s?", nil, nil},
	{"row_spacing", "length", "How far apart are the rows of %s?", nil, func(f *edit.File) bool { return IsGuess(f.Notes("openers")) }},
	{"mount", "choice", "How does the bar of %s hang on the tractor?", []Choice{{"mounted", "mounted: rigid with the tractor"}, {"towed", "towed: it follows, and cuts corners"}}, nil},
	{"antenna_to_hitch", "length", "How far behind the antenna is the hitch of %s, or its bar where it is mounted?", nil, nil},
	{"hitch_to_bar", "length", "How far behind the hitch pin is the bar of %s?", nil, nil},
}

// OfImplement are the lines that an implement file leaves open.
func OfImplement(file string, f *edit.File) (open []*Question) {
	name := f.Value("name")
	if name == "" {
		name = strings.TrimSuffix(path.Base(file), path.Ext(file))
	}
	rows := f.Has("openers") && f.Has("row_spacing")
	for _, ask := range lines {
		notes := f.Notes(ask.key)
		missing := ask.key == "width" && !f.Has("width") && !rows
		guess := f.Has(ask.key) && IsGuess(notes) || ask.when != nil && f.Has(ask.key) && ask.when(f)
		if !missing && !guess {
			continue
		}
		q := &Question{ID: file + " " + ask.key, Machine: file, Key: ask.key, Kind: ask.kind, Choices: ask.choices, Sure: Guessed}
		q.Text = strings.Replace(ask.text, "%s", name, 1)
		q.Why, q.Best = Why(notes)
		if missing {
			q.Sure = Unknown
			if q.Why == "" {
				q.Why = "no file tells the working width"
			}
		} else {
			q.Best = f.Value(ask.key)
		}
		open = append(open, q)
	}
	return open
}

// Products are the products of a job as answers for another: in brackets, on one
// line.
func Products(f *edit.File) (found []Choice) {
	for i := range f.Len("products") {
		key := "products." + strconv.Itoa(i)
		var parts []string
		for _, name := range []string{"name", "analysis", "density", "rate", "price"} {
			if v := f.Value(key + "." + name); v != "" {
				parts = append(parts, name+": "+edit.Quoted(v))
			}
		}
		if f.Value(key+".rate") != "" {
			found = append(found, Choice{"{" + strings.Join(parts, ", ") + "}", f.Value(key+".name") + ", " + f.Value(key+".rate")})
		}
	}
	return found
}

// UsualUnits are the units that are usual where some fields lie: those of the United
// States in three boxes around it, Alaska and Hawaii, and a strip of Canada and Mexico
// with them. The boxes are from memory.
func UsualUnits(x geo.Extent) quantity.Units {
	if x.West > x.East {
		return quantity.US
	}
	lon, lat := (x.West+x.East)/2, (x.South+x.North)/2
	for _, box := range [][4]float64{{-125, -66.5, 24.5, 49.4}, {-170, -140, 52, 72}, {-160.5, -154.5, 18.5, 22.5}} {
		if lon >= box[0] && lon <= box[1] && lat >= box[2] && lat <= box[3] {
			return quantity.US
		}
	}
	return quantity.Metric
}
