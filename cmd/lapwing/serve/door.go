package serve

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"crypto/tls"
	"encoding/base32"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"strconv"
	"strings"
	"time"
)

// A Role is what a key is for. The zero Role is that of no key.
type Role int

const (
	Stranger Role = iota
	Looks         // may ask for everything, and change nothing
	Drives        // may do everything
)

// Options say where a door is and who it is for. The zero Options open a door on
// any free port of this machine, for it alone.
type Options struct {
	// Name is in the names of cookies: "desk".
	Name string
	// Listen is HOST:PORT; "" is a free port of 127.0.0.1.
	Listen string
	// Anywhere lets Listen be an address that other machines reach.
	Anywhere bool
	// Hosts are further names by which the door is called, such as those in its
	// certificate. Addresses need not be named.
	Hosts []string
	// CertFile and KeyFile are those of TLS; without them it is plain HTTP.
	CertFile, KeyFile string
	// Keys are those of a door that was open before, as [NewKey] made them: with them its
	// pages go on as if it had never been shut. A role without one gets a new one.
	Keys map[Role]string
}

// IsKey reports whether a text can be a key of [NewKey].
func IsKey(text string) bool {
	return len(text) == len(rand.Text()) && strings.Trim(text, "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567") == ""
}

// ticketOf is what the cookie for a key holds: it does not tell the key.
func ticketOf(key string) string {
	sum := sha256.Sum256([]byte("ticket " + key))
	return base32.StdEncoding.EncodeToString(sum[:])[:26]
}

// An AddressError says that a door cannot be where Listen has it.
type AddressError struct{ Found, Want string }

func (e *AddressError) Error() string { return fmt.Sprintf("found %s, want %s", e.Found, e.Want) }

// A Door is an address that is listened on, and the keys to it.
type Door struct {
	listener net.Listener
	host     string // as in its address
	port     string
	secure   *tls.Config // nil: plain HTTP
	anywhere bool
	names    map[string]bool // in lower case
	cookie   string
	keys     map[Role]string
	tickets  map[Role]string // what the cookies hold: not the keys
}

// Open listens. An address that others reach, where Options do not allow that, is
// an [AddressError]; so is one that is no address, or is not free.
func Open(o Options) (*Door, error) {
	listen := o.Listen
	if listen == "" {
		listen = "127.0.0.1:0"
	}
	host, _, err := net.SplitHostPort(listen)
	if err != nil {
		return nil, &AddressError{strconv.Quote(listen), "HOST:PORT such as 127.0.0.1:8080"}
	}
	if !o.Anywhere {
		if err := onLoopback(host); err != nil {
			return nil, err
		}
	}
	listener, err := net.Listen("tcp", listen)
	if err != nil {
		return nil, &AddressError{fmt.Sprintf("%q, which cannot be listened on (%s)", listen, innermost(err)), "a free port of this machine; port 0 is any"}
	}
	d := &Door{listener: listener, host: host, anywhere: o.Anywhere, names: map[string]bool{"localhost": true}, keys: map[Role]string{}, tickets: map[Role]string{}}
	if o.CertFile != "" || o.KeyFile != "" {
		pair, err := tls.LoadX509KeyPair(o.CertFile, o.KeyFile)
		if err != nil {
			listener.Close()
			return nil, fmt.Errorf("the certificate %s with its key %s: %w", o.CertFile, o.KeyFile, err)
		}
		d.secure = &tls.Config{Certificates: []tls.Certificate{pair}}
	}
	_, d.port, _ = net.SplitHostPort(listener.Addr().String())
	for _, name := range append(o.Hosts, host) {
		if _, err := netip.ParseAddr(name); err != nil && name != "" {
			d.names[strings.ToLower(name)] = true
		}
	}
	// A browser sends a cookie to every port of a host.
	d.cookie = "lapwing-" + o.Name + "-" + d.port
	for _, role := range []Role{Looks, Drives} {
		key := o.Keys[role]
		if key == "" {
			key = NewKey()
		}
		d.keys[role], d.tickets[role] = key, ticketOf(key)
	}
	return d, nil
}

// NewKey makes a key that cannot be guessed.
func NewKey() string { return rand.Text() }

// IsLoopback reports whether a host is this machine's alone.
func IsLoopback(host string) bool { return onLoopback(host) == nil }

// onLoopback returns an error if a host is not this machine's alone.
func onLoopback(host string) error {
	want := "an address of this machine alone, such as 127.0.0.1 or localhost; for others there is `lapwing serve`"
	if host == "" {
		return &AddressError{"no host, which is every address of this machine", want}
	}
	addresses, err := net.LookupHost(host)
	if err != nil {
		return &AddressError{fmt.Sprintf("%q, which is no address here", host), want}
	}
	for _, a := range addresses {
		if at, err := netip.ParseAddr(a); err != nil || !at.IsLoopback() {
			return &AddressError{fmt.Sprintf("%q, which other machines reach", host), want}
		}
	}
	return nil
}

// innermost is what the system says, without the address.
func innermost(err error) error {
	for {
		inner := errors.Unwrap(err)
		if inner == nil {
			return err
		}
		err = inner
	}
}

// Address is the door's, without a key: http://127.0.0.1:4711/. A door on all
// addresses of a machine calls itself by 127.0.0.1.
func (d *Door) Address() string {
	host := d.host
	if at, err := netip.ParseAddr(host); host == "" || err == nil && at.IsUnspecified() {
		host = "127.0.0.1"
	}
	return d.At(host)
}

// At is the door's address for a browser that reaches it by that host.
func (d *Door) At(host string) string {
	scheme := "http"
	if d.secure != nil {
		scheme = "https"
	}
	return scheme + "://" + net.JoinHostPort(host, d.port) + "/"
}

// Key is the key of a role: a new one each time that a door is opened, but for those
// that its [Options] have.
func (d *Door) Key(r Role) string { return d.keys[r] }

// Link is the address with a key in its fragment, where browsers keep it to
// themselves.
func (d *Door) Link(r Role) string { return d.Address() + "#" + d.keys[r] }

// Close stops listening.
func (d *Door) Close() error { return d.listener.Close() }

// ending is how long requests may take once the door is to close.
const ending = 8 * time.Second

// Serve serves until ctx is done. Then it ends in order: what is under way hears
// that through its request's context, and has 8 s to put back what is in hand.
func (d *Door) Serve(ctx context.Context, pages http.Handler) error {
	requests, cancel := context.WithCancelCause(context.WithoutCancel(ctx))
	defer cancel(nil)
	server := http.Server{
		Handler:           untilDone(pages),
		TLSConfig:         d.secure,
		ReadHeaderTimeout: 10 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    1 << 16,
		BaseContext:       func(net.Listener) context.Context { return requests },
	}
	served := make(chan error, 1)
	go func() {
		if d.secure != nil {
			served <- server.ServeTLS(d.listener, "", "") // the certificate is in TLSConfig
			return
		}
		served <- server.Serve(d.listener)
	}()
	select {
	case err := <-served:
		return err
	case <-ctx.Done():
	}
	cancel(context.Cause(ctx))
	late, stop := context.WithTimeout(context.WithoutCancel(ctx), ending)
	defer stop()
	if server.Shutdown(late) != nil {
		return server.Close() // what is not done by now is cut off
	}
	return nil
}

// untilDone has handlers that read the body of a request wait no longer than their context: a
// sender may stop in the middle and keep the connection.
func untilDone(pages http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer context.AfterFunc(r.Context(), func() {
			_ = http.NewResponseController(w).SetReadDeadline(time.Now()) // HTTP/2 ends the stream itself
		})()
		pages.ServeHTTP(w, r)
	})
}

// same compares secrets in a time that tells nothing of where they differ.
func same(a, b string) bool {
	x, y := sha256.Sum256([]byte(a)), sha256.Sum256([]byte(b))
	return subtle.ConstantTimeCompare(x[:], y[:]) == 1
}

// role returns the role of a secret among those of the roles.
func roleOf(secrets map[Role]string, given string) (found Role) {
	for role, secret := range secrets {
		if given != "" && same(secret, given) {
			found = role
		}
	}
	return found
}
