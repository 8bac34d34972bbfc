package office

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"

	"lapwing/cmd/lapwing/serve"
	"lapwing/coverage/book"
	"lapwing/report/desk"
	"lapwing/report/office"
)

// Options are what an office is made of.
type Options struct {
	Book book.Served
	// Desk opens the desk of a farm. Each farm has a folder of its own.
	Desk func(farm int64) (Desk, error)
	// DeskPage is the page of the desk of a farm of a name, and its policy.
	DeskPage func(farm string) (html []byte, policy string)
	Log      *slog.Logger
	// Secure says that people come by https, through a certificate of ours or a proxy's.
	Secure bool
	// BehindProxy says that a proxy tells in X-Forwarded-For who comes.
	BehindProxy bool
	OpenID      *OpenID // nil for none
	Now         func() time.Time
}

// A Desk is the desk of a farm: what answers its page, and the cabs of the farm.
type Desk struct {
	Pages, Crew http.Handler
	Close       func() error
}

// PersonOf is the number of who asks in a request that has been let in.
func PersonOf(r *http.Request) int64 { return whoAsks(r).ID }

// An Office lets people at a book.
type Office struct {
	Options
	sessions *scs.SessionManager
	names    *slower // that are signed in by
	from     *slower // addresses that signing in comes from
	asks     *slower // people
	desks    desks
	counts   *counts
	mux      *http.ServeMux
	routes   []Route
	places   []office.Place // that pages lead to, beside those of every office
}

// A Route is what is asked at a pattern of net/http, and what it is for.
type Route struct {
	Pattern string
	For     For
	handle  func(o *Office, w http.ResponseWriter, r *http.Request) error
}

// What a route is for.
type For int

const (
	Anyone   For = iota // who has not signed in too
	Lookers             // people who are signed in; the book shows what they may see
	Workers             // a token must be one to work
	Managers            // a token must be one to manage
)

// New opens an office.
func New(o Options) *Office {
	if o.Now == nil {
		o.Now = time.Now
	}
	f := &Office{
		Options: o,
		names:   newSlower(30*time.Second, 8, o.Now),
		from:    newSlower(3*time.Second, 20, o.Now),
		asks:    newSlower(25*time.Millisecond, 200, o.Now),
		desks:   desks{open: map[int64]*openDesk{}},
		counts:  newCounts(),
		mux:     http.NewServeMux(),
	}
	f.sessions = f.newSessions()
	f.add(doorRoutes, fieldRoutes, peopleRoutes, deskRoutes, countRoutes)
	if o.OpenID != nil {
		f.add(openIDRoutes)
	}
	return f
}

func (o *Office) add(sets ...[]Route) {
	for _, routes := range sets {
		for _, r := range routes {
			o.routes = append(o.routes, r)
			o.mux.HandleFunc(r.Pattern, func(w http.ResponseWriter, q *http.Request) { o.serve(w, q, r) })
		}
	}
}

// Mount has another handler answer below a path that ends in a slash, for people who are
// signed in; its requests say in their context who asks. Pages lead to it by a name, where
// it has one.
func (o *Office) Mount(path, name string, h http.Handler) {
	if name != "" {
		o.places = append(o.places, office.Place{Name: name, At: path})
	}
	o.add([]Route{{"GET " + path, Lookers, func(_ *Office, w http.ResponseWriter, r *http.Request) error {
		h.ServeHTTP(w, r)
		return nil
	}}})
}

// Routes are all routes.
func (o *Office) Routes() []Route { return o.routes }

// Close closes all desks.
func (o *Office) Close() error { return o.desks.close() }

// Handler answers all requests.
func (o *Office) Handler() http.Handler {
	routed := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		_, pattern := o.mux.Handler(r)
		if pattern == "" {
			// Neither is there a difference between what is not there and what is not theirs,
			// nor a page that says what is.
			pattern = "none"
		}
		began := time.Now()
		status := &statusWriter{ResponseWriter: w, status: http.StatusOK}
		asks := &asking{}
		o.mux.ServeHTTP(status, r.WithContext(context.WithValue(r.Context(), askingKey{}, asks)))
		took := time.Since(began)
		o.counts.request(pattern, r.Method, status.status, took)
		o.Log.LogAttrs(r.Context(), slog.LevelInfo, "request", slog.String("route", pattern), slog.Int("status", status.status),
			slog.Duration("took", took.Round(time.Microsecond)), slog.Int64("person", asks.who.ID))
	})
	guarded := http.NewCrossOriginProtection().Handler(o.sessions.LoadAndSave(routed))
	return serve.WithPolicy(office.Policy(), http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if o.Secure {
			w.Header().Set("Strict-Transport-Security", "max-age=31536000")
		}
		guarded.ServeHTTP(w, r)
	}))
}

// mostForm is how long a form may be, and slowestForm how long it may take to come.
const (
	mostForm    = 64 << 10
	slowestForm = 30 * time.Second
)

// serve answers a request of a route.
func (o *Office) serve(w http.ResponseWriter, r *http.Request, route Route) {
	asks, err := o.admit(r, route.For)
	if err == nil {
		if asks.who.ID != 0 {
			if wait := o.asks.take(fmt.Sprint(asks.who.ID)); wait > 0 {
				err = &slowed{wait}
			}
		}
		r = r.WithContext(book.As(r.Context(), book.Asks{Person: asks.who.ID}))
	}
	if err == nil {
		if !strings.Contains(route.Pattern, "/desk/") && !strings.Contains(route.Pattern, "/crew/") { // which have bounds of their own
			_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(slowestForm)) // not all connections have one
			r.Body = http.MaxBytesReader(w, r.Body, mostForm)
		}
		err = route.handle(o, w, r)
	}
	if err != nil {
		o.refuse(w, r, err)
	}
}

// errStranger is of who has to sign in first.
var errStranger = errors.New("not signed in")

// A said error has the words and the status for the person who asked.
type said struct {
	status int
	text   string
}

func (s *said) Error() string { return s.text }

func wrong(format string, args ...any) error {
	return &said{http.StatusUnprocessableEntity, fmt.Sprintf(format, args...)}
}

// A slowed error says how long to wait.
type slowed struct{ wait time.Duration }

func (s *slowed) Error() string {
	return fmt.Sprintf("Too often. Try again in %d s.", int(s.wait.Seconds())+1)
}

// Fail answers where a mounted handler could not: with what is the asker's business, and the
// rest in the log.
func (o *Office) Fail(w http.ResponseWriter, r *http.Request, err error) { o.refuse(w, r, err) }

// refuse says why there is no answer, as far as that is anybody's business.
func (o *Office) refuse(w http.ResponseWriter, r *http.Request, err error) {
	status, text := http.StatusInternalServerError, "That did not work, and the fault is here. It is in the log."
	var told *said
	var slow *slowed
	var much *http.MaxBytesError
	switch {
	case errors.Is(err, errStranger):
		if wantsPage(r) && r.Method == http.MethodGet {
			http.Redirect(w, r, "/sign-in?then="+url.QueryEscape(r.URL.RequestURI()), http.StatusSeeOther)
			return
		}
		w.Header().Set("WWW-Authenticate", "Bearer")
		status, text = http.StatusUnauthorized, "Sign in first, or send Authorization: Bearer TOKEN."
	case errors.Is(err, book.ErrNotFound):
		status, text = http.StatusNotFound, "There is no such page, or none for you."
	case errors.Is(err, book.ErrForbidden):
		status, text = http.StatusForbidden, "You may not do that. Somebody who manages the farm can allow it."
	case errors.As(err, &told):
		status, text = told.status, told.text
	case errors.As(err, &slow):
		w.Header().Set("Retry-After", fmt.Sprint(int(slow.wait.Seconds())+1))
		status, text = http.StatusTooManyRequests, slow.Error()
	case errors.As(err, &much):
		status, text = http.StatusRequestEntityTooLarge, fmt.Sprintf("That is more than %d bytes.", much.Limit)
	case r.Context().Err() != nil:
		status, text = http.StatusServiceUnavailable, "Stopped."
	default:
		o.Log.LogAttrs(r.Context(), slog.LevelError, "failed", slog.String("error", err.Error()))
	}
	w.Header().Set("Content-Security-Policy", office.Policy())
	if wantsPage(r) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.WriteHeader(status)
		_ = office.Write(w, &office.Wrong{Frame: o.frame(r, "lapwing"), Text: text}) // the person who asked may have gone
		return
	}
	w.Header().Set("Content-Type", desk.JSON)
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(map[string]*desk.Fault{"error": {Found: text, Text: text}}) // the person who asked may have gone
}

// wantsPage reports whether a browser asks, for its window.
func wantsPage(r *http.Request) bool {
	return strings.Contains(r.Header.Get("Accept"), "text/html")
}

// page answers with a page.
func (o *Office) page(w http.ResponseWriter, p any) error {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	return office.Write(w, p)
}

// address is where a request comes from.
func (o *Office) address(r *http.Request) string {
	if o.BehindProxy {
		// The last one is the proxy's own word; those before it anybody may write.
		all := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
		if at, err := netip.ParseAddr(strings.TrimSpace(all[len(all)-1])); err == nil {
			return at.String()
		}
	}
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return host
}

// note writes into the audit trail. What cannot be noted is not done.
func (o *Office) note(r *http.Request, farm int64, did, about string) error {
	return o.Book.Note(r.Context(), book.Note{At: o.Now(), Person: whoAsks(r).ID, Farm: farm, Did: did, About: about, Address: o.address(r)})
}

// A statusWriter remembers the status of an answer.
type statusWriter struct {
	http.ResponseWriter
	status int
	wrote  bool
}

func (s *statusWriter) WriteHeader(status int) {
	if !s.wrote {
		s.status, s.wrote = status, true
	}
	s.ResponseWriter.WriteHeader(status)
}

// Unwrap lets http.ResponseController at the writer below, for events.
func (s *statusWriter) Unwrap() http.ResponseWriter { return s.ResponseWriter }
