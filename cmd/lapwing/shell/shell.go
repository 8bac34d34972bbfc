package shell

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"

	"lapwing/cmd/lapwing/serve"
	"lapwing/coverage/job"
	"lapwing/report/desk"
)

// A Desk answers messages.
type Desk interface {
	// Ask answers one message. It stops, and says so in its reply, when ctx is done.
	Ask(ctx context.Context, message []byte, progress func(text string, share float64)) desk.Reply
	// NameFor is a free name for a file that was dropped: with a number before its ending
	// where files of its name are there.
	NameFor(dropped string) (name string, err error)
	// Renew lets a file that was taken from a place, such as a path in a watched folder,
	// take the place of the version that was taken from there before.
	Renew(ctx context.Context, name, from string) error
}

// A Folder keeps the files of a desk.
type Folder interface {
	fs.FS
	// Receive keeps what body gives as one new file, whole or not at all. Once all of it
	// has come, name is told where it lies until then, and says where it is to be; ""
	// if nowhere. Nothing else gets a place meanwhile.
	Receive(ctx context.Context, body io.Reader, name func(came fs.File) (string, error)) error
}

// A Shell serves one desk.
type Shell struct {
	Desk   Desk
	Folder Folder
	Events serve.Events
}

// askHeader has the name by which events tell of the progress of a message.
const askHeader = "Lapwing-Ask"

// mostMessage is how long a message may be: a boundary drawn by hand has some
// thousand corners.
const mostMessage = 16 << 20

// Pages answers what the page asks. It is to stand behind a [serve.Door].
func (s *Shell) Pages() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("POST /ask", s.ask)
	mux.HandleFunc("POST /files", s.receive)
	mux.Handle("GET /events", &s.Events)
	mux.HandleFunc("GET /pages/", s.give)
	mux.HandleFunc("GET /files/", s.give)
	return mux
}

// ask carries a message to the desk.
func (s *Shell) ask(w http.ResponseWriter, r *http.Request) {
	message, err := io.ReadAll(http.MaxBytesReader(w, r.Body, mostMessage))
	if err != nil {
		refuse(w, &job.InputError{Found: "a message that did not come whole", Want: fmt.Sprintf("one of at most %d MB", mostMessage>>20)})
		return
	}
	id := r.Header.Get(askHeader)
	reply := s.Desk.Ask(r.Context(), message, func(text string, share float64) {
		s.Events.Tell(progress{id, text, share})
	})
	w.Header().Set("Content-Type", reply.Type)
	if reply.Failed {
		w.WriteHeader(http.StatusUnprocessableEntity)
	}
	_, _ = w.Write(reply.Body) // the client may have gone
}

type progress struct {
	ID    string  `json:"id"`
	Text  string  `json:"text"`
	Share float64 `json:"share"`
}

// Changed tells the pages to look again.
func (s *Shell) Changed() { s.Events.Tell(map[string]bool{"changed": true}) }

// refuse answers with an error as the desk's replies have it.
func refuse(w http.ResponseWriter, err error) {
	status := http.StatusInternalServerError
	var wrong *job.InputError
	if errors.As(err, &wrong) {
		status = http.StatusUnprocessableEntity
	}
	w.Header().Set("Content-Type", desk.JSON)
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(map[string]*desk.Fault{"error": desk.FaultOf(err)}) // the client may have gone
}
