// Package rainplan says which fields to come are done before the rain: from the entries of
// a season, whose logs tell the pace, and the boundaries that a call names.
package rainplan

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"lapwing/cmd/lapwing/disk"
	"lapwing/coverage/assess"
	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/coverage/rain"
	fieldreport "lapwing/report/field"
	rainreport "lapwing/report/rain"
	"lapwing/report/season"
	"lapwing/report/words"
)

// A Call is what a call asks about the rain.
type Call struct {
	rain.Question                 // all but when the rain comes, and the hours until then
	At            string          // when rain is expected, in the time zone of the job worked last
	Machines      []string        // that go on; none for all of the last day
	Day           *rain.Day       // nil where the logs are to say
	File          string          // of the fields to come
	Warnings      []field.Warning // about that file
}

// Wrong is the error for a flag about the rain.
func Wrong(flag, found, want string) error {
	return &job.InputError{Where: flag, Found: found, Want: want}
}

// DayOf reads the hours of a day: "7:00-21:00".
func DayOf(text string) (*rain.Day, error) {
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
		return nil, Wrong("--hours", fmt.Sprintf("found %q", text), `two times of one day, such as "7:00-21:00"`)
	}
	return d, nil
}

// Plan says which of the fields to come are done before the rain, by the entries of a
// season in a directory. What does not go together with the logs is a [*job.InputError].
func (a *Call) Plan(out string, book *season.Book, shapes season.Shapes) (*rainreport.Document, error) {
	pasts, err := pastsOf(out, book.Entries, shapes)
	if err != nil {
		return nil, err
	}
	s, err := rain.Read(pasts)
	if errors.Is(err, rain.ErrNoTimes) {
		return nil, Wrong("--rain-at", "found "+err.Error()+" in "+words.Count(len(book.Entries), "field"), "logs with times: the pace comes from them")
	}
	if err != nil {
		return nil, err
	}
	if err := a.when(s, book.Entries[s.Last].Job); err != nil {
		return nil, err
	}
	crew, err := s.Crew(a.Machines)
	switch {
	case errors.Is(err, rain.ErrNoTimes):
		return nil, Wrong("--rain-at", "found "+err.Error()+" of the machines that go on", "logs with times: the pace comes from them")
	case err != nil:
		return nil, &job.InputError{Where: "--machine", Found: err.Error()}
	}
	doc := &rainreport.Document{Units: book.Units, Crew: crew, Question: &a.Question, Ammonia: rain.AnyAmmonia(pasts), Book: season.PageFile, Warnings: a.Warnings}
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
func (a *Call) when(s *rain.Season, lastJob string) error {
	zone, err := job.ZoneOf(disk.Inputs(nil), lastJob)
	if err != nil {
		return err
	}
	at, err := job.TimeFlag("--rain-at", a.At, zone)
	if err != nil {
		return err
	}
	const farthest = 60 // days
	now := s.Now.Time().In(zone)
	switch {
	case !at.After(now):
		return Wrong("--rain-at", "found "+words.Dated(at.In(zone))+", not after the last pass at "+words.Dated(now), "a time after it")
	case at.After(now.AddDate(0, 0, farthest)):
		return Wrong("--rain-at", "found "+words.Dated(at.In(zone)), fmt.Sprintf("a time within %d days of the last pass at %s", farthest, words.Dated(now)))
	}
	a.Rain = at
	a.Hours = rain.Hours{Now: s.Now, Zone: zone}
	day, known := s.Days(zone)
	switch {
	case a.Day != nil:
		a.Hours.Day = *a.Day
	case known:
		a.Hours.Day = day
	case at.In(zone).Format(time.DateOnly) != now.Format(time.DateOnly):
		return Wrong("--rain-at", "found "+words.Dated(at.In(zone))+", another day than the last pass, and logs of one day only", `--hours too, such as "7:00-21:00"`)
	}
	return nil
}

// leaveWorked leaves out the fields that were worked in the last days already.
func (a *Call) leaveWorked(s *rain.Season, doc *rainreport.Document) error {
	var next []field.Field
	for i := range a.Next {
		f := &a.Next[i]
		if name, worked := s.Of(f); worked {
			doc.Warnings = append(doc.Warnings, field.Warning{File: a.File, Text: fmt.Sprintf("%q is the ground of %q, worked in the last days; it is left out", f.Name, name)})
			continue
		}
		next = append(next, *f)
	}
	if len(next) == 0 {
		return &job.InputError{File: a.File, Found: "only ground that was worked in the last days", Want: "a field not begun"}
	}
	a.Next = next
	return nil
}

// pastsOf reads the summaries of entries again: the sketch of an entry has neither tanks nor
// products.
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
