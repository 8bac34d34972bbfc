package serve

import (
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"time"
)

// Events tells every page that listens what happens, by server-sent events (WHATWG
// HTML Standard, section 9.2). The zero Events are ready.
//
// A page that does not keep up is cut off, so that it holds up no other: its browser calls
// again by itself, and the page then asks how things are.
type Events struct {
	mu    sync.Mutex
	pages map[chan []byte]bool
}

const (
	behind = 256              // events that a page may be behind
	quiet  = 20 * time.Second // after which a line tells that we are still there
)

// Tell tells of one thing that happened, as JSON.
func (e *Events) Tell(what any) {
	data, err := json.Marshal(what)
	if err != nil {
		panic(fmt.Sprintf("an event that is no JSON: %v", err)) // a mistake of the program
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	for page := range e.pages {
		select {
		case page <- data:
		default:
			delete(e.pages, page)
			close(page)
		}
	}
}

// ServeHTTP tells one page, until it goes or the door closes.
func (e *Events) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/event-stream")
	out := http.NewResponseController(w)
	page := make(chan []byte, behind)
	e.mu.Lock()
	if e.pages == nil {
		e.pages = map[chan []byte]bool{}
	}
	e.pages[page] = true
	e.mu.Unlock()
	defer func() {
		e.mu.Lock()
		defer e.mu.Unlock()
		delete(e.pages, page)
	}()
	fmt.Fprint(w, ": listening\n\n")
	for {
		if out.Flush() != nil {
			return
		}
		select {
		case <-r.Context().Done():
			return
		case <-time.After(quiet):
			fmt.Fprint(w, ":\n\n")
		case data, ok := <-page:
			if !ok {
				return
			}
			fmt.Fprintf(w, "data: %s\n\n", data)
		}
	}
}
