package desk

import (
	"math"

	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/report/desk/asked"
	"lapwing/report/desk/jobfile"
	"lapwing/report/desk/pages"
)

// jobQuestions are the lines that a job file leaves open.
func (a *ask) jobQuestions(j *jobfile.File, known []asked.Choice, grounds []string) (open []*asked.Question) {
	add := func(q asked.Question) {
		q.ID, q.Job, q.Sure = j.Path+" "+q.Key, j.Path, asked.Guessed
		if _, said := a.book.Answered[q.ID]; !said {
			open = append(open, &q)
		}
	}
	if len(j.Ground) == 0 && !j.CameAlong() {
		q := asked.Question{Key: "boundary", Kind: "boundary", Text: "Where is the boundary of " + j.Name() + "?", Best: "worked",
			Why:     "no boundary was given: the outer edge of the worked ground stands in for it, so ground left out along the edge cannot be seen",
			Choices: []asked.Choice{{Value: "worked", Text: "the edge of the worked ground"}}}
		for _, g := range grounds {
			q.Choices = append(q.Choices, asked.Choice{Value: g, Text: g})
		}
		add(q)
	}
	if notes := j.Text.Notes("time_zone"); j.Text.Has("time_zone") && asked.IsGuess(notes) {
		text, _ := asked.Why(notes)
		add(asked.Question{Key: "time_zone", Kind: "zone", Text: "In which time zone were the times of " + j.Name() + " written?", Best: j.Text.Value("time_zone"), Why: text})
	}
	if !j.Text.Has("products") && !j.CameAlong() {
		q := asked.Question{Key: "products", Kind: "product", Text: "What went down on " + j.Name() + ", at which rate and price?",
			Why: "no file tells; without it nothing is said of pounds and money", Choices: known}
		if len(known) == 1 {
			q.Best, q.Why = known[0].Value, "as on another field of the desk"
		}
		add(q)
	}
	return open
}

// unitsQuestion asks in which units the desk tells, once for all; nil where that is
// settled, or nothing is there to tell.
func (a *ask) unitsQuestion(x geo.Extent) *asked.Question {
	if a.book.Units != "" || x.West > x.East {
		return nil
	}
	return &asked.Question{ID: "units", Key: "units", Kind: "units", Text: "Acres and feet, or hectares and metres?", Sure: asked.Guessed, Best: pages.UnitsName(asked.UsualUnits(x)),
		Why: "by where the fields lie", Choices: []asked.Choice{{Value: "us", Text: "acres, feet, pounds"}, {Value: "metric", Text: "hectares, metres, kilograms"}}}
}

// sameLength reports whether two lengths are the same to a millimetre.
func sameLength(a, b string) bool {
	x, errX := quantity.Parse(a, quantity.Length)
	y, errY := quantity.Parse(b, quantity.Length)
	return errX == nil && errY == nil && math.Abs(x-y) < 0.001
}
