package desk

import (
	"math"
	"path"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/job/edit"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/report/desk/pages"
)

// sureness as a reply has it.
const (
	unknown = "unknown"
	guessed = "guessed"
)

// isGuess reports whether the comments of a value say that a person should look at it.
func isGuess(notes []string) bool {
	return slices.ContainsFunc(notes, func(n string) bool { return strings.HasPrefix(n, edit.Guess) || strings.HasPrefix(n, edit.FillIn) })
}

// why is what the comments of a value say of where it is from, and the best guess that
// they name.
func why(notes []string) (text, best string) {
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

// asked is a line of an implement file that may be open.
var asked = []struct {
	key, kind, text string
	choices         []Choice
	when            func(f *edit.File) bool
}{
	{"width", "length", "How wide does %s work?", nil, nil},
	{"openers", "number", "How many openers or rows has %s?", nil, nil},
	{"row_spacing", "length", "How far apart are the rows of %s?", nil, func(f *edit.File) bool { return isGuess(f.Notes("openers")) }},
	{"mount", "choice", "How does the bar of %s hang on the tractor?", []Choice{{"mounted", "mounted: rigid with the tractor"}, {"towed", "towed: it follows, and cuts corners"}}, nil},
	{"antenna_to_hitch", "length", "How far behind the antenna is the hitch of %s, or its bar where it is mounted?", nil, nil},
	{"hitch_to_bar", "length", "How far behind the hitch pin is the bar of %s?", nil, nil},
}

// questionsOf are the lines that an implement file leaves open.
func questionsOf(file string, f *edit.File) (open []*Question) {
	name := f.Value("name")
	if name == "" {
		name = strings.TrimSuffix(path.Base(file), path.Ext(file))
	}
	rows := f.Has("openers") && f.Has("row_spacing")
	for _, ask := range asked {
		notes := f.Notes(ask.key)
		missing := ask.key == "width" && !f.Has("width") && !rows
		guess := f.Has(ask.key) && isGuess(notes) || ask.when != nil && f.Has(ask.key) && ask.when(f)
		if !missing && !guess {
			continue
		}
		q := &Question{ID: file + " " + ask.key, Machine: file, Key: ask.key, Kind: ask.kind, Choices: ask.choices, Sure: guessed}
		q.Text = strings.Replace(ask.text, "%s", name, 1)
		q.Why, q.Best = why(notes)
		if missing {
			q.Sure = unknown
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

// jobQuestions are the lines that a job file leaves open.
func (a *ask) jobQuestions(j *jobFile, known []Choice, grounds []string) (open []*Question) {
	add := func(q Question) {
		q.ID, q.Job, q.Sure = j.path+" "+q.Key, j.path, guessed
		if _, said := a.book.Answered[q.ID]; !said {
			open = append(open, &q)
		}
	}
	if len(j.ground) == 0 && !j.byHandOnly() {
		q := Question{Key: "boundary", Kind: "boundary", Text: "Where is the boundary of " + j.name() + "?", Best: "worked",
			Why:     "no boundary was given: the outer edge of the worked ground stands in for it, so ground left out along the edge cannot be seen",
			Choices: []Choice{{"worked", "the edge of the worked ground"}}}
		for _, g := range grounds {
			q.Choices = append(q.Choices, Choice{g, g})
		}
		add(q)
	}
	if notes := j.text.Notes("time_zone"); j.text.Has("time_zone") && isGuess(notes) {
		text, _ := why(notes)
		add(Question{Key: "time_zone", Kind: "zone", Text: "In which time zone were the times of " + j.name() + " written?", Best: j.text.Value("time_zone"), Why: text})
	}
	if !j.text.Has("products") && !j.byHandOnly() {
		q := Question{Key: "products", Kind: "product", Text: "What went down on " + j.name() + ", at which rate and price?",
			Why: "no file tells; without it nothing is said of pounds and money", Choices: known}
		if len(known) == 1 {
			q.Best, q.Why = known[0].Value, "as on another field of the desk"
		}
		add(q)
	}
	return open
}

// name is what people call the field of a job.
func (j *jobFile) name() string {
	if j.field != "" {
		return j.field
	}
	return strings.TrimSuffix(path.Base(j.path), path.Ext(j.path))
}

// byHandOnly reports whether a job came with the files, so that whoever wrote it has
// said what there is to say.
func (j *jobFile) byHandOnly() bool { return !isJob(j.path) }

// productsOf are the products of a job as answers for another: in brackets, on one
// line.
func productsOf(f *edit.File) (found []Choice) {
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

// unitsQuestion asks in which units the desk tells, once for all; nil where that is
// settled, or nothing is there to tell.
func (a *ask) unitsQuestion(x geo.Extent) *Question {
	if a.book.Units != "" || x.West > x.East {
		return nil
	}
	return &Question{ID: "units", Key: "units", Kind: "units", Text: "Acres and feet, or hectares and metres?", Sure: guessed, Best: pages.UnitsName(usualAt(x)),
		Why: "by where the fields lie", Choices: []Choice{{"us", "acres, feet, pounds"}, {"metric", "hectares, metres, kilograms"}}}
}

// usualAt are the units that are usual where some fields lie: those of the United
// States in three boxes around it, Alaska and Hawaii, and a strip of Canada and Mexico
// with them. The boxes are from memory.
func usualAt(x geo.Extent) quantity.Units {
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

// sameLength reports whether two lengths are the same to a millimetre.
func sameLength(a, b string) bool {
	x, errX := quantity.Parse(a, quantity.Length)
	y, errY := quantity.Parse(b, quantity.Length)
	return errX == nil && errY == nil && math.Abs(x-y) < 0.001
}
