//go:build linux

package main

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"encoding/pem"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Of the two keys the one that is printed drives, and the other only looks.
func TestCabKeys(t *testing.T) {
	t.Parallel()
	dir := cabJob(t)
	d := newTractor(t, 5*time.Millisecond)
	p := startCab(t, dir, "--receiver", "tcp:"+d.listener.Addr().String(), "--bar", "page")
	assert.Regexp(t, `^http://127\.0\.0\.1:\d+/$`, p.address, "loopback by default")
	look := func(key string) string {
		t.Helper()
		status, body := p.ask(t, "GET", "scene.json", key, "")
		require.Equal(t, http.StatusOK, status, body)
		var s struct{ Look string }
		require.NoError(t, json.Unmarshal([]byte(body), &s))
		return s.Look
	}
	link := look(p.key)
	address, key, _ := strings.Cut(link, "#")
	assert.Equal(t, p.address, address)
	require.NotEmpty(t, key)
	require.NotEqual(t, p.key, key)
	assert.Empty(t, look(key), "who looks hands nothing on")
	for _, c := range []struct {
		method, path, key string
		want              int
	}{
		{"GET", "answer.json", key, 200},
		{"POST", "bar", key, 403},
		{"POST", "fill", key, 403},
		{"POST", "bar", p.key, 204},
		{"POST", "fill", p.key, 204},
		{"POST", "bar", "", 401},
		{"GET", "scene.json", "", 401},
		{"GET", "events", "", 401},
		{"GET", "job.yaml", p.key, 404},
		{"GET", "journal/", p.key, 404},
		{"GET", "../../../etc/passwd", p.key, 404},
	} {
		body := ""
		if c.method == "POST" {
			body = `{"down": true}`
		}
		if c.path == "fill" {
			body = `{}`
		}
		status, said := p.ask(t, c.method, c.path, c.key, body)
		assert.Equal(t, c.want, status, "%s %s: %s", c.method, c.path, said)
	}
	p.end(t, syscall.SIGTERM)
	p.stderr.Lock()
	defer p.stderr.Unlock()
	assert.NotContains(t, p.stderr.String(), "read along")
}

// On an address that others reach the way in is a code on the terminal, and terminal and
// page say that anyone on the network can read along, once and only where there is no
// certificate.
func TestCabOnANetwork(t *testing.T) {
	cert, key := certificate(t)
	for _, c := range []struct {
		name   string
		more   []string
		scheme string
		warns  bool
	}{
		{"plain", nil, "http", true},
		{"with a certificate", []string{"--tls-cert", cert, "--tls-key", key}, "https", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := cabJob(t)
			d := newTractor(t, 5*time.Millisecond)
			terminal, side, err := pty.Open()
			require.NoError(t, err)
			defer terminal.Close()
			p := exec.Command("lapwing", append([]string{"cab", "job.yaml", "--receiver", "tcp:" + d.listener.Addr().String(), "--listen", "0.0.0.0:0"}, c.more...)...)
			warned := &lockedText{}
			p.Dir, p.Stdout, p.Stderr = dir, side, warned
			require.NoError(t, p.Start())
			defer func() { _ = p.Process.Kill() }() // it has ended, but where the test failed
			side.Close()
			said := &lockedText{}
			go func() { _, _ = io.Copy(said, terminal) }() // until the terminal is closed
			text := func() string {
				said.Lock()
				defer said.Unlock()
				return said.String()
			}
			const row = "\x1b[30;107m" // begins each row of the code: dark on light, whatever the terminal's colours
			require.Eventually(t, func() bool { return strings.Count(text(), row) > 15 }, 10*time.Second, 10*time.Millisecond, "a code follows")
			line, _, _ := strings.Cut(text(), "\n")
			require.Regexp(t, `^cab `+c.scheme+`://\S+:\d+/#[A-Z2-7]+\r$`, line)
			of := &cabProcess{Cmd: p, stderr: warned}
			of.address, of.key, _ = strings.Cut(strings.TrimSpace(strings.TrimPrefix(line, "cab ")), "#")
			_, port, _ := strings.Cut(strings.TrimPrefix(of.address, c.scheme+"://"), ":")
			of.address = c.scheme + "://127.0.0.1:" + port
			if c.scheme == "https" {
				was := http.DefaultTransport
				http.DefaultTransport = &http.Transport{TLSClientConfig: &tls.Config{RootCAs: trusting(t, cert), ServerName: "example.com"}}
				defer func() { http.DefaultTransport = was }()
			}
			status, scene := of.ask(t, "GET", "scene.json", of.key, "")
			require.Equal(t, http.StatusOK, status, scene)
			const says = "nyone on this network can read along"
			assert.Equal(t, c.warns, strings.Contains(scene, says))
			of.end(t, syscall.SIGTERM)
			warned.Lock()
			defer warned.Unlock()
			assert.Equal(t, map[bool]int{true: 1, false: 0}[c.warns], strings.Count(warned.String(), says), warned.String())
		})
	}
}

// certificate writes a certificate for example.com and its key.
func certificate(t *testing.T) (cert, key string) {
	t.Helper()
	maker := httptest.NewUnstartedServer(nil)
	maker.StartTLS()
	defer maker.Close()
	pair := maker.TLS.Certificates[0]
	secret, err := x509.MarshalPKCS8PrivateKey(pair.PrivateKey)
	require.NoError(t, err)
	dir := t.TempDir()
	cert, key = filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	require.NoError(t, os.WriteFile(cert, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: pair.Certificate[0]}), 0o600))
	require.NoError(t, os.WriteFile(key, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret}), 0o600))
	return cert, key
}

// trusting trusts a certificate alone.
func trusting(t *testing.T, cert string) *x509.CertPool {
	t.Helper()
	data, err := os.ReadFile(cert)
	require.NoError(t, err)
	pool := x509.NewCertPool()
	require.True(t, pool.AppendCertsFromPEM(data))
	return pool
}
