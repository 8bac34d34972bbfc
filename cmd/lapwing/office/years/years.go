// Package years serves the page of questions over years, of a book that is open to people.
package years

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"

	"lapwing/coverage/book"
	"lapwing/coverage/quantity"
	"lapwing/report/years"
)

// A Book answers questions over years, of the farms that whoever asks may look at.
type Book interface {
	book.Years
	Farms(ctx context.Context) ([]book.Farm, error)
}

// Options are what the pages around this one decide.
type Options struct {
	Units quantity.Units
	Back  string // the address that the page leads back to; "" for none
	// FieldPage is the address of the page of a field's job; nil where there is none.
	FieldPage func(job string, part int) string
	// Failed answers where the book could not be asked; nil answers with a bare status.
	Failed func(w http.ResponseWriter, r *http.Request, err error)
}

// New serves the page at whatever path it is asked under. Who asks stands in the context of
// the request ([book.As]); the query "farm" names a farm by its number, none asks for all.
func New(b Book, o Options) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			w.Header().Set("Allow", "GET, HEAD")
			http.Error(w, "want GET", http.StatusMethodNotAllowed)
			return
		}
		var out bytes.Buffer
		err := write(r.Context(), b, o, r.URL.Query().Get("farm"), &out)
		switch {
		case errors.Is(err, book.ErrNotFound):
			http.NotFound(w, r)
		case err != nil && o.Failed != nil:
			o.Failed(w, r, err)
		case err != nil:
			http.Error(w, "the book could not be asked", http.StatusInternalServerError)
		default:
			w.Header().Set("Content-Type", "text/html; charset=utf-8")
			w.Header().Set("Content-Security-Policy", years.Policy()+"; frame-ancestors 'none'")
			_, _ = w.Write(out.Bytes()) // whoever asked may have gone
		}
	})
}

// write writes the page of a farm.
func write(ctx context.Context, b Book, o Options, of string, out *bytes.Buffer) error {
	farms, err := b.Farms(ctx)
	if err != nil {
		return err
	}
	who := book.AskedBy(ctx)
	if of != "" {
		id, err := strconv.ParseInt(of, 10, 64)
		if err != nil || id <= 0 {
			return book.ErrNotFound
		}
		known := false
		for _, f := range farms {
			known = known || f.ID == id
		}
		if !known {
			return book.ErrNotFound
		}
		who.Farm = id
	}
	d, err := years.Ask(book.As(ctx, who), b)
	if err != nil {
		return err
	}
	d.Units, d.Back, d.FieldPage = o.Units, o.Back, o.FieldPage
	if len(farms) > 1 {
		d.Farms = append(d.Farms, years.FarmLink{Name: "all", Link: "?", Here: who.Farm == book.WholeBook})
		for _, f := range farms {
			if f.ID != book.WholeBook {
				d.Farms = append(d.Farms, years.FarmLink{Name: f.Name, Link: fmt.Sprintf("?farm=%d", f.ID), Here: f.ID == who.Farm})
			}
		}
	}
	return d.Page(out)
}
