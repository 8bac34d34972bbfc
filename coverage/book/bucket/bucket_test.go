package bucket_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/johannesboyne/gofakes3"
	"github.com/johannesboyne/gofakes3/backend/s3mem"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book"
	"lapwing/coverage/book/booktest"
	"lapwing/coverage/book/bucket"
	"lapwing/coverage/book/gpkg"
	"lapwing/coverage/book/tables"
)

const secret = "wren/nest+42"

// A store is an object store that speaks the protocol, with a bucket "farm". It cuts the
// next so many connections that bring an object, or fetch one, in the middle.
type store struct {
	*httptest.Server
	cutPuts, cutGets atomic.Int32
}

func serve(t *testing.T) *store {
	t.Helper()
	for name, value := range map[string]string{
		"AWS_ACCESS_KEY_ID": "wren", "AWS_SECRET_ACCESS_KEY": secret, "AWS_EC2_METADATA_DISABLED": "true",
		"AWS_CONFIG_FILE": "/dev/null", "AWS_SHARED_CREDENTIALS_FILE": "/dev/null",
	} {
		t.Setenv(name, value)
	}
	kept := s3mem.New()
	require.NoError(t, kept.CreateBucket("farm"))
	s := &store{}
	answers := gofakes3.New(kept).Server()
	s.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch {
		case r.Method == http.MethodPut && s.cutPuts.Add(-1) >= 0:
			_, _ = io.CopyN(io.Discard, r.Body, r.ContentLength/2)
			panic(http.ErrAbortHandler)
		case r.Method == http.MethodGet && s.cutGets.Add(-1) >= 0:
			whole := httptest.NewRecorder()
			answers.ServeHTTP(whole, r)
			for name, values := range whole.Header() {
				w.Header()[name] = values
			}
			w.WriteHeader(whole.Code)
			_, _ = w.Write(whole.Body.Bytes()[:whole.Body.Len()/2])
			panic(http.ErrAbortHandler)
		}
		answers.ServeHTTP(w, r)
	}))
	t.Cleanup(s.Close)
	return s
}

func (s *store) address(more string) string {
	return "s3://farm?region=any&endpoint=" + url.QueryEscape(s.URL) + more
}

func (s *store) shelf(t *testing.T) tables.Shelf {
	t.Helper()
	shelf, err := bucket.Shelf(t.Context(), s.address("&prefix=wren/"))
	require.NoError(t, err)
	return shelf
}

// A book whose files are in a bucket does all that books do.
func TestBookInABucket(t *testing.T) {
	s := serve(t)
	n := 0
	booktest.Run(t, func(t *testing.T) func(*testing.T) book.Store {
		n++
		path, prefix := filepath.Join(t.TempDir(), "book.gpkg"), "&prefix="+strings.Repeat("a", n)+"/"
		return func(t *testing.T) book.Store {
			b, err := gpkg.OpenWith(t.Context(), path, s.address(prefix))
			require.NoError(t, err)
			return b
		}
	})
}

// Connections are cut in the middle: what was being put is there whole or not at all, and
// what comes back is whole or an error.
func TestCutConnections(t *testing.T) {
	s := serve(t)
	shelf := s.shelf(t)
	data := make([]byte, 12<<20) // more than is sent in one piece
	rng := rand.New(rand.NewPCG(19, 5))
	for i := range data {
		data[i] = byte(rng.Uint32())
	}
	sum := sha256.Sum256(data)
	name := hex.EncodeToString(sum[:])
	there := func() bool {
		t.Helper()
		has, err := shelf.Has(t.Context(), name)
		require.NoError(t, err)
		return has
	}
	s.cutPuts.Store(1000)
	err := shelf.Add(t.Context(), name, bytes.NewReader(data))
	require.Error(t, err)
	assert.NotContains(t, err.Error(), secret)
	s.cutPuts.Store(0)
	assert.False(t, there())
	require.Error(t, shelf.Add(t.Context(), name, io.MultiReader(bytes.NewReader(data[:9<<20]), failing{})), "its file broke off")
	assert.False(t, there())
	_, err = shelf.Open(t.Context(), name)
	require.ErrorIs(t, err, book.ErrNotFound)

	s.cutPuts.Store(2) // a net that fails now and then
	require.NoError(t, shelf.Add(t.Context(), name, bytes.NewReader(data)))
	assert.True(t, there())
	read := func() ([]byte, error) {
		f, err := shelf.Open(t.Context(), name)
		if err != nil {
			return nil, err
		}
		defer f.Close()
		return io.ReadAll(f)
	}
	s.cutGets.Store(1000)
	_, err = read()
	require.Error(t, err)
	assert.NotErrorIs(t, err, book.ErrNotFound)
	s.cutGets.Store(0)
	got, err := read()
	require.NoError(t, err)
	assert.True(t, bytes.Equal(data, got))
}

type failing struct{}

func (failing) Read([]byte) (int, error) { return 0, errors.New("torn") }

// What is wrong with an address is said, and no key.
func TestWrongAddresses(t *testing.T) {
	s := serve(t)
	for address, want := range map[string]string{
		"s3://wren:" + url.QueryEscape(secret) + "@farm?region=any": "want it in AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY, or in ~/.aws",
		"ftp://farm":                        "found an address of another kind (ftp), want a folder or an s3://bucket?region=eu-north-1",
		"s3://farm?region=any&wren=1":       "wren",
		"s3://wren:" + secret + "@farm:x%/": "an address that cannot be read",
	} {
		_, err := bucket.Shelf(t.Context(), address)
		require.ErrorContains(t, err, want)
		assert.NotContains(t, err.Error(), secret)
		assert.NotContains(t, err.Error(), url.QueryEscape(secret))
	}
	none, err := bucket.Shelf(t.Context(), strings.Replace(s.address(""), "//farm", "//none", 1))
	require.NoError(t, err)
	require.ErrorContains(t, none.Add(t.Context(), "3f9c", strings.NewReader("a")), "NoSuchBucket")
}

func TestCut(t *testing.T) {
	for address, want := range map[string][2]string{
		"book.gpkg":                                 {"book.gpkg", ""},
		"book.gpkg?files=/srv/f":                    {"book.gpkg", "/srv/f"},
		"postgres://h/d?files=%2Fsrv%2F":            {"postgres://h/d", "/srv/"},
		"postgres://h/d?files=/srv&sslmode=disable": {"postgres://h/d?sslmode=disable", "/srv"},
		"postgres://h/d?sslmode=disable&files=s3://b?region=x&endpoint=y": {"postgres://h/d?sslmode=disable", "s3://b?region=x&endpoint=y"},
		"postgres://h/d?files=s3%3A%2F%2Fb%3Fregion%3Dx":                  {"postgres://h/d", "s3://b?region=x"},
	} {
		b, files := bucket.Cut(address)
		assert.Equal(t, want, [2]string{b, files}, address)
	}
}
