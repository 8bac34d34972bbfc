package pages

import "encoding/json"

// Suspected is how far the tracks likely lie off the boundary.
type Suspected struct {
	East    float64 `json:"east_m"` // of the shift that the job is offered
	North   float64 `json:"north_m"`
	By      float64 `json:"by_m"`    // how far the tracks lie off
	Towards string  `json:"towards"` // the point of the compass they lie off to
	Text    string  `json:"text"`
}

// An Answer is what assess replies.
type Answer struct {
	Verdict string          `json:"verdict"`
	Text    string          `json:"text"`
	Summary json.RawMessage `json:"summary"`          // summary.json; a list where the job is of several fields or operations
	Files   []string        `json:"files"`            // below pages/
	Page    string          `json:"page"`             // the one to open
	Failed  []Failure       `json:"failed,omitempty"` // jobs that could not be assessed, and why
	Kept    bool            `json:"kept"`             // the files of the job have not changed: it was not reckoned again
}

// A Failure is a job that could not be assessed, and why.
type Failure struct {
	Path string `json:"path"`
	Why  string `json:"why"`
}
