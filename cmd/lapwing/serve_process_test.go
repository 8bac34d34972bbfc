//go:build unix

package main

import (
	"bufio"
	"bytes"
	"crypto/rand"
	"crypto/rsa"
	"crypto/sha256"
	"crypto/tls"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"math/big"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/go-jose/go-jose/v4"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/cmd/lapwing/office"
	"lapwing/coverage/book"
)

// The command itself: over https off loopback, a first person from standard input, and an
// end in order while somebody listens to a desk.
func TestServeCommand(t *testing.T) {
	dir := t.TempDir()
	cert, key := certificate(t)
	at := "file:" + filepath.Join(dir, "book.gpkg")
	add := exec.Command("lapwing", "serve", "--book", at, "--add-person", "Max")
	add.Stdin = strings.NewReader(password + "\n")
	out, err := add.CombinedOutput()
	require.NoError(t, err, string(out))

	c := exec.Command("lapwing", "serve", "--book", at, "--listen", "0.0.0.0:0", "--tls-cert", cert, "--tls-key", key, "--desks", filepath.Join(dir, "desks"))
	said := &lockedBuffer{}
	c.Stderr = said
	stdout, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	t.Cleanup(func() { _ = c.Process.Kill(); _ = c.Wait() }) // it may have ended
	line, err := bufio.NewReader(stdout).ReadString('\n')
	require.NoError(t, err, said)
	address, found := strings.CutPrefix(strings.TrimSpace(line), "serve ")
	require.True(t, found, line)
	require.True(t, strings.HasPrefix(address, "https://127.0.0.1:"), line)

	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	client := &http.Client{Jar: jar, Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: trusting(t, cert), ServerName: "example.com"}}}
	r, err := client.PostForm(address+"sign-in", url.Values{"name": {"max"}, "password": {password}})
	require.NoError(t, err)
	r.Body.Close()
	require.Equal(t, http.StatusOK, r.StatusCode)
	assert.Equal(t, "max-age=31536000", r.Header.Get("Strict-Transport-Security"))
	u, err := url.Parse(address)
	require.NoError(t, err)
	require.Len(t, jar.Cookies(u), 1)
	assert.Equal(t, "__Host-lapwing", jar.Cookies(u)[0].Name)

	r, err = client.PostForm(address+"farms", url.Values{"name": {"Aspen"}})
	require.NoError(t, err)
	var page bytes.Buffer
	_, err = page.ReadFrom(r.Body)
	require.NoError(t, err)
	r.Body.Close()
	_, rest, found := strings.Cut(page.String(), `<a href="/farm/`)
	require.True(t, found, page.String())
	farm, _, _ := strings.Cut(rest, "/")
	listening, err := client.Get(address + "farm/" + farm + "/desk/events")
	require.NoError(t, err)
	defer listening.Body.Close()
	require.Equal(t, http.StatusOK, listening.StatusCode)

	began := time.Now()
	require.NoError(t, c.Process.Signal(syscall.SIGTERM))
	require.NoError(t, c.Wait(), said)
	assert.Less(t, time.Since(began), 10*time.Second)
	assert.Contains(t, said.String(), `route="POST /sign-in"`)
	assert.NotContains(t, said.String(), password)
}

// An issuer is a provider of OpenID Connect, as far as Core 1.0 has the code flow with
// RFC 7636's S256: discovery, keys, and one token for a code.
type issuer struct {
	*httptest.Server
	key      *rsa.PrivateKey
	subject  string
	nonce    string // that the token bears; "" for the one that was sent
	audience string
	sent     url.Values // what the person was sent with
}

func newIssuer(t *testing.T) *issuer {
	t.Helper()
	key, err := rsa.GenerateKey(rand.Reader, 2048)
	require.NoError(t, err)
	i := &issuer{key: key, subject: "7", audience: "lapwing"}
	mux := http.NewServeMux()
	mux.HandleFunc("/.well-known/openid-configuration", func(w http.ResponseWriter, _ *http.Request) {
		_ = json.NewEncoder(w).Encode(map[string]any{"issuer": i.URL, "authorization_endpoint": i.URL + "/authorize", "token_endpoint": i.URL + "/token",
			"jwks_uri": i.URL + "/keys", "id_token_signing_alg_values_supported": []string{"RS256"}})
	})
	mux.HandleFunc("/keys", func(w http.ResponseWriter, _ *http.Request) {
		_ = json.NewEncoder(w).Encode(map[string]any{"keys": []any{map[string]string{"kty": "RSA", "alg": "RS256", "use": "sig", "kid": "1",
			"n": base64.RawURLEncoding.EncodeToString(key.N.Bytes()), "e": base64.RawURLEncoding.EncodeToString(big.NewInt(int64(key.E)).Bytes())}}})
	})
	mux.HandleFunc("/token", func(w http.ResponseWriter, r *http.Request) {
		sum := sha256.Sum256([]byte(r.PostFormValue("code_verifier")))
		if r.PostFormValue("code") != "a code" || base64.RawURLEncoding.EncodeToString(sum[:]) != i.sent.Get("code_challenge") {
			http.Error(w, `{"error": "invalid_grant"}`, http.StatusBadRequest)
			return
		}
		nonce := i.nonce
		if nonce == "" {
			nonce = i.sent.Get("nonce")
		}
		claims, _ := json.Marshal(map[string]any{"iss": i.URL, "sub": i.subject, "aud": i.audience, "nonce": nonce,
			"iat": time.Now().Unix(), "exp": time.Now().Add(time.Minute).Unix()})
		signer, err := jose.NewSigner(jose.SigningKey{Algorithm: jose.RS256, Key: jose.JSONWebKey{Key: key, KeyID: "1"}}, nil)
		if err != nil {
			panic(err)
		}
		signed, err := signer.Sign(claims)
		if err != nil {
			panic(err)
		}
		token, err := signed.CompactSerialize()
		if err != nil {
			panic(err)
		}
		w.Header().Set("Content-Type", "application/json")
		_ = json.NewEncoder(w).Encode(map[string]any{"access_token": "x", "token_type": "Bearer", "id_token": token})
	})
	i.Server = httptest.NewServer(mux)
	t.Cleanup(i.Close)
	return i
}

// Somebody signs in at a provider, and whoever was not sent by us from there is not let in.
func TestServeOpenID(t *testing.T) {
	i := newIssuer(t)
	c := newFileCrowd(t, func(o *office.Options) {
		id, err := office.NewOpenID(t.Context(), "Test", i.URL, "lapwing", "secret", "http://here.example")
		require.NoError(t, err)
		o.OpenID = id
	})
	_, err := c.served.AddPerson(book.As(t.Context(), book.Asks{Person: c.id("max")}), book.NewPerson{SignIn: "dee", Name: "DEE", Subject: i.URL + " 7"})
	require.NoError(t, err)
	begin := func(v *visitor) string {
		t.Helper()
		r := v.do("POST", "/sign-in/other", nil)
		require.Equal(t, http.StatusSeeOther, r.status, r.text)
		to := mustURL(r.header.Get("Location"))
		assert.True(t, strings.HasPrefix(to.String(), i.URL+"/authorize?"))
		i.sent = to.Query()
		assert.Equal(t, "S256", i.sent.Get("code_challenge_method"))
		assert.Equal(t, "http://here.example/sign-in/back", i.sent.Get("redirect_uri"))
		return i.sent.Get("state")
	}
	v := c.visitor()
	state := begin(v)
	r := v.do("GET", "/sign-in/back?code=a+code&state="+state, nil)
	require.Equal(t, http.StatusSeeOther, r.status, r.text)
	assert.Contains(t, v.do("GET", "/", nil).text, "DEE")
	assert.Equal(t, http.StatusForbidden, v.do("GET", "/sign-in/back?code=a+code&state="+state, nil).status, "a second time")
	for name, try := range map[string]func(v *visitor) string{
		"no state":            func(v *visitor) string { begin(v); return "code=a+code" },
		"another's state":     func(v *visitor) string { begin(v); return "code=a+code&state=" + begin(c.visitor()) },
		"another code":        func(v *visitor) string { return "code=other&state=" + begin(v) },
		"refused there":       func(v *visitor) string { return "error=access_denied&state=" + begin(v) },
		"another's token":     func(v *visitor) string { i.nonce = "other"; return "code=a+code&state=" + begin(v) },
		"for another client":  func(v *visitor) string { i.audience = "other"; return "code=a+code&state=" + begin(v) },
		"a subject not known": func(v *visitor) string { i.subject = "8"; return "code=a+code&state=" + begin(v) },
	} {
		i.nonce, i.audience, i.subject = "", "lapwing", "7"
		v := c.visitor()
		r := v.do("GET", "/sign-in/back?"+try(v), nil)
		assert.Equal(t, http.StatusForbidden, r.status, name)
		assert.Equal(t, http.StatusSeeOther, v.do("GET", "/", nil).status, name)
		if name == "a subject not known" {
			assert.Contains(t, r.text, fmt.Sprintf("%s 8", i.URL), "which a person can be added with")
		}
	}
}
