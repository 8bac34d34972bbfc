package desk

import (
	"encoding/json"
	"io"
	"io/fs"
)

// notes are what desk.json keeps. Any of it may be missing.
type notes struct {
	Generator string            `json:"generator"`
	Units     string            `json:"units,omitempty"` // us or metric; "" until a person has said
	Usual     string            `json:"usual,omitempty"` // the units of where the first fields lie
	Wrote     map[string]string `json:"wrote,omitempty"` // the job files that the desk wrote, by the hash of what it wrote last
	Ground    map[string]string `json:"ground,omitempty"`
	Placed    map[string]string `json:"placed,omitempty"`   // the job that a person put a log to; "" for none
	Answered  map[string]string `json:"answered,omitempty"` // questions that no file keeps, by their id
	Seen      map[string]int64  `json:"seen,omitempty"`     // the dropped files that were looked at, by their size
	From      map[string]string `json:"from,omitempty"`     // of dropped files that a watched folder had: where they lie there, as a hash
}

const generator = "lapwing"

// notesIn reads desk.json, and reports whether there is one. What cannot be read counts
// as not there, for no file hangs on it.
func notesIn(files fs.FS) (n notes, found bool) {
	const most = 16 << 20
	if f, err := files.Open(notesFile); err == nil {
		data, err := io.ReadAll(io.LimitReader(f, most))
		f.Close()
		if found = err == nil && json.Unmarshal(data, &n) == nil && n.Generator == generator; !found {
			n = notes{}
		}
	}
	n.Generator = generator
	for _, m := range []*map[string]string{&n.Wrote, &n.Ground, &n.Placed, &n.Answered, &n.From} {
		if *m == nil {
			*m = map[string]string{}
		}
	}
	if n.Seen == nil {
		n.Seen = map[string]int64{}
	}
	return n, found
}

// text is the notes as desk.json has them.
func (n *notes) text() []byte {
	text, _ := json.MarshalIndent(n, "", "  ") // of texts and numbers alone
	return append(text, '\n')
}
