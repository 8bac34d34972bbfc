package desk

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"lapwing/coverage/job"
	"lapwing/coverage/job/spec"
	"lapwing/geo"
)

// A message is what the page asks.
type message struct {
	Do      string            `json:"do"`
	Job     string            `json:"job"`     // the path of a job file
	Machine string            `json:"machine"` // the path of an implement file
	Key     string            `json:"key"`
	Value   string            `json:"value"`
	Set     map[string]string `json:"set"` // several keys at once
	Log     string            `json:"log"`
	Jobs    []string          `json:"jobs"`
	Name    string            `json:"name"`
	Files   []string          `json:"files"`
	Pass    *int              `json:"pass"`
	All     bool              `json:"all"`
	WhatIf  bool              `json:"what_if"`
	Runs    *int              `json:"runs"` // of waste: how often a field is measured again
	Find    string            `json:"find"` // of held: a part of a field's name

	Shift  *shift       `json:"shift"`
	Ring   [][2]float64 `json:"ring"` // longitude, latitude
	Hole   [][2]float64 `json:"hole"`
	Worked bool         `json:"worked"`
	Keep   bool         `json:"keep"` // with worked: as a file that can be changed
}

// A shift is how far tracks are moved before they are measured.
type shift struct {
	East  float64 `json:"east_m"`
	North float64 `json:"north_m"`
}

// A Reply is what the desk answers: JSON, or for a file and an archive their bytes.
type Reply struct {
	Type   string // the media type of the body
	Body   []byte
	Failed bool // the body is {"error": {...}}
}

// JSON is the media type of replies that are no file.
const JSON = "application/json"

// A Fault is what is wrong, as a reply has it.
type Fault struct {
	File  string `json:"file,omitempty"`
	Line  int    `json:"line,omitempty"`
	Where string `json:"where,omitempty"` // the key
	Found string `json:"found"`
	Want  string `json:"want,omitempty"`
	Text  string `json:"text"` // all of it in one line
}

// FaultOf is an error as a reply has it; nil for none.
func FaultOf(err error) *Fault {
	if err == nil {
		return nil
	}
	err = spec.AsInput(err)
	f := &Fault{Found: spec.OneLine(err.Error()), Text: spec.OneLine(err.Error())}
	var wrong *job.InputError
	if errors.As(err, &wrong) {
		f.File, f.Line, f.Where, f.Found, f.Want = wrong.File, wrong.Line, wrong.Where, wrong.Found, wrong.Want
	}
	return f
}

func fail(err error) Reply {
	body, _ := json.Marshal(map[string]*Fault{"error": FaultOf(err)}) // of texts and numbers alone
	return Reply{Type: JSON, Body: body, Failed: true}
}

func reply(v any, err error) Reply {
	if err != nil {
		return fail(err)
	}
	body, err := json.Marshal(v)
	if err != nil {
		return fail(err)
	}
	return Reply{Type: JSON, Body: body}
}

// Changes says what a message does and what of, for a shell that keeps account of that; ""
// where it only looks, or is none that a desk can read.
func Changes(text []byte) (do, about string) {
	m, err := read(text)
	if err != nil {
		return "", ""
	}
	switch m.Do {
	case "answer", "place", "boundary", "undo", "remove", "fetch", "compare":
		return m.Do, strings.TrimSpace(m.Job + " " + m.Name + " " + m.Log)
	}
	return "", ""
}

// wrong is the error for a message that cannot be followed.
func wrong(found, want string) error { return &job.InputError{Found: found, Want: want} }

// Bounds of a message: a ring that a hand drew, and what stands around it.
const (
	mostMessage = 1 << 20
	mostCorners = 10_000
	mostDeep    = 16
)

// read reads a message.
func read(text []byte) (m message, err error) {
	if len(text) > mostMessage {
		return m, wrong(fmt.Sprintf("found a message of more than %d bytes", mostMessage), "a shorter one")
	}
	depth := 0
	quoted := false
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '[' || c == '{':
			if depth++; depth > mostDeep {
				return m, wrong("found a message nested too deep", "one that the page sends")
			}
		case c == ']' || c == '}':
			depth--
		}
	}
	if err := json.Unmarshal(text, &m); err != nil {
		return m, wrong("found a message that is no JSON: "+err.Error(), `one such as {"do": "look"}`)
	}
	for _, ring := range [][][2]float64{m.Ring, m.Hole} {
		if len(ring) > mostCorners {
			return m, wrong(fmt.Sprintf("found a ring of %d corners", len(ring)), fmt.Sprintf("%d at most", mostCorners))
		}
		for _, at := range ring {
			if !(geo.LonLat{Lon: at[0], Lat: at[1]}).Valid() {
				return m, wrong(fmt.Sprintf("found a corner at %g, %g", at[0], at[1]), "longitude and latitude")
			}
		}
	}
	return m, nil
}
