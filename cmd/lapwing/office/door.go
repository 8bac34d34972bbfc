package office

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"net/http"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"

	"lapwing/coverage/book"
	"lapwing/report/office"
)

var doorRoutes = []Route{
	{"GET /sign-in", Anyone, (*Office).signInPage},
	{"POST /sign-in", Anyone, (*Office).signIn},
	{"POST /sign-out", Lookers, (*Office).signOut},
}

// What a session has.
const (
	personKey = "person"
	stampKey  = "stamp"
)

// holds is how long a session holds.
const holds = 7 * 24 * time.Hour

// newSessions keeps sessions in the book, under the hash of what the cookie has.
func (o *Office) newSessions() *scs.SessionManager {
	s := scs.New()
	s.Store = &sessionStore{o}
	s.HashTokenInStore = true
	s.Lifetime = holds
	s.Cookie.Name = "lapwing"
	if o.Secure {
		s.Cookie.Name = "__Host-lapwing" // which no other host and no plain http may set
	}
	s.Cookie.Secure = o.Secure
	s.Cookie.HttpOnly = true
	s.Cookie.SameSite = http.SameSiteLaxMode // strict would lose who comes back from an OpenID provider
	s.ErrorFunc = func(w http.ResponseWriter, r *http.Request, err error) { o.refuse(w, r, err) }
	return s
}

// A sessionStore is scs's, in the book.
type sessionStore struct{ o *Office }

func (s *sessionStore) FindCtx(ctx context.Context, token string) ([]byte, bool, error) {
	content, err := s.o.Book.Session(ctx, token, s.o.Now())
	if errors.Is(err, book.ErrNotFound) {
		return nil, false, nil
	}
	return content, err == nil, err
}

func (s *sessionStore) CommitCtx(ctx context.Context, token string, content []byte, ends time.Time) error {
	return s.o.Book.KeepSession(ctx, token, content, ends)
}

func (s *sessionStore) DeleteCtx(ctx context.Context, token string) error {
	return s.o.Book.EndSession(ctx, token, s.o.Now())
}

func (s *sessionStore) Find(token string) ([]byte, bool, error) {
	return s.FindCtx(context.Background(), token)
}

func (s *sessionStore) Commit(token string, content []byte, ends time.Time) error {
	return s.CommitCtx(context.Background(), token, content, ends)
}

func (s *sessionStore) Delete(token string) error { return s.DeleteCtx(context.Background(), token) }

// asking is the person who asks in a request, and the most that their token allows. It is
// empty until admit has filled it.
type asking struct {
	who  book.Who
	most book.May
}

type askingKey struct{}

// whoAsks is the person who asks in a request; the zero Who for a stranger.
func whoAsks(r *http.Request) book.Who {
	if a, ok := r.Context().Value(askingKey{}).(*asking); ok {
		return a.who
	}
	return book.Who{}
}

func hashOf(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// admit finds out who asks, and whether a route is for them.
func (o *Office) admit(r *http.Request, is For) (*asking, error) {
	a := r.Context().Value(askingKey{}).(*asking) // Handler puts it there
	if scheme, token, found := strings.Cut(r.Header.Get("Authorization"), " "); found && strings.EqualFold(scheme, "Bearer") {
		who, may, err := o.Book.PersonOfToken(r.Context(), hashOf(strings.TrimSpace(token)), o.Now())
		if err != nil && !errors.Is(err, book.ErrNotFound) {
			return a, err
		}
		if err == nil {
			a.who, a.most = who, may
		}
	} else if id := o.sessions.GetInt64(r.Context(), personKey); id != 0 {
		who, err := o.Book.PersonOf(r.Context(), id)
		if err != nil && !errors.Is(err, book.ErrNotFound) {
			return a, err
		}
		if err == nil && who.Stamp == o.sessions.GetInt(r.Context(), stampKey) {
			a.who, a.most = who, book.MayManage
		}
	}
	switch {
	case is == Anyone:
		return a, nil
	case a.who.ID == 0:
		return a, errStranger
	case is == Workers && a.most < book.MayWork, is == Managers && a.most < book.MayManage:
		return a, &said{http.StatusForbidden, "This token may not do that: it is one to " + a.most.String() + "."}
	}
	return a, nil
}

// local is a path of this server that a way leads on to; "/" for anything else.
func local(then string) string {
	if !strings.HasPrefix(then, "/") || strings.HasPrefix(then, "//") || strings.ContainsAny(then, "\\\r\n\t") {
		return "/"
	}
	return then
}

func (o *Office) signInPage(w http.ResponseWriter, r *http.Request) error {
	return o.page(w, o.signInWith(r, "", ""))
}

func (o *Office) signInWith(r *http.Request, name, trouble string) *office.SignIn {
	p := &office.SignIn{Frame: office.Frame{Title: "Sign in", Trouble: trouble}, Name: name, Then: local(r.FormValue("then"))}
	if o.OpenID != nil {
		p.Others = o.OpenID.Name
	}
	return p
}

// signIn lets in who knows a name and its password.
func (o *Office) signIn(w http.ResponseWriter, r *http.Request) error {
	name, password := strings.ToLower(strings.TrimSpace(r.PostFormValue("name"))), r.PostFormValue("password")
	if wait := max(o.names.take(name), o.from.take(o.address(r))); wait > 0 {
		o.counts.refused.Inc()
		return &slowed{wait}
	}
	who, err := o.Book.PersonWhoSignsIn(r.Context(), name)
	if err != nil && !errors.Is(err, book.ErrNotFound) {
		return err
	}
	is, err := IsKept(r.Context(), password, who.Password)
	if err != nil {
		return err
	}
	if !is || who.Password == "" {
		o.counts.refused.Inc()
		if err := o.note(r, book.WholeBook, "was not let in", name); err != nil {
			return err
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.WriteHeader(http.StatusForbidden)
		return office.Write(w, o.signInWith(r, name, "Name or password is wrong."))
	}
	o.names.giveBack(name)
	if err := o.begin(r, who); err != nil {
		return err
	}
	http.Redirect(w, r, local(r.PostFormValue("then")), http.StatusSeeOther)
	return nil
}

// begin begins a session: with a new secret, so that one that an attacker put into the
// browser before is worth nothing (session fixation).
func (o *Office) begin(r *http.Request, who book.Who) error {
	if err := o.sessions.RenewToken(r.Context()); err != nil {
		return err
	}
	o.sessions.Put(r.Context(), personKey, who.ID)
	o.sessions.Put(r.Context(), stampKey, who.Stamp)
	r.Context().Value(askingKey{}).(*asking).who = who
	return o.note(r, book.WholeBook, "signed in", "")
}

func (o *Office) signOut(w http.ResponseWriter, r *http.Request) error {
	if err := o.sessions.Destroy(r.Context()); err != nil {
		return err
	}
	if err := o.note(r, book.WholeBook, "signed out", ""); err != nil {
		return err
	}
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	return nil
}
