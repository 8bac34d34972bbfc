package crew

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"io"
	"net/http"
	"regexp"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Schema names the layout of a [Listing].
const Schema = "lapwing/journals/1"

// A Listing is the journals that a cab has, and the machines that they are of.
type Listing struct {
	Schema   string    `json:"schema"`
	Cab      string    `json:"cab"`             // whose listing it is
	Run      string    `json:"run"`             // of its program; another after each start
	Field    string    `json:"field"`           // as its job calls it
	Drives   bool      `json:"drives"`          // the key that asked is the one that drives
	Takes    bool      `json:"takes,omitempty"` // it is a relay, which keeps what is brought to it
	Machines []Machine `json:"machines"`
	Journals []Entry   `json:"journals"`
}

// A Machine is one machine of a cab, as that cab's job has it.
type Machine struct {
	Cab  string `json:"cab"`
	Name string `json:"name"`
	Keys string `json:"keys"` // its keys in the job, YAML; see spec.ReadGuest
}

// An Entry is a journal.
type Entry struct {
	Cab      string `json:"cab"` // the cab that wrote it
	Machine  string `json:"machine"`
	Name     string `json:"name"`     // of the file
	Identity string `json:"identity"` // see [journal.Identity]
	Size     int64  `json:"size"`     // in bytes, up to the end of a record; it never shrinks
	// Until is the time of its last record, and Age how many seconds ago that was heard
	// in its own cab.
	Until time.Time `json:"until"`
	Age   float64   `json:"age_s"`
	// Extent is west, south, east and north of all its places, in degrees.
	Extent [4]float64 `json:"extent"`
}

// Key tells journals apart.
func (e *Entry) Key() Key { return Key{e.Cab, e.Name} }

// A Key is the cab that wrote a journal, and its name there.
type Key struct{ Cab, Name string }

var cabPattern = regexp.MustCompile(`^[a-z2-7]{8}$`)

// NewCab makes the name of a cab, which no other cab has.
func NewCab() string { return strings.ToLower(rand.Text()[:8]) }

// IsCab reports whether a text is the name of a cab.
func IsCab(text string) bool { return cabPattern.MatchString(text) }

// Sensible reports whether an entry makes sense, and its name may be that of a file here.
func (e *Entry) Sensible() bool {
	return IsCab(e.Cab) && isName(e.Name) && e.Size > 0 && e.Age >= 0 && e.Identity != ""
}

// longestName is the most letters, digits and dashes that the name of a journal has before
// its ending.
const longestName = 121

// isName reports whether a text may be the name of a journal: letters and digits of any
// script, and dashes after the first, with its ending. No regular expression says so, for
// so many of all letters there are make one of megabytes.
func isName(text string) bool {
	stem, ok := strings.CutSuffix(text, ".csv")
	other := func(r rune) bool { return r != '-' && !unicode.IsLetter(r) && !unicode.IsNumber(r) }
	return ok && stem != "" && stem[0] != '-' && utf8.RuneCountInString(stem) <= longestName && !strings.ContainsFunc(stem, other)
}

// An Opened is a journal that is read from.
type Opened struct {
	io.ReadSeeker
	Identity string
	Close    func()
}

// A Shelf is the journals that a cab gives to others. Several goroutines call its methods.
// List is false where the cab has ended, Open where it has no such journal.
type Shelf interface {
	List(r *http.Request) (*Listing, bool)
	Open(r *http.Request, of Key) (*Opened, bool)
}

// Handle serves the requests of other cabs from a shelf.
func Handle(m *http.ServeMux, s Shelf) {
	m.HandleFunc("GET /journals.json", func(w http.ResponseWriter, r *http.Request) {
		list, ok := s.List(r)
		if !ok {
			http.Error(w, "the cab has ended", http.StatusServiceUnavailable)
			return
		}
		w.Header().Set("Content-Type", "application/json")
		_ = json.NewEncoder(w).Encode(list) // the client may have gone
	})
	m.HandleFunc("GET /journals/{cab}/{name}", func(w http.ResponseWriter, r *http.Request) {
		of := Key{r.PathValue("cab"), r.PathValue("name")}
		j, ok := s.Open(r, of)
		if !ok {
			http.Error(w, "found no such journal", http.StatusNotFound)
			return
		}
		defer j.Close()
		defer context.AfterFunc(r.Context(), func() { // when the cab ends, a link that stands still is not waited for
			_ = http.NewResponseController(w).SetWriteDeadline(time.Now())
		})()
		w.Header().Set("Content-Type", "text/csv; charset=utf-8")
		w.Header().Set("ETag", `"`+j.Identity+`"`)
		http.ServeContent(w, r, "", time.Time{}, j)
	})
}
