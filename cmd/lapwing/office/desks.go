package office

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net/http"
	"sync"

	"lapwing/coverage/book"
	"lapwing/report/desk"
)

var deskRoutes = []Route{
	{"GET /farm/{farm}/desk/{$}", Workers, (*Office).deskPage},
	{"GET /farm/{farm}/desk/enter.js", Workers, (*Office).entered},
	{"GET /farm/{farm}/desk/{rest...}", Workers, (*Office).desk},
	{"POST /farm/{farm}/desk/{rest...}", Workers, (*Office).desk},
	{"GET /farm/{farm}/crew/{rest...}", Workers, (*Office).crew},
	{"PUT /farm/{farm}/crew/{rest...}", Workers, (*Office).crew},
	{"POST /farm/{farm}/crew/{rest...}", Workers, (*Office).crew},
}

// desks are those that are open, a farm each.
type desks struct {
	mu   sync.Mutex
	open map[int64]*openDesk
}

type openDesk struct {
	once sync.Once
	desk Desk
	err  error
}

func (d *desks) close() (err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, one := range d.open {
		if one.desk.Close != nil {
			err = errors.Join(err, one.desk.Close())
		}
	}
	return err
}

// farmOf is the farm of a path, if the person who asks works for it.
func (o *Office) farmOf(r *http.Request) (farm book.Farm, err error) {
	id, err := number(r, "farm")
	if err != nil {
		return farm, err
	}
	if id == book.WholeBook { // which has no desk
		return farm, book.ErrNotFound
	}
	farms, err := o.Book.Farms(book.As(r.Context(), book.Asks{Person: whoAsks(r).ID, Farm: id}))
	switch {
	case err != nil:
		return farm, err
	case len(farms) == 0:
		return farm, book.ErrNotFound
	case farms[0].May < book.MayWork:
		return farm, book.ErrForbidden
	}
	return farms[0], nil
}

// deskOf is the desk of a farm.
func (o *Office) deskOf(farm int64) (Desk, error) {
	o.desks.mu.Lock()
	one := o.desks.open[farm]
	if one == nil {
		one = &openDesk{}
		o.desks.open[farm] = one
	}
	o.desks.mu.Unlock()
	one.once.Do(func() { one.desk, one.err = o.Desk(farm) })
	return one.desk, one.err
}

func (o *Office) deskPage(w http.ResponseWriter, r *http.Request) error {
	farm, err := o.farmOf(r)
	if err != nil {
		return err
	}
	page, policy := o.DeskPage(farm.Name)
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Security-Policy", policy)
	_, err = w.Write(page)
	return err
}

// entered tells the page of a desk that its person is signed in, as the door of a desk of one's own does.
func (o *Office) entered(w http.ResponseWriter, r *http.Request) error {
	if _, err := o.farmOf(r); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
	_, err := io.WriteString(w, "window.entered = Promise.resolve(true);\n")
	return err
}

// mostMessage is how long a message to a desk may be: the shell takes no longer one.
const mostMessage = 16 << 20

// desk asks the desk of a farm, as the person who asks.
func (o *Office) desk(w http.ResponseWriter, r *http.Request) error {
	of, err := o.farmOf(r)
	if err != nil {
		return err
	}
	farm := of.ID
	d, err := o.deskOf(farm)
	if err != nil {
		return err
	}
	if r.Method == http.MethodPost {
		if err := o.noteDesk(w, r, farm); err != nil {
			return err
		}
	}
	ctx := book.As(r.Context(), book.Asks{Person: whoAsks(r).ID, Farm: farm})
	http.StripPrefix(fmt.Sprintf("/farm/%d/desk", farm), d.Pages).ServeHTTP(w, r.WithContext(ctx))
	return nil
}

// crew passes on the journals of the cabs of a farm.
func (o *Office) crew(w http.ResponseWriter, r *http.Request) error {
	farm, err := o.farmOf(r)
	if err != nil {
		return err
	}
	d, err := o.deskOf(farm.ID)
	if err != nil {
		return err
	}
	http.StripPrefix(fmt.Sprintf("/farm/%d/crew", farm.ID), d.Crew).ServeHTTP(w, r)
	return nil
}

// noteDesk notes what is put in or changed.
func (o *Office) noteDesk(w http.ResponseWriter, r *http.Request, farm int64) error {
	if r.PathValue("rest") != "ask" {
		return o.note(r, farm, "put a file in", r.URL.Query().Get("name"))
	}
	text, err := io.ReadAll(http.MaxBytesReader(w, r.Body, mostMessage))
	if err != nil {
		return err
	}
	r.Body = io.NopCloser(bytes.NewReader(text))
	if do, about := desk.Changes(text); do != "" {
		return o.note(r, farm, "on the desk: "+do, about)
	}
	return nil
}
