// Package overview serves the map of all fields of a book that is open to people.
package overview

import (
	"bytes"
	"encoding/json"
	"errors"
	"net/http"
	"path"
	"strconv"

	"lapwing/coverage/book"
	"lapwing/coverage/quantity"
	"lapwing/report/overview"
)

// Options are what the pages around this one decide.
type Options struct {
	Units quantity.Units
	Back  string // the address that the page leads back to; "" for none
	// FieldPage is the address of the page of a field's job; nil where there is none.
	FieldPage func(job string, part int) string
	// Failed answers where the book could not be asked; nil answers with a bare status.
	Failed func(w http.ResponseWriter, r *http.Request, err error)
}

// New serves the map. It is asked under a path that ends in a slash, /map/ for example: there
// is the page, and view, field and chosen beside it are what its script asks. Who asks stands
// in the context of the request ([book.As]).
func New(b book.Atlas, o Options) http.Handler {
	s := &server{b, o}
	asked := map[string]func(*http.Request) (any, error){"view": s.view, "field": s.field, "chosen": s.chosen}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			w.Header().Set("Allow", "GET, HEAD")
			http.Error(w, "want GET", http.StatusMethodNotAllowed)
			return
		}
		var out bytes.Buffer
		kind, policy := "application/json", "default-src 'none'"
		var err error
		if answer, is := asked[path.Base(r.URL.Path)]; is {
			var v any
			if v, err = answer(r); err == nil {
				err = json.NewEncoder(&out).Encode(v)
			}
		} else {
			kind, policy = "text/html; charset=utf-8", overview.Policy()+"; frame-ancestors 'none'"
			err = s.page(r, &out)
		}
		var wrong *wrongError
		switch {
		case errors.As(err, &wrong):
			http.Error(w, err.Error(), http.StatusBadRequest)
		case errors.Is(err, book.ErrNotFound):
			http.NotFound(w, r)
		case err != nil && r.Context().Err() != nil: // the page has moved on and asks for something else
		case err != nil && s.Failed != nil:
			s.Failed(w, r, err)
		case err != nil:
			http.Error(w, "the book could not be asked", http.StatusInternalServerError)
		default:
			w.Header().Set("Content-Type", kind)
			w.Header().Set("Content-Security-Policy", policy)
			_, _ = w.Write(out.Bytes()) // whoever asked may have gone
		}
	})
}

type server struct {
	book book.Atlas
	Options
}

// A wrongError is of a request that asks for what cannot be.
type wrongError struct{ error }

func (s *server) page(r *http.Request, out *bytes.Buffer) error {
	c, err := s.book.Chooser(r.Context(), -1)
	if err != nil {
		return err
	}
	d := &overview.Document{Units: s.Units, Back: s.Back, Chooser: c}
	if len(c.Seasons) > 0 {
		d.Season = c.Seasons[0]
	}
	return d.Page(out)
}

func (s *server) view(r *http.Request) (any, error) {
	get := r.URL.Query().Get
	of, err := overview.SieveOf(get)
	if err != nil {
		return nil, &wrongError{err}
	}
	view, err := overview.BoxOf(get)
	if err != nil {
		return nil, &wrongError{err}
	}
	o, err := s.book.Overview(r.Context(), of, view)
	if err != nil {
		return nil, err
	}
	return overview.ViewOf(o), nil
}

func (s *server) field(r *http.Request) (any, error) {
	id, err := strconv.ParseInt(r.URL.Query().Get("id"), 10, 64)
	if err != nil {
		return nil, book.ErrNotFound
	}
	f, err := s.book.FieldFigures(r.Context(), id)
	if err != nil {
		return nil, err
	}
	link := ""
	if s.FieldPage != nil {
		link = s.FieldPage(f.Job, f.Part)
	}
	return overview.FieldOf(f, link), nil
}

func (s *server) chosen(r *http.Request) (any, error) {
	season, err := strconv.Atoi(r.URL.Query().Get("season"))
	if err != nil || season < 0 {
		return nil, book.ErrNotFound
	}
	c, err := s.book.Chooser(r.Context(), season)
	if err != nil {
		return nil, err
	}
	return overview.StartOf(&c), nil
}
