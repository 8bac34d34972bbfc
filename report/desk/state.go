package desk

import (
	"lapwing/report/desk/asked"
	"lapwing/report/desk/draw"
	"lapwing/report/desk/pages"
)

// stateVersion is that of [State]. It changes when a name in it does.
const stateVersion = 1

// A State is what the desk has and what it asks, for the page to show.
type State struct {
	Version   int               `json:"version"`
	Units     string            `json:"units"` // us or metric
	Finds     []Find            `json:"finds"`
	Left      []Left            `json:"left"`
	Jobs      []Job             `json:"jobs"`
	Machines  []Machine         `json:"machines"`
	Questions []*asked.Question `json:"questions"`      // all that are open, what hinders a job first
	Undo      string            `json:"undo"`           // what undo would take back; "" for nothing
	Book      *Held             `json:"book,omitempty"` // what the book of the desk holds beside; nil where there is none
}

// A Find is a file that says something of fields.
type Find struct {
	Path     string        `json:"path"`
	Format   string        `json:"format"`
	Kind     string        `json:"kind"` // log, boundary, or set: a task set, which may be both
	Sentence string        `json:"sentence"`
	Drawing  *draw.Drawing `json:"drawing"`
	Jobs     []string      `json:"jobs"` // that name it
}

// Left is a file that is in no job, and why.
type Left struct {
	Path  string `json:"path"`
	Why   string `json:"why"`
	Other bool   `json:"other,omitempty"` // it is of a kind that says nothing of fields
	Job   string `json:"job,omitempty"`   // the job that it seems to be of
}

// A Job is a job file, one field and one operation.
type Job struct {
	Job       string            `json:"job"` // its path
	Field     string            `json:"field"`
	Text      string            `json:"text"` // in one line: the field, its days, its machines
	Days      [2]string         `json:"days"` // of the first and the last work, "" where no log has a clock
	Machines  []JobMachine      `json:"machines"`
	Logs      []string          `json:"logs"`
	Boundary  []string          `json:"boundary"`        // files; none for the worked ground
	Rings     [][][2]float64    `json:"rings,omitempty"` // of the boundary, longitude and latitude, for a person to draw on
	ByHand    bool              `json:"by_hand"`         // a person wrote or changed it: the desk adds no log to it by itself
	Sketch    *draw.Drawing     `json:"sketch"`
	Questions []*asked.Question `json:"questions"`
	Ready     bool              `json:"ready"` // it can be assessed
	Error     *Fault            `json:"error,omitempty"`
	Shift     *shift            `json:"shift,omitempty"`    // that stands in the job
	Suspects  *pages.Suspected  `json:"suspects,omitempty"` // that the last assessment found
	Assessed  *Assessed         `json:"assessed,omitempty"`
	// Guesses are what its verdict rests on that no file tells and no person said, such as
	// "a guessed width: 40 ft".
	Guesses []string `json:"guesses"`
}

// A JobMachine is a machine of a job.
type JobMachine struct {
	Name string   `json:"name"`
	File string   `json:"file"` // its implement file; "" where the implement stands in the job
	Logs []string `json:"logs"`
}

// A Machine is an implement file of the desk.
type Machine struct {
	Machine   string            `json:"machine"` // its path
	Name      string            `json:"name"`
	Width     string            `json:"width"`
	Jobs      []string          `json:"jobs"`
	Questions []*asked.Question `json:"questions"`
}

// Assessed is the last assessment of a job.
type Assessed struct {
	Verdict string `json:"verdict"`
	Run     string `json:"run"`
	Stale   bool   `json:"stale"` // its files have changed since
	Page    string `json:"page"`
	// Files are what the commands write beside the page, for other programs.
	Files []string `json:"files"`
	// Outline is what speaks against the boundary as it is drawn: sides along which the
	// passes keep evenly off it.
	Outline []string `json:"outline,omitempty"`
}

// A Book is the book of a desk.
type Book = pages.Book

// An Answer is what assess, last, mend, season and waste reply.
type Answer = pages.Answer
