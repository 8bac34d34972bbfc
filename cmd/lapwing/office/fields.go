package office

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"net/http"
	"strings"
	"time"

	"lapwing/coverage/assess"
	"lapwing/coverage/book"
	"lapwing/coverage/quantity"
	"lapwing/report/field"
	"lapwing/report/office"
)

var fieldRoutes = []Route{
	{"GET /{$}", Lookers, (*Office).fields},
	{"GET /farm/{farm}/field/{job}/{part}/{file}", Lookers, (*Office).field},
	{"GET /field/{job}/{part}/{file}", Lookers, (*Office).field}, // at whichever of their farms it stands
	{"GET /farm/{farm}/field/{job}/{part}/link", Workers, (*Office).toLink},
	{"POST /farm/{farm}/field/{job}/{part}/link", Workers, (*Office).giveLink},
	{"POST /links/{link}/end", Workers, (*Office).endLink},
	{"GET /link/{secret}", Anyone, (*Office).linked},
}

// mostFields are listed at a time.
const mostFields = 200

func (o *Office) fields(w http.ResponseWriter, r *http.Request) error {
	farms, err := o.Book.Farms(r.Context())
	if err != nil {
		return err
	}
	p := &office.Fields{Frame: o.frame(r, "Fields"), Find: r.FormValue("find")}
	may := map[int64]book.Farm{}
	for _, f := range farms {
		may[f.ID] = f
		p.Farms = append(p.Farms, office.Farm{ID: f.ID, Name: f.Name, May: f.May.String(), Works: f.May >= book.MayWork && f.ID != book.WholeBook})
		p.Adds = p.Adds || f.ID == book.WholeBook && f.May == book.MayManage
	}
	standing, all, err := o.Book.Standing(r.Context(), book.Choice{Named: p.Find, Most: mostFields})
	if err != nil {
		return err
	}
	p.All = all
	for _, s := range standing {
		at := fmt.Sprintf("/farm/%d/field/%s/%d/", s.Farm, s.Job, s.Part)
		f := office.Field{
			At: at + field.PageFile, Name: s.Field, Farm: may[s.Farm].Name, Days: days(s.First, s.Last), Machines: strings.Join(s.Machines, ", "),
			Area: quantity.US.SquareMetres(s.Area), Skip: quantity.US.SquareMetres(s.Skip), Overlap: quantity.US.SquareMetres(s.Overlap), Open: "-", Wasted: "-",
			AreaOther: quantity.Metric.SquareMetres(s.Area), SkipOther: quantity.Metric.SquareMetres(s.Skip), OverlapOther: quantity.Metric.SquareMetres(s.Overlap),
		}
		if s.Operation != "" {
			f.Name += ", " + s.Operation
		}
		if !math.IsNaN(s.Open) {
			f.Open = quantity.US.Metres(s.Open)
		}
		if !math.IsNaN(s.Wasted) {
			f.Wasted, f.WastedOther = quantity.US.Mass(s.Wasted), quantity.Metric.Mass(s.Wasted)
		}
		if may[s.Farm].May >= book.MayWork {
			f.Link = at + "link"
		}
		p.List = append(p.List, f)
	}
	return o.page(w, p)
}

func days(first, last time.Time) string {
	switch {
	case first.IsZero():
		return "no clock"
	case first.Format(time.DateOnly) == last.Format(time.DateOnly):
		return first.Format(time.DateOnly)
	}
	return first.Format(time.DateOnly) + " to " + last.Format(time.DateOnly)
}

// A shown is a part of a job that the person who asks may look at.
type shown struct {
	farm int64
	job  *book.Sought
	part int
	*assess.Assessment
}

// shownAt is what a path leads to.
func (o *Office) shownAt(r *http.Request) (*shown, error) {
	farm := book.WholeBook
	if r.PathValue("farm") != "" {
		of, err := number(r, "farm")
		if err != nil {
			return nil, err
		}
		farm = of
	}
	part, err := number(r, "part")
	if err != nil {
		return nil, err
	}
	ctx := book.As(r.Context(), book.Asks{Person: whoAsks(r).ID, Farm: farm})
	job, err := o.Book.Job(ctx, r.PathValue("job")) // which is not there unless they may see it
	if err != nil {
		return nil, err
	}
	stored, err := o.Book.Stored(ctx, job.Key)
	if err != nil {
		return nil, err
	}
	if part >= int64(len(stored)) {
		return nil, book.ErrNotFound
	}
	a, err := assess.Decode(bytes.NewReader(stored[part]))
	if err != nil {
		return nil, err
	}
	if err := a.Rename(book.NamesOf(job.Files[0].Name).Real); err != nil {
		return nil, err
	}
	return &shown{farm, job, int(part), a}, nil
}

// The files of a field that are given, and their types.
var types = map[string]string{
	field.PageFile: "text/html; charset=utf-8", field.SummaryFile: "application/json", field.GeoJSONFile: "application/geo+json",
	"products.csv": "text/csv; charset=utf-8", "fills.csv": "text/csv; charset=utf-8", "times.csv": "text/csv; charset=utf-8",
}

// field gives the page of a field, or another of its files.
func (o *Office) field(w http.ResponseWriter, r *http.Request) error {
	s, err := o.shownAt(r)
	if err != nil {
		return err
	}
	document := &field.Document{Assessment: s.Assessment, Book: "/"}
	for _, f := range append(field.Files.Of(document), field.Tables.Of(document)...) {
		if f.Name != r.PathValue("file") {
			continue
		}
		var b bytes.Buffer // whole, or an error
		if err := f.Write(&b); err != nil {
			return err
		}
		h := w.Header()
		h.Set("Content-Type", types[f.Name])
		if f.Name == field.PageFile {
			h.Del("Content-Security-Policy") // the page states its own, which is stricter
		} else {
			h.Set("Content-Disposition", "attachment; filename="+f.Name)
		}
		_, err := b.WriteTo(w)
		return err
	}
	return book.ErrNotFound
}

func (o *Office) toLink(w http.ResponseWriter, r *http.Request) error {
	s, err := o.shownAt(r)
	if err != nil {
		return err
	}
	return o.page(w, &office.ToLink{Frame: o.frame(r, "A link to a field"), Name: s.FieldName(), At: r.URL.Path})
}

func (o *Office) giveLink(w http.ResponseWriter, r *http.Request) error {
	ends, err := o.days(r)
	if err != nil {
		return err
	}
	s, err := o.shownAt(r)
	if err != nil {
		return err
	}
	secret, hash := newSecret()
	if err := o.Book.AddLink(r.Context(), book.Link{Farm: s.farm, Made: o.Now(), Ends: ends}, s.job.Key, s.part, hash); err != nil {
		return err
	}
	if err := o.note(r, s.farm, "gave a link", s.FieldName()); err != nil {
		return err
	}
	scheme := "http://"
	if o.Secure {
		scheme = "https://"
	}
	return o.accountPage(w, r, func(f *office.Frame) {
		f.OnceFor, f.Once = "The link to "+s.FieldName()+".", scheme+r.Host+"/link/"+secret
	})
}

func (o *Office) endLink(w http.ResponseWriter, r *http.Request) error {
	id, err := number(r, "link")
	if err != nil {
		return err
	}
	if err := o.Book.EndLink(r.Context(), id); err != nil {
		return err
	}
	if err := o.note(r, book.WholeBook, "ended a link", ""); err != nil {
		return err
	}
	http.Redirect(w, r, "/account", http.StatusSeeOther)
	return nil
}

// linked gives the one page that a link leads to.
func (o *Office) linked(w http.ResponseWriter, r *http.Request) error {
	name, stored, err := o.Book.FieldOfLink(r.Context(), hashOf(r.PathValue("secret")), o.Now())
	if errors.Is(err, book.ErrNotFound) {
		if wait := o.from.take(o.address(r)); wait > 0 { // against guessing
			return &slowed{wait}
		}
	}
	if err != nil {
		return err
	}
	a, err := assess.Decode(bytes.NewReader(stored))
	if err != nil {
		return err
	}
	// Of names of files the client is told none.
	if err := a.Rename(book.NamesOf(name).Real); err != nil {
		return err
	}
	var b bytes.Buffer
	if err := (&field.Document{Assessment: a}).Page(&b); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Del("Content-Security-Policy")
	_, err = b.WriteTo(w)
	return err
}
