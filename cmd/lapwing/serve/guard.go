package serve

import (
	"context"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"io"
	"net"
	"net/http"
	"net/netip"
	"strings"
)

// An Asset is a file of a page that holds nothing of a user's: its markup, style, script or
// icon. It is given without a key.
type Asset struct {
	Type string // as in Content-Type
	Body []byte
	// Policy is its Content-Security-Policy; "" is [Policy] of nothing.
	Policy string
}

// Enter is the script that exchanges the key for the cookie, as text. A page has
// it before all others, by <script src="enter.js"> or inline; others wait for the
// promise window.entered, which tells whether the door is open.
//
//go:embed enter.js
var Enter string

// The paths that the door itself answers.
const (
	enterPath  = "/enter"    // POST: a key for a cookie
	scriptPath = "/enter.js" // GET: [Enter]
)

// mostKey is how long the body of /enter may be.
const mostKey = 1 << 10

// Policy is the Content-Security-Policy of a page that loads from its own door
// only. Scripts and styles that stand in the page itself are allowed by their
// content.
func Policy(inline ...string) string {
	var hashes strings.Builder
	for _, text := range inline {
		hashes.WriteString(" " + Hash(text))
	}
	return "default-src 'none'; script-src 'self'" + hashes.String() + "; style-src 'self'" + hashes.String() +
		"; img-src 'self' data: blob:; connect-src 'self'; worker-src 'self'; manifest-src 'self'; frame-src 'self'; frame-ancestors 'self'; base-uri 'none'; form-action 'none'"
}

// Hash is how a policy names a script or style that stands in a page.
func Hash(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

// Guard lets in what holds a key of this door and comes from its own page. The
// assets, by their paths, are for everybody who calls the door by its name; "/" is
// the page. A handler may set another Content-Security-Policy than [Policy].
func (d *Door) Guard(assets map[string]Asset, pages http.Handler) http.Handler {
	inner := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		asset, open := assets[r.URL.Path]
		reads := r.Method == http.MethodGet || r.Method == http.MethodHead
		switch {
		case r.URL.Path == enterPath:
			d.enter(w, r)
		case r.URL.Path == scriptPath && reads:
			give(w, Asset{Type: "text/javascript; charset=utf-8", Body: []byte(Enter)})
		case open && reads:
			give(w, asset)
		default:
			d.admit(w, r, pages)
		}
	})
	return d.onlyByName(WithPolicy(Policy(), d.onlyOwnPages(inner)))
}

// give answers with an asset.
func give(w http.ResponseWriter, a Asset) {
	w.Header().Set("Content-Type", a.Type)
	if a.Policy != "" {
		w.Header().Set("Content-Security-Policy", a.Policy)
	}
	_, _ = w.Write(a.Body) // the browser may have gone
}

// enter gives a cookie for a key.
func (d *Door) enter(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodPost {
		w.Header().Set("Allow", http.MethodPost)
		http.Error(w, "want POST", http.StatusMethodNotAllowed)
		return
	}
	key, err := io.ReadAll(http.MaxBytesReader(w, r.Body, mostKey))
	role := roleOf(d.keys, strings.TrimSpace(string(key)))
	if err != nil || role == Stranger {
		http.Error(w, "found a key that is not of this run; open the address that it printed", http.StatusForbidden)
		return
	}
	http.SetCookie(w, &http.Cookie{
		Name: d.cookie, Value: d.tickets[role], Path: "/",
		HttpOnly: true, Secure: d.secure != nil, SameSite: http.SameSiteStrictMode,
	})
	w.WriteHeader(http.StatusNoContent)
}

// admit lets in what holds a cookie or a key, and changes something only with that
// which drives.
func (d *Door) admit(w http.ResponseWriter, r *http.Request, pages http.Handler) {
	role := d.roleIn(r)
	switch {
	case role == Stranger:
		w.Header().Set("WWW-Authenticate", "Bearer")
		http.Error(w, "found no key; open the address that lapwing printed, or send Authorization: Bearer KEY", http.StatusUnauthorized)
	case role == Looks && r.Method != http.MethodGet && r.Method != http.MethodHead:
		http.Error(w, "found the key that only looks, want the one that drives", http.StatusForbidden)
	default:
		pages.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), roleKey{}, role)))
	}
}

// roleIn is the role of a request's key, or else of its cookie.
func (d *Door) roleIn(r *http.Request) Role {
	if scheme, key, found := strings.Cut(r.Header.Get("Authorization"), " "); found {
		if !strings.EqualFold(scheme, "Bearer") {
			return Stranger
		}
		return roleOf(d.keys, strings.TrimSpace(key))
	}
	role := Stranger
	for _, c := range r.CookiesNamed(d.cookie) {
		role = max(role, roleOf(d.tickets, c.Value))
	}
	return role
}

type roleKey struct{}

// RoleOf is the role of the key that a guarded request came with.
func RoleOf(r *http.Request) Role {
	role, _ := r.Context().Value(roleKey{}).(Role)
	return role
}

// onlyByName refuses requests that call the door by a name that is not its own. A
// page of another site can have its own name lead here, and is then of one origin
// with us in the browser's eyes; an address in numbers leads nowhere else.
func (d *Door) onlyByName(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !d.isOurs(r.Host) {
			http.Error(w, "found a host that this is not", http.StatusForbidden)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// isOurs reports whether the Host of a request is this door.
func (d *Door) isOurs(called string) bool {
	host, port, err := net.SplitHostPort(called)
	if err != nil { // no port: that of the scheme
		host = strings.TrimSuffix(strings.TrimPrefix(called, "["), "]")
		port = "80"
		if d.secure != nil {
			port = "443"
		}
	}
	if port != d.port {
		return false
	}
	if at, err := netip.ParseAddr(host); err == nil {
		return at.Zone() == "" && (d.anywhere || at.IsLoopback())
	}
	return d.names[strings.ToLower(host)]
}

// onlyOwnPages refuses what pages of other sites and ports write, which net/http
// knows how to tell, and what they read. They may lead to a page.
func (d *Door) onlyOwnPages(next http.Handler) http.Handler {
	reads := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		site := r.Header.Get("Sec-Fetch-Site")
		leads := r.Header.Get("Sec-Fetch-Mode") == "navigate" && r.Header.Get("Sec-Fetch-Dest") == "document"
		if site != "" && site != "same-origin" && site != "none" && !leads {
			http.Error(w, "found a page of another site that asks", http.StatusForbidden)
			return
		}
		next.ServeHTTP(w, r)
	})
	return http.NewCrossOriginProtection().Handler(reads)
}

// WithPolicy gives every answer a Content-Security-Policy, which a handler may replace, and
// the other headers that keep it what it is.
func WithPolicy(policy string, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}
