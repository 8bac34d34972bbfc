package features

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"lapwing/coverage/book"
)

// A route is one kind of question.
type route struct {
	path   string // below the base, as OpenAPI writes it
	name   string // its operationId
	about  string
	params []param
	gives  media
	empty  bool // it may also have nothing to give (204)
	answer func(*call) error
}

// media is what an answer is made of.
type media struct {
	kind   string // as in Content-Type
	schema object // nil for bytes
}

// object is an object of JSON.
type object = map[string]any

// The kinds of what is given.
const (
	jsonKind    = "application/json"
	geoJSONKind = "application/geo+json"
	openAPIKind = "application/vnd.oai.openapi+json;version=3.0"
	tileKind    = "application/vnd.mapbox-vector-tile"
	gpkgKind    = "application/geopackage+sqlite3"
	parquetKind = "application/vnd.apache.parquet"
)

// A call is a question that is being answered.
type call struct {
	w      http.ResponseWriter
	r      *http.Request
	book   book.Featured
	origin string // scheme and host of this server
	root   string // the address of the landing page, without a slash at its end

	of      book.Selection
	layers  []string // that were asked for by name
	z, x, y int
}

// handler answers by the table.
type handler struct {
	book   book.Featured
	origin string // scheme and host that others call the server by; "" for those of a request
	base   string // the path of the landing page, without a slash at its end
	fault  func(error)
	routes []route
	api    []byte // the description
}

// New returns a handler for all paths at and below a base, such as "/features", where it is
// to be mounted. A base with a scheme and a host, such as https://farm.example/features, is
// how others call it; else links say what a request does, which is wrong behind a proxy that
// ends TLS. fault is told what goes wrong here and is not the fault of whoever asks, who
// hears no more than that; it may be called from several goroutines at once.
func New(b book.Featured, base string, fault func(error)) (http.Handler, error) {
	at, err := url.Parse(base)
	if err != nil || (at.Scheme == "") != (at.Host == "") || at.RawQuery != "" || at.Fragment != "" {
		return nil, fmt.Errorf("found the base %q, want a path such as /features, or its whole address", base)
	}
	h := &handler{book: b, base: strings.TrimSuffix(at.Path, "/"), fault: fault, routes: routes()}
	if at.Host != "" {
		h.origin = at.Scheme + "://" + at.Host
	}
	if h.api, err = json.MarshalIndent(describe(h.routes, h.origin+h.base), "", " "); err != nil {
		return nil, err
	}
	mux := http.NewServeMux()
	for _, r := range h.routes {
		path := strings.TrimSuffix(r.path, tileEnding) // which is a part of a segment
		if path == "/" {
			path = "/{$}"
		}
		mux.HandleFunc("GET "+h.base+path, func(w http.ResponseWriter, req *http.Request) { h.serve(w, req, r) })
	}
	mux.HandleFunc("GET "+h.base+"/", func(w http.ResponseWriter, req *http.Request) {
		h.fail(w, req, &notThere{"found no such page, want one of those at " + h.base + "/api"})
	})
	return mux, nil
}

// routes is the table. Collections have rows of their own, for each has its own parameters.
func routes() []route {
	rows := []route{
		{path: "/", name: "getLandingPage", about: "what there is", gives: media{jsonKind, landingSchema}, answer: (*call).landing},
		{path: "/conformance", name: "getConformance", about: "the conformance classes of OGC API - Features that hold", gives: media{jsonKind, conformanceSchema}, answer: (*call).conformance},
		{path: "/api", name: "getDescription", about: "this description", gives: media{openAPIKind, object{"type": "object"}}},
		{path: "/collections", name: "getCollections", about: "the collections", gives: media{jsonKind, collectionsSchema}, answer: (*call).collections},
		{path: "/export.gpkg", name: "exportGeoPackage", about: "all collections, or some, in a GeoPackage, a layer each",
			params: append([]param{layersParam, bboxParam, datetimeParam}, allFilters()...), gives: media{gpkgKind, nil}, answer: (*call).geoPackage},
	}
	for _, l := range book.Layers {
		title := strings.ToUpper(l.Name[:1]) + l.Name[1:]
		at := "/collections/" + l.Name
		filters := filtersOf(l.Filters)
		of := func(do func(*call, book.Layer) error) func(*call) error {
			return func(c *call) error {
				c.of.Layer = l.Name
				return do(c, l)
			}
		}
		rows = append(rows,
			route{path: at, name: "describe" + title, about: l.About, gives: media{jsonKind, collectionSchema}, answer: of((*call).collection)},
			route{path: at + "/items", name: "get" + title, about: l.About,
				params: append([]param{limitParam, afterParam, bboxParam, datetimeParam}, filters...), gives: media{geoJSONKind, itemsSchema(l)}, answer: of((*call).items)},
			route{path: at + "/items/{featureId}", name: "getOneOf" + title, about: "one feature", params: []param{featureParam},
				gives: media{geoJSONKind, itemSchema(l)}, answer: of((*call).item)},
			route{path: at + "/items.parquet", name: "export" + title, about: l.About + "; as GeoParquet 1.1",
				params: append([]param{bboxParam, datetimeParam}, filters...), gives: media{parquetKind, nil}, answer: of((*call).parquet)},
			route{path: "/tiles/" + l.Name + "/{z}/{x}/{y}" + tileEnding, name: "draw" + title, about: tilesAbout(l),
				params: append([]param{zParam, xParam, yParam, datetimeParam}, filters...), gives: media{tileKind, nil}, empty: true, answer: of((*call).tile)},
		)
	}
	for i := range rows {
		if rows[i].gives.schema != nil {
			rows[i].params = append(rows[i].params, formatParam)
		}
	}
	return rows
}

// serve answers a question of a route.
func (h *handler) serve(w http.ResponseWriter, req *http.Request, r route) {
	origin := h.originOf(req)
	c := &call{w: w, r: req, book: h.book, origin: origin, root: origin + h.base}
	err := c.read(r.params)
	switch {
	case err != nil:
	case r.answer == nil:
		c.give(openAPIKind, h.api)
	default:
		err = r.answer(c)
	}
	if err != nil {
		h.fail(w, req, err)
	}
}

// originOf is the scheme and the host that a request calls the server by.
func (h *handler) originOf(r *http.Request) string {
	switch {
	case h.origin != "":
		return h.origin
	case r.TLS != nil:
		return "https://" + r.Host
	}
	return "http://" + r.Host
}

// read reads the parameters of a question. Those that it does not have are an error
// (/req/core/query-param-unknown), as are those that are given twice.
func (c *call) read(params []param) error {
	given, err := url.ParseQuery(c.r.URL.RawQuery)
	if err != nil {
		return &wrongParam{"the query", "what cannot be read", "NAME=VALUE with & between"}
	}
	var known []string
	for _, p := range params {
		if p.inPath {
			text := c.r.PathValue(p.name)
			if err := p.read(c, text); err != nil {
				return &notThere{p.name + ": " + err.Error()}
			}
			continue
		}
		known = append(known, p.name)
		values, ok := given[p.name]
		if !ok {
			if p.absent != nil {
				p.absent(c)
			}
			continue
		}
		if len(values) > 1 {
			return &wrongParam{p.name, fmt.Sprintf("it %d times", len(values)), "it once"}
		}
		if err := isText(values[0]); err != nil {
			err.name = p.name
			return err
		}
		if err := p.read(c, values[0]); err != nil {
			if wrong := (*wrongParam)(nil); errors.As(err, &wrong) {
				wrong.name = p.name
			}
			return err
		}
	}
	names := make([]string, 0, len(given))
	for name := range given {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		if !slices.Contains(known, name) {
			want := "none here"
			if len(known) > 0 {
				want = "one of " + strings.Join(known, ", ")
			}
			return &wrongParam{"the query", fmt.Sprintf("a parameter %q", name), want}
		}
	}
	return nil
}

// A wrongParam is of what whoever asks can put right.
type wrongParam struct{ name, found, want string }

func (e *wrongParam) Error() string {
	return fmt.Sprintf("%s: found %s, want %s", e.name, e.found, e.want)
}

// notThere is of what there is not, or not for whoever asks.
type notThere struct{ text string }

func (e *notThere) Error() string { return e.text }

// fail makes an error an answer, in the form that OGC 17-069r4 recommends (7.5.1). What is
// not of the question is told to whoever runs the server only.
func (h *handler) fail(w http.ResponseWriter, r *http.Request, err error) {
	status, code, text := http.StatusInternalServerError, "ServerError", "found a fault of this server, which was noted"
	var wrong *wrongParam
	var gone *notThere
	switch {
	case r.Context().Err() != nil:
		return // nobody waits for it any more
	case errors.As(err, &wrong):
		status, code, text = http.StatusBadRequest, "InvalidParameterValue", wrong.Error()
	case errors.As(err, &gone):
		status, code, text = http.StatusNotFound, "NotFound", gone.Error()
	case errors.Is(err, book.ErrNotFound), errors.Is(err, book.ErrForbidden):
		status, code, text = http.StatusNotFound, "NotFound", "found no such feature"
	default:
		h.fault(fmt.Errorf("%s: %w", r.URL.Path, err))
	}
	body, _ := inJSON(object{"code": code, "description": text}) // which has a form
	w.Header().Set("Content-Type", jsonKind)
	w.WriteHeader(status)
	_, _ = w.Write(body) // whoever asked may have gone
}

// give answers with bytes of a kind.
func (c *call) give(kind string, body []byte) {
	c.w.Header().Set("Content-Type", kind)
	_, _ = c.w.Write(body) // whoever asked may have gone
}

// giveJSON answers with a value.
func (c *call) giveJSON(v any) error {
	text, err := inJSON(v)
	if err == nil {
		c.give(jsonKind, text)
	}
	return err
}

// inJSON writes a value as JSON, and the & of addresses as it is.
func inJSON(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(v)
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), err
}

// here is the address that was asked for.
func (c *call) here() string {
	at := c.origin + c.r.URL.EscapedPath()
	if c.r.URL.RawQuery != "" {
		at += "?" + c.r.URL.RawQuery
	}
	return at
}

// A link leads from an answer to another.
type link struct {
	Href      string `json:"href"`
	Rel       string `json:"rel"`
	Type      string `json:"type,omitempty"`
	Title     string `json:"title,omitempty"`
	Templated bool   `json:"templated,omitempty"`
}

// moment writes a time as RFC 3339 has it.
func moment(t time.Time) string { return t.UTC().Format(time.RFC3339Nano) }
