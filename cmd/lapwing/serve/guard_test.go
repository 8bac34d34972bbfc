package serve

import (
	"bufio"
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// opened is a door that is closed when the test ends.
func opened(t *testing.T, o Options) *Door {
	t.Helper()
	if o.Name == "" {
		o.Name = "test"
	}
	d, err := Open(o)
	require.NoError(t, err)
	t.Cleanup(func() { _ = d.Close() }) // or it is closed already
	return d
}

// guarded are pages that say which role asked, behind a door.
func guarded(d *Door) http.Handler {
	assets := map[string]Asset{"/": {Type: "text/html; charset=utf-8", Body: []byte("<title>open</title>"), Policy: Policy("let a = 1")}}
	return d.Guard(assets, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		fmt.Fprintf(w, "role %d", RoleOf(r))
	}))
}

// A browser of today tells where a request comes from; curl does not.
func from(site, mode, dest string) http.Header {
	return http.Header{"Sec-Fetch-Site": {site}, "Sec-Fetch-Mode": {mode}, "Sec-Fetch-Dest": {dest}}
}

// A door that is opened again with its keys lets in the pages of the one before; one
// without them does not.
func TestKeysOfBefore(t *testing.T) {
	d := opened(t, Options{})
	require.NoError(t, d.Close())
	listen := "127.0.0.1:" + d.port
	for _, keys := range []map[Role]string{{Looks: d.Key(Looks), Drives: d.Key(Drives)}, {Looks: NewKey(), Drives: NewKey()}, nil} {
		next := opened(t, Options{Listen: listen, Keys: keys})
		want := map[Role]int{Looks: 401, Drives: 401}
		if keys != nil && keys[Drives] == d.Key(Drives) {
			want = map[Role]int{Looks: 200, Drives: 200}
		}
		for role, status := range want {
			r := httptest.NewRequest("GET", "http://"+listen+"/answer", nil)
			r.AddCookie(&http.Cookie{Name: d.cookie, Value: d.tickets[role]})
			w := httptest.NewRecorder()
			guarded(next).ServeHTTP(w, r)
			assert.Equal(t, status, w.Code)
			assert.NotContains(t, d.tickets[role], d.Key(role))
			assert.True(t, IsKey(next.Key(role)))
		}
		require.NoError(t, next.Close())
	}
	assert.False(t, IsKey(""))
	assert.False(t, IsKey("0000000000000000000000000A"))
}

func TestGuard(t *testing.T) {
	d := opened(t, Options{})
	other := opened(t, Options{})
	h := guarded(d)
	home := "127.0.0.1:" + d.port
	drives := http.Header{"Authorization": {"Bearer " + d.Key(Drives)}}
	looks := http.Header{"Authorization": {"bearer " + d.Key(Looks)}}
	cookie := func(role Role) http.Header {
		return http.Header{"Cookie": {d.cookie + "=" + d.tickets[role]}}
	}
	for _, c := range []struct {
		name   string
		host   string // home where none is said
		method string // GET where none is said
		path   string // /answer where none is said
		body   string
		with   []http.Header
		status int
		says   string
	}{
		{name: "no key", status: 401, says: "found no key"},
		{name: "no key, HEAD", method: "HEAD", status: 401},
		{name: "no key, POST", method: "POST", status: 401, says: "found no key"},
		{name: "no key, any method", method: "PROPFIND", status: 401},
		{name: "the page itself", path: "/", status: 200, says: "<title>open"},
		{name: "the page is not written to", method: "POST", path: "/", status: 401},
		{name: "the script of the door", path: "/enter.js", status: 200, says: "replaceState"},
		{name: "a path that only looks like the page", path: "//", status: 401},
		{name: "a path that leads back", path: "/x/../", status: 401},

		{name: "the key that drives", with: []http.Header{drives}, status: 200, says: "role 2"},
		{name: "the key that drives, POST", method: "POST", with: []http.Header{drives}, status: 200, says: "role 2"},
		{name: "the key that looks", with: []http.Header{looks}, status: 200, says: "role 1"},
		{name: "the key that looks, HEAD", method: "HEAD", with: []http.Header{looks}, status: 200},
		{name: "the key that looks, POST", method: "POST", with: []http.Header{looks}, status: 403, says: "only looks"},
		{name: "the key that looks, DELETE", method: "DELETE", with: []http.Header{looks}, status: 403, says: "only looks"},
		{name: "a key of another run", with: []http.Header{{"Authorization": {"Bearer " + other.Key(Drives)}}}, status: 401},
		{name: "a key by another scheme", with: []http.Header{{"Authorization": {"Basic " + d.Key(Drives)}}}, status: 401},
		{name: "an empty key", with: []http.Header{{"Authorization": {"Bearer "}}}, status: 401},
		{name: "the key in the address", path: "/answer?key=" + d.Key(Drives), status: 401},
		{name: "a wrong key beside a good cookie", with: []http.Header{cookie(Drives), {"Authorization": {"Bearer none"}}}, status: 401},

		{name: "the cookie", with: []http.Header{cookie(Drives)}, status: 200, says: "role 2"},
		{name: "the cookie that looks", with: []http.Header{cookie(Looks)}, status: 200, says: "role 1"},
		{name: "the cookie that looks, POST", method: "POST", with: []http.Header{cookie(Looks)}, status: 403},
		{name: "the key as a cookie", with: []http.Header{{"Cookie": {d.cookie + "=" + d.Key(Drives)}}}, status: 401},
		{name: "a cookie as the key", with: []http.Header{{"Authorization": {"Bearer " + d.tickets[Drives]}}}, status: 401},
		{name: "the cookie of another port", with: []http.Header{{"Cookie": {other.cookie + "=" + other.tickets[Drives]}}}, status: 401},
		{name: "an empty cookie", with: []http.Header{{"Cookie": {d.cookie + "="}}}, status: 401},

		{name: "by localhost", host: "localhost:" + d.port, with: []http.Header{drives}, status: 200},
		{name: "by localhost, in capitals", host: "LOCALHOST:" + d.port, with: []http.Header{drives}, status: 200},
		{name: "by the other loopback", host: "[::1]:" + d.port, with: []http.Header{drives}, status: 200},
		{name: "a rebound name", host: "evil.example:" + d.port, with: []http.Header{cookie(Drives)}, status: 403, says: "a host that this is not"},
		{name: "a rebound name asks for the page", host: "evil.example:" + d.port, path: "/", status: 403},
		{name: "a rebound name tries the key", host: "evil.example:" + d.port, method: "POST", path: "/enter", body: d.Key(Drives), status: 403},
		{name: "a name that begins with ours", host: "localhost.evil.example:" + d.port, with: []http.Header{drives}, status: 403},
		{name: "a name that ends with a dot", host: "localhost.:" + d.port, with: []http.Header{drives}, status: 403},
		{name: "the port of another", host: "127.0.0.1:1", with: []http.Header{drives}, status: 403},
		{name: "no port", host: "127.0.0.1", with: []http.Header{drives}, status: 403},
		{name: "an address of the net", host: "192.0.2.1:" + d.port, with: []http.Header{drives}, status: 403},
		{name: "no host", host: "-", with: []http.Header{drives}, status: 403},

		{name: "our page asks", with: []http.Header{cookie(Drives), from("same-origin", "cors", "empty")}, status: 200},
		{name: "our page writes", method: "POST", with: []http.Header{cookie(Drives), from("same-origin", "cors", "empty")}, status: 200},
		{name: "typed into the browser", with: []http.Header{cookie(Drives), from("none", "navigate", "document")}, status: 200},
		{name: "a file leads to the page", path: "/", with: []http.Header{from("cross-site", "navigate", "document")}, status: 200},
		{name: "another site posts", method: "POST", with: []http.Header{cookie(Drives), from("cross-site", "no-cors", "empty")}, status: 403},
		{name: "another site posts a form", method: "POST", with: []http.Header{cookie(Drives), from("cross-site", "navigate", "document")}, status: 403},
		{name: "another site deletes", method: "DELETE", with: []http.Header{cookie(Drives), from("cross-site", "cors", "empty")}, status: 403},
		{name: "another port posts", method: "POST", with: []http.Header{cookie(Drives), from("same-site", "cors", "empty")}, status: 403},
		{name: "an older browser posts for another site", method: "POST", with: []http.Header{cookie(Drives), {"Origin": {"http://evil.example"}}}, status: 403},
		{name: "an older browser posts for a file", method: "POST", with: []http.Header{cookie(Drives), {"Origin": {"null"}}}, status: 403},
		{name: "an older browser posts for us", method: "POST", with: []http.Header{cookie(Drives), {"Origin": {"http://" + home}}}, status: 200},
		{name: "another site tries a key", method: "POST", path: "/enter", body: d.Key(Drives), with: []http.Header{from("cross-site", "no-cors", "empty")}, status: 403},
		{name: "another site has it as a script", with: []http.Header{cookie(Drives), from("cross-site", "no-cors", "script")}, status: 403, says: "another site"},
		{name: "another port has it as a script", with: []http.Header{cookie(Drives), from("same-site", "no-cors", "script")}, status: 403},
		{name: "another port has it as a picture", with: []http.Header{cookie(Drives), from("same-site", "no-cors", "image")}, status: 403},
		{name: "another port has it in a frame", with: []http.Header{cookie(Drives), from("same-site", "navigate", "iframe")}, status: 403},
		{name: "another site has the page in a frame", path: "/", with: []http.Header{from("cross-site", "navigate", "iframe")}, status: 403},

		{name: "a key for a cookie", method: "POST", path: "/enter", body: d.Key(Drives), status: 204},
		{name: "a wrong key for a cookie", method: "POST", path: "/enter", body: other.Key(Drives), status: 403, says: "not of this run"},
		{name: "no key for a cookie", method: "POST", path: "/enter", status: 403},
		{name: "a key without end", method: "POST", path: "/enter", body: strings.Repeat("A", mostKey+1), status: 403},
		{name: "a cookie by GET", path: "/enter", status: 405},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := httptest.NewRequest(or(c.method, "GET"), "http://"+home+or(c.path, "/answer"), strings.NewReader(c.body))
			r.Host = or(c.host, home)
			if r.Host == "-" {
				r.Host = ""
			}
			for _, h := range c.with {
				for name, values := range h {
					r.Header[name] = values
				}
			}
			w := httptest.NewRecorder()
			h.ServeHTTP(w, r)
			got := w.Result()
			assert.Equal(t, c.status, got.StatusCode, w.Body.String())
			assert.Contains(t, w.Body.String(), c.says)
			if c.status != 204 {
				assert.Empty(t, got.Header["Set-Cookie"])
			}
			for _, secret := range []string{d.Key(Drives), d.Key(Looks), d.tickets[Drives], d.tickets[Looks]} {
				assert.NotContains(t, w.Body.String(), secret)
			}
		})
	}
}

func or(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

// Every answer, also one that refuses, has a policy that lets in nothing from
// anywhere else.
func TestPolicy(t *testing.T) {
	d := opened(t, Options{})
	for _, path := range []string{"/", "/enter.js", "/enter", "/answer", "/none"} {
		r := httptest.NewRequest("GET", d.Address()+strings.TrimPrefix(path, "/"), nil)
		w := httptest.NewRecorder()
		guarded(d).ServeHTTP(w, r)
		h := w.Result().Header
		assert.Contains(t, h.Get("Content-Security-Policy"), "default-src 'none'; script-src 'self'", path)
		assert.NotContains(t, h.Get("Content-Security-Policy"), "unsafe", path)
		assert.Contains(t, h.Get("Content-Security-Policy"), "frame-ancestors 'self'", path)
		assert.Equal(t, "nosniff", h.Get("X-Content-Type-Options"), path)
		assert.Equal(t, "no-referrer", h.Get("Referrer-Policy"), path)
		assert.Equal(t, "same-origin", h.Get("Cross-Origin-Resource-Policy"), path)
		assert.Equal(t, "no-store", h.Get("Cache-Control"), path)
		assert.Empty(t, h.Get("Access-Control-Allow-Origin"), path)
	}
	// The sum of "alert('Hello, world.');" as an example in W3C's Content Security
	// Policy has it (its section on hashes; from memory).
	assert.Equal(t, "'sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng='", Hash("alert('Hello, world.');"))
}

// The way of a browser: the page, the key for the cookie, the answer.
func TestEnter(t *testing.T) {
	d := opened(t, Options{Name: "desk"})
	ctx, stop := context.WithCancel(t.Context())
	served := make(chan error, 1)
	go func() { served <- d.Serve(ctx, guarded(d)) }()
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	browser := http.Client{Jar: jar}
	status := func(r *http.Response, err error) int {
		require.NoError(t, err)
		require.NoError(t, r.Body.Close())
		return r.StatusCode
	}
	address, fragment, found := strings.Cut(d.Link(Drives), "#")
	require.True(t, found)
	assert.Equal(t, d.Key(Drives), fragment)
	assert.Equal(t, 200, status(browser.Get(address)))
	assert.Equal(t, 401, status(browser.Get(address+"answer")))
	r, err := browser.Post(address+"enter", "text/plain", strings.NewReader(fragment))
	assert.Equal(t, 204, status(r, err))
	got := r.Header.Get("Set-Cookie")
	assert.Equal(t, "lapwing-desk-"+d.port+"="+d.tickets[Drives]+"; Path=/; HttpOnly; SameSite=Strict", got)
	assert.Equal(t, 200, status(browser.Get(address+"answer")))
	at, err := url.Parse(address)
	require.NoError(t, err)
	assert.Len(t, jar.Cookies(at), 1)
	stop()
	assert.NoError(t, <-served)
}

// Keys are of one run and of one role.
func TestKeysDiffer(t *testing.T) {
	a, b := opened(t, Options{}), opened(t, Options{})
	seen := map[string]bool{}
	for _, d := range []*Door{a, b} {
		for _, role := range []Role{Looks, Drives} {
			seen[d.keys[role]], seen[d.tickets[role]] = true, true
		}
	}
	assert.Len(t, seen, 8)
	for secret := range seen {
		assert.GreaterOrEqual(t, len(secret)*5, 128, "bits, in base 32")
	}
}

func TestAddresses(t *testing.T) {
	taken := opened(t, Options{})
	for _, c := range []struct {
		listen   string
		anywhere bool
		want     string // the error's beginning
	}{
		{listen: "127.0.0.1:0"}, {listen: "localhost:0"}, {listen: "127.9.9.9:0"}, {listen: ""},
		{listen: "0.0.0.0:0", want: `found "0.0.0.0", which other machines reach, want an address of this machine alone`},
		{listen: "[::]:0", want: `found "::", which other machines reach`},
		{listen: ":0", want: "found no host, which is every address of this machine"},
		{listen: "192.0.2.1:0", want: `found "192.0.2.1", which other machines reach`},
		{listen: "no.such.name.invalid:0", want: `found "no.such.name.invalid", which is no address here`},
		{listen: "8080", want: `found "8080", want HOST:PORT`},
		{listen: "127.0.0.1:99999", want: `found "127.0.0.1:99999", which cannot be listened on`},
		{listen: "127.0.0.1:" + taken.port, want: `found "127.0.0.1:` + taken.port + `", which cannot be listened on (address already in use)`},
		{listen: "0.0.0.0:0", anywhere: true},
	} {
		d, err := Open(Options{Name: "test", Listen: c.listen, Anywhere: c.anywhere})
		if c.want == "" {
			if assert.NoError(t, err, c.listen) {
				require.NoError(t, d.Close())
			}
			continue
		}
		var address *AddressError
		if assert.ErrorAs(t, err, &address, c.listen) {
			assert.Contains(t, err.Error(), c.want)
		}
	}
	_, err := Open(Options{Listen: "10.0.0.1:0"})
	assert.ErrorContains(t, err, "`lapwing serve`")
}

// A door for others is called by any address of the machine and by the names that
// it was given, and by no other.
func TestDoorForOthers(t *testing.T) {
	d := opened(t, Options{Listen: "0.0.0.0:0", Anywhere: true, Hosts: []string{"Cab.example"}})
	assert.Equal(t, "http://127.0.0.1:"+d.port+"/", d.Address())
	assert.Equal(t, "http://[2001:db8::1]:"+d.port+"/", d.At("2001:db8::1"))
	for host, ours := range map[string]bool{
		"192.0.2.7": true, "[2001:db8::1]": true, "cab.example": true, "localhost": true,
		"evil.example": false, "[fe80::1%25eth0]": false, "": false,
	} {
		assert.Equal(t, ours, d.isOurs(host+":"+d.port), host)
	}
}

// With a certificate the cookie is for TLS only, and plain HTTP gets nowhere.
func TestSecureDoor(t *testing.T) {
	maker := httptest.NewUnstartedServer(nil)
	maker.StartTLS()
	defer maker.Close()
	cert, key := writePair(t, maker.TLS.Certificates[0])
	d := opened(t, Options{Listen: "127.0.0.1:0", CertFile: cert, KeyFile: key})
	go func() { _ = d.Serve(t.Context(), guarded(d)) }() // ends with the test
	assert.True(t, strings.HasPrefix(d.Link(Drives), "https://127.0.0.1:"))
	client := maker.Client()
	r, err := client.Post(d.Address()+"enter", "text/plain", strings.NewReader(d.Key(Looks)))
	require.NoError(t, err)
	require.NoError(t, r.Body.Close())
	assert.Contains(t, r.Header.Get("Set-Cookie"), "; Secure")
	plain, err := http.Get("http" + strings.TrimPrefix(d.Address(), "https"))
	require.NoError(t, err)
	require.NoError(t, plain.Body.Close())
	assert.Equal(t, 400, plain.StatusCode)
	_, err = Open(Options{CertFile: cert, KeyFile: cert})
	assert.ErrorContains(t, err, "the certificate "+cert)
}

func writePair(t *testing.T, pair tls.Certificate) (cert, key string) {
	t.Helper()
	secret, err := x509.MarshalPKCS8PrivateKey(pair.PrivateKey)
	require.NoError(t, err)
	dir := t.TempDir()
	cert, key = filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	require.NoError(t, os.WriteFile(cert, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: pair.Certificate[0]}), 0o600))
	require.NoError(t, os.WriteFile(key, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret}), 0o600))
	return cert, key
}

// A door that closes tells those who wait, and gives them time to put back what
// they have in hand.
func TestServeEndsInOrder(t *testing.T) {
	d := opened(t, Options{})
	ctx, stop := context.WithCancel(t.Context())
	waiting := make(chan struct{})
	pages := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		close(waiting)
		<-r.Context().Done()
		time.Sleep(50 * time.Millisecond)
		_, _ = io.WriteString(w, "put back")
	})
	served := make(chan error, 1)
	go func() { served <- d.Serve(ctx, pages) }()
	said := make(chan string, 1)
	go func() {
		r, err := http.Get(d.Address())
		if err != nil {
			said <- err.Error()
			return
		}
		defer r.Body.Close()
		text, _ := io.ReadAll(r.Body)
		said <- string(text)
	}()
	<-waiting
	began := time.Now()
	stop()
	require.NoError(t, <-served)
	assert.Less(t, time.Since(began), ending)
	assert.Equal(t, "put back", <-said)
	_, err := net.Dial("tcp", "127.0.0.1:"+d.port)
	assert.Error(t, err)
}

// Somebody who sends half of something and waits holds up nobody.
func TestServeEndsWhileSomebodySends(t *testing.T) {
	d := opened(t, Options{})
	ctx, stop := context.WithCancel(t.Context())
	began, read := make(chan struct{}), make(chan error, 1)
	pages := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		close(began)
		_, err := io.ReadAll(r.Body)
		read <- err
	})
	served := make(chan error, 1)
	go func() { served <- d.Serve(ctx, pages) }()
	in, out := io.Pipe()
	defer out.Close()
	go func() {
		if r, err := http.Post(d.Address(), "text/plain", in); err == nil { // or it is cut off
			_ = r.Body.Close()
		}
	}()
	_, err := out.Write([]byte("half"))
	require.NoError(t, err)
	<-began
	at := time.Now()
	stop()
	assert.NoError(t, <-served)
	assert.Error(t, <-read)
	assert.Less(t, time.Since(at), ending/2)
}

// A request whose head is too long, or not HTTP at all, costs nothing.
func TestHeadsAreBounded(t *testing.T) {
	d := opened(t, Options{})
	go func() { _ = d.Serve(t.Context(), guarded(d)) }() // ends with the test
	for _, head := range []string{"GET / HTTP/1.1\r\nHost: 127.0.0.1:" + d.port + "\r\nX: " + strings.Repeat("x", 1<<20) + "\r\n\r\n", "\x16\x03\x01 hello\r\n\r\n"} {
		c, err := net.Dial("tcp", "127.0.0.1:"+d.port)
		require.NoError(t, err)
		go func() { _, _ = io.WriteString(c, head) }() // it is cut off in the middle
		line, _ := bufio.NewReader(c).ReadString('\n')
		assert.Contains(t, line, " 4")
		require.NoError(t, c.Close())
	}
}
