package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"lapwing/cmd/lapwing/disk"
	"lapwing/coverage/assess"
	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/coverage/quantity"
	"lapwing/coverage/rain"
	fieldreport "lapwing/report/field"
	rainreport "lapwing/report/rain"
	"lapwing/report/season"
	"lapwing/report/words"
)

// rainFlags are the flags of season that ask for the fields before the rain.
type rainFlags struct {
	at, next, roadSpeed, hours string
	machines                   []string
}

func (f *rainFlags) add(c *cobra.Command) {
	fs := c.Flags()
	fs.StringVar(&f.at, "rain-at", "", `when rain is expected, such as "2026-05-04T18:00", in the time zone of the job worked last: with --next says which fields can be finished before`)
	fs.StringVar(&f.next, "next", "", "boundary file of the fields not begun")
	fs.StringVar(&f.roadSpeed, "road-speed", "", `speed between fields, such as "20 mph" (default: no time on the road)`)
	fs.StringVar(&f.hours, "hours", "", `hours worked in a day, such as "7:00-21:00" (default as in the logs of the last days)`)
	fs.StringArrayVar(&f.machines, "machine", nil, "a machine that goes on; may be repeated (default all of the last day)")
}

// mostNext is how many fields may be to come: the roads between them are as many as
// its square. Judgement.
const mostNext = 1000

// A rainAhead is what a call asks about the rain.
type rainAhead struct {
	rain.Question
	flags    *rainFlags
	day      *rain.Day // nil where the logs are to say
	warnings []field.Warning
}

func rainWrong(flag, found, want string) error {
	return &job.InputError{Where: flag, Found: found, Want: want}
}

// read reads the flags and the fields to come; nil where nobody asks about rain.
func (f *rainFlags) read(c *cobra.Command) (*rainAhead, error) {
	changed := c.Flags().Changed
	if !changed("rain-at") {
		for _, flag := range []string{"next", "road-speed", "hours", "machine"} {
			if changed(flag) {
				return nil, rainWrong("--"+flag, "found without --rain-at", "both")
			}
		}
		return nil, nil
	}
	if !changed("next") {
		return nil, rainWrong("--rain-at", "found without --next", "both: the boundaries of the fields not begun")
	}
	a := &rainAhead{flags: f}
	_, err := job.TimeFlag("--rain-at", f.at, time.UTC) // its zone comes later
	if err != nil {
		return nil, err
	}
	if changed("road-speed") {
		if a.RoadSpeed, err = job.SpeedFlag("--road-speed", f.roadSpeed); err != nil {
			return nil, err
		}
	}
	if changed("hours") {
		if a.day, err = dayOf(f.hours); err != nil {
			return nil, err
		}
	}
	if a.Next, a.warnings, err = job.Fields(disk.Inputs(nil), "--next", f.next); err != nil {
		return nil, err
	}
	if n := len(a.Next); n > mostNext {
		return nil, rainWrong("--next", fmt.Sprintf("found %s fields", quantity.Number(float64(n), 0)), quantity.Number(mostNext, 0)+" at most")
	}
	return a, nil
}

// dayOf reads the hours of a day: "7:00-21:00".
func dayOf(text string) (*rain.Day, error) {
	from, to, _ := strings.Cut(text, "-")
	clock := func(text string) (time.Duration, bool) {
		text = strings.TrimSpace(text)
		if text == "24:00" {
			return 24 * time.Hour, true
		}
		t, err := time.Parse("15:04", text)
		return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute, err == nil
	}
	d := &rain.Day{}
	var okFrom, okTo bool
	d.From, okFrom = clock(from)
	d.To, okTo = clock(to)
	if !okFrom || !okTo || d.From >= d.To {
		return nil, rainWrong("--hours", fmt.Sprintf("found %q", text), `two times of one day, such as "7:00-21:00"`)
	}
	return d, nil
}

// plan says which of the fields to come are done before the rain, by the entries of a
// book.
func (a *rainAhead) plan(out string, book *season.Book, shapes season.Shapes) (*rainreport.Document, error) {
	pasts, err := pastsOf(out, book.Entries, shapes)
	if err != nil {
		return nil, err
	}
	s, err := rain.Read(pasts)
	if errors.Is(err, rain.ErrNoTimes) {
		return nil, rainWrong("--rain-at", "found "+err.Error()+" in "+words.Count(len(book.Entries), "field"), "logs with times: the pace comes from them")
	}
	if err != nil {
		return nil, err
	}
	if err := a.when(s, book.Entries[s.Last].Job); err != nil {
		return nil, err
	}
	crew, err := s.Crew(a.flags.machines)
	switch {
	case errors.Is(err, rain.ErrNoTimes):
		return nil, rainWrong("--rain-at", "found "+err.Error()+" of the machines that go on", "logs with times: the pace comes from them")
	case err != nil:
		return nil, &job.InputError{Where: "--machine", Found: err.Error()}
	}
	doc := &rainreport.Document{Units: book.Units, Crew: crew, Question: &a.Question, Ammonia: rain.AnyAmmonia(pasts), Book: season.PageFile, Warnings: a.warnings}
	if err := a.leaveWorked(s, doc); err != nil {
		return nil, err
	}
	if n := len(book.Failed); n > 0 {
		doc.Warnings = append(doc.Warnings, field.Warning{Text: words.Count(n, "job") + " could not be assessed: the pace is without them"})
	}
	doc.Plan = rain.New(crew, doc.Question)
	return doc, nil
}

// when settles when the rain comes and which hours are worked until then.
func (a *rainAhead) when(s *rain.Season, lastJob string) error {
	zone, err := job.ZoneOf(disk.Inputs(nil), lastJob)
	if err != nil {
		return err
	}
	at, err := job.TimeFlag("--rain-at", a.flags.at, zone)
	if err != nil {
		return err
	}
	const farthest = 60 // days
	now := s.Now.Time().In(zone)
	switch {
	case !at.After(now):
		return rainWrong("--rain-at", "found "+words.Dated(at.In(zone))+", not after the last pass at "+words.Dated(now), "a time after it")
	case at.After(now.AddDate(0, 0, farthest)):
		return rainWrong("--rain-at", "found "+words.Dated(at.In(zone)), fmt.Sprintf("a time within %d days of the last pass at %s", farthest, words.Dated(now)))
	}
	a.Rain = at
	a.Hours = rain.Hours{Now: s.Now, Zone: zone}
	day, known := s.Days(zone)
	switch {
	case a.day != nil:
		a.Hours.Day = *a.day
	case known:
		a.Hours.Day = day
	case at.In(zone).Format(time.DateOnly) != now.Format(time.DateOnly):
		return rainWrong("--rain-at", "found "+words.Dated(at.In(zone))+", another day than the last pass, and logs of one day only", `--hours too, such as "7:00-21:00"`)
	}
	return nil
}

// leaveWorked leaves out the fields that were worked in the last days already.
func (a *rainAhead) leaveWorked(s *rain.Season, doc *rainreport.Document) error {
	var next []field.Field
	for i := range a.Next {
		f := &a.Next[i]
		if name, worked := s.Of(f); worked {
			doc.Warnings = append(doc.Warnings, field.Warning{File: a.flags.next, Text: fmt.Sprintf("%q is the ground of %q, worked in the last days; it is left out", f.Name, name)})
			continue
		}
		next = append(next, *f)
	}
	if len(next) == 0 {
		return &job.InputError{File: a.flags.next, Found: "only ground that was worked in the last days", Want: "a field not begun"}
	}
	a.Next = next
	return nil
}

// pastsOf reads the summaries of entries again: of tanks and products a book keeps
// nothing.
func pastsOf(out string, entries []*season.Entry, shapes season.Shapes) (pasts []rain.Past, err error) {
	for _, entry := range entries {
		summary, err := os.Open(filepath.Join(out, filepath.FromSlash(entry.Dir), fieldreport.SummaryFile))
		if err != nil {
			return nil, err
		}
		read, err := assess.ReadSummary(summary)
		summary.Close()
		if err != nil {
			return nil, fmt.Errorf("%s/%s: %w", entry.Dir, fieldreport.SummaryFile, err)
		}
		pasts = append(pasts, rain.Past{Summary: read, Ground: func() (field.Field, error) { return boundaryOf(entry, shapes) }})
	}
	return pasts, nil
}

// boundaryOf reads the boundary of an entry.
func boundaryOf(entry *season.Entry, shapes season.Shapes) (f field.Field, err error) {
	var r io.ReadCloser
	if r, err = shapes(entry); err != nil {
		return f, err
	}
	defer r.Close()
	m, err := season.ReadSkips(r)
	if err == nil {
		f, err = field.NewField(entry.Name(), m.Boundary)
	}
	if err != nil {
		err = fmt.Errorf("%s/%s: %w", entry.Dir, fieldreport.GeoJSONFile, err)
	}
	return f, err
}
