package features_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/cmd/lapwing/office/features"
	"lapwing/coverage/book"
	"lapwing/coverage/book/booktest"
	"lapwing/coverage/book/gpkg"
)

// A house is a server of the book of a crowd. Who asks tells their name as a token.
type house struct {
	*httptest.Server
	crowd *booktest.Crowd
	book  book.Featured
	root  string
}

// newHouse has its book in a file.
func newHouse(t *testing.T) *house {
	t.Helper()
	path := filepath.Join(t.TempDir(), "book.gpkg")
	owner, err := gpkg.Open(t.Context(), path)
	require.NoError(t, err)
	t.Cleanup(func() { owner.Close() })
	return houseOf(t, booktest.NewCrowd(t, owner, func() book.Served {
		b, err := gpkg.Serve(t.Context(), path, "")
		require.NoError(t, err)
		return b
	}))
}

func houseOf(t *testing.T, crowd *booktest.Crowd) *house {
	t.Helper()
	t.Cleanup(func() { crowd.Book.Close() })
	h := &house{crowd: crowd, book: crowd.Book.(book.Featured)}
	handler, err := features.New(h.book, "/features", func(err error) { t.Errorf("a fault: %v", err) })
	require.NoError(t, err)
	people := map[string]int64{"Bearer max": crowd.Max, "Bearer ada": crowd.Ada, "Bearer bo": crowd.Bo, "Bearer cy": crowd.Cy}
	mux := http.NewServeMux()
	mux.Handle("/features/", http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		handler.ServeHTTP(w, r.WithContext(book.As(r.Context(), book.Asks{Person: people[r.Header.Get("Authorization")]})))
	}))
	h.Server = httptest.NewServer(mux)
	t.Cleanup(h.Close)
	h.root = h.URL + "/features"
	return h
}

// get asks as somebody, by an address or the rest of one below the base.
func (h *house) get(t testing.TB, who, at string) (*http.Response, []byte) {
	t.Helper()
	return h.ask(t, http.MethodGet, who, at)
}

func (h *house) ask(t testing.TB, method, who, at string) (*http.Response, []byte) {
	t.Helper()
	if !strings.HasPrefix(at, "http") {
		at = h.root + at
	}
	req, err := http.NewRequestWithContext(t.Context(), method, at, nil)
	require.NoError(t, err)
	req.Header.Set("Authorization", "Bearer "+who)
	res, err := h.Client().Do(req)
	require.NoError(t, err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	return res, body
}

// page is a page of features, and what else is in JSON.
type page struct {
	Type                          string
	TimeStamp                     string
	NumberMatched, NumberReturned int
	Links                         []struct{ Href, Rel, Type string }
	Features                      []feature
	ConformsTo                    []string
	Collections                   []struct{ ID string }
	Title, Description, Code      string
	Extent                        *struct{ Spatial struct{ Bbox [][]float64 } }
}

type feature struct {
	Type       string
	ID         int64
	Geometry   struct{ Coordinates json.RawMessage }
	Properties map[string]any
	Links      []struct{ Href, Rel, Type string }
}

func (h *house) page(t testing.TB, who, at string) (p page) {
	t.Helper()
	res, body := h.get(t, who, at)
	require.Equal(t, http.StatusOK, res.StatusCode, "%s: %s", at, body)
	require.NoError(t, json.Unmarshal(body, &p), "%s: %s", at, body)
	return p
}

// link is where a page leads by a relation; "" for nowhere.
func (p page) link(rel string) string {
	for _, l := range p.Links {
		if l.Rel == rel {
			return l.Href
		}
	}
	return ""
}

// featuresOf are what somebody may see of a layer, by the book itself.
func (h *house) featuresOf(t testing.TB, person int64, of book.Selection) (list []book.Feature) {
	t.Helper()
	ctx := book.As(t.Context(), book.Asks{Person: person})
	require.NoError(t, h.book.Features(ctx, of, func(f book.Feature) error {
		list = append(list, f)
		return nil
	}))
	return list
}

// Whoever follows the links from the landing page comes to all that OGC 17-069r4 has there
// (7.2 to 7.16), as absolute addresses.
func TestLinksLead(t *testing.T) {
	h := newHouse(t)
	start := h.page(t, "ada", "/")
	assert.Equal(t, h.root+"/", start.link("self"))
	for rel, kind := range map[string]string{"service-desc": "application/vnd.oai.openapi+json;version=3.0", "conformance": "application/json", "data": "application/json"} {
		res, _ := h.get(t, "ada", start.link(rel))
		assert.Equal(t, http.StatusOK, res.StatusCode, rel)
		assert.Equal(t, kind, res.Header.Get("Content-Type"), rel)
	}
	// Annex A has the addresses of the classes.
	assert.ElementsMatch(t, []string{"http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/core", "http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/geojson",
		"http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/oas30"}, h.page(t, "ada", start.link("conformance")).ConformsTo)
	all := h.page(t, "ada", start.link("data"))
	var ids []string
	for _, c := range all.Collections {
		ids = append(ids, c.ID)
		one := h.page(t, "ada", "/collections/"+c.ID)
		require.NotNil(t, one.Extent)
		require.Len(t, one.Extent.Spatial.Bbox, 1)
		items := h.page(t, "ada", one.link("items"))
		assert.Equal(t, one.link("items"), items.link("self"))
		assert.Equal(t, one.link("self"), items.link("collection"))
		res, _ := h.get(t, "ada", one.link("enclosure"))
		assert.Equal(t, http.StatusOK, res.StatusCode)
	}
	assert.Equal(t, []string{"fields", "ground", "passes", "skips", "overlaps"}, ids)

	whole, err := features.New(h.book, "https://farm.example/features/", func(err error) { t.Errorf("a fault: %v", err) })
	require.NoError(t, err)
	w := httptest.NewRecorder()
	whole.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "http://127.0.0.1:8080/features/collections?f=json", nil))
	var p page
	require.NoError(t, json.Unmarshal(w.Body.Bytes(), &p))
	assert.Equal(t, "https://farm.example/features/collections?f=json", p.link("self"), "as others call it")
	for _, wrong := range []string{"//farm.example", "https:features", "/features?a=b", "http://[::1"} {
		_, err := features.New(h.book, wrong, nil)
		require.ErrorContains(t, err, "want a path such as /features, or its whole address", wrong)
	}
}

// Pages hold each feature once, whatever else comes in between, and are what the book has.
func TestPages(t *testing.T) { pages(t, newHouse(t)) }

func pages(t *testing.T, h *house) {
	for _, l := range book.Layers {
		want := h.featuresOf(t, h.crowd.Max, book.Selection{Layer: l.Name})
		var ids []int64
		at := "/collections/" + l.Name + "/items?limit=2"
		for at != "" {
			p := h.page(t, "max", at)
			assert.Equal(t, []any{"FeatureCollection", len(want), len(p.Features)}, []any{p.Type, p.NumberMatched, p.NumberReturned})
			assert.LessOrEqual(t, len(p.Features), 2)
			for _, f := range p.Features {
				ids = append(ids, f.ID)
			}
			at = p.link("next")
		}
		require.Len(t, ids, len(want))
		for i, f := range want {
			assert.Equal(t, f.ID, ids[i])
		}
		one := h.page(t, "max", "/collections/"+l.Name+"/items?limit=1000000") // as many as there may be
		assert.Len(t, one.Features, len(want))
		assert.Empty(t, one.link("next"))
		for i, f := range one.Features {
			assert.Equal(t, want[i].Values[0], f.Properties["field"])
			res, body := h.get(t, "max", fmt.Sprintf("/collections/%s/items/%d", l.Name, f.ID))
			require.Equal(t, http.StatusOK, res.StatusCode)
			assert.Equal(t, "application/geo+json", res.Header.Get("Content-Type"))
			var alone feature
			require.NoError(t, json.Unmarshal(body, &alone))
			assert.Equal(t, f.Properties, alone.Properties)
			assert.Equal(t, f.Geometry, alone.Geometry)
			assert.Len(t, alone.Links, 2)
			alone.Links = nil
		}
	}
	skips := h.page(t, "ada", "/collections/skips/items?limit=1")
	var places [][][][2]float64
	require.NoError(t, json.Unmarshal(skips.Features[0].Geometry.Coordinates, &places))
	want := h.featuresOf(t, h.crowd.Ada, book.Selection{Layer: "skips", Most: 1})[0]
	for i, p := range want.Polygons {
		for k, at := range p.Shell {
			assert.Equal(t, [2]float64{at.Lon, at.Lat}, places[i][0][k], "longitude first (CRS84)")
		}
	}
	res, body := h.ask(t, http.MethodHead, "ada", "/collections/skips/items")
	assert.Equal(t, http.StatusOK, res.StatusCode)
	assert.Empty(t, body)
	res, _ = h.ask(t, http.MethodPost, "ada", "/collections/skips/items")
	assert.Equal(t, http.StatusMethodNotAllowed, res.StatusCode)
}

// A selection is handed to the book as it was asked for.
func TestSelections(t *testing.T) { selections(t, newHouse(t)) }

func selections(t *testing.T, h *house) {
	number := func(at string) int {
		t.Helper()
		return h.page(t, "max", "/collections/"+at).NumberMatched
	}
	skips := len(h.featuresOf(t, h.crowd.Ada, book.Selection{Layer: "skips"}))
	require.NotZero(t, skips)
	around := h.page(t, "ada", "/collections/fields").Extent.Spatial.Bbox[0]
	box := fmt.Sprintf("%f,%f,%f,%f", around[0]-.01, around[1]-.01, around[2]+.01, around[3]+.01)
	high := fmt.Sprintf("%f,%f,-5,%f,%f,900", around[0]-.01, around[1]-.01, around[2]+.01, around[3]+.01)
	for at, want := range map[string]int{
		"fields/items": 2, "fields/items?bbox=" + box: 1, "fields/items?bbox=" + high: 1, "fields/items?bbox=-180,-90,180,90": 2, "fields/items?bbox=170,-90,-170,90": 0,
		"fields/items?bbox=100,-90,-90,90": 2, "fields/items?bbox=-90,-90,100,90": 0,
		"skips/items?farm=Aspen": skips, "skips/items?farm=Aspen&year=2025": 0, "skips/items?farm=Aspen&year=2026&field=North&machine=drill%20A": skips,
		"skips/items?cause=nothing": 0, "passes/items?machine=drill+C": 0, "fields/items?machine=drill+B": 1,
		"ground/items?datetime=2026-05-04T10:00:00Z": 2, "ground/items?datetime=2026-05-04T16:30:00%2B02:00": 2, "ground/items?datetime=2026-05-04T16:00:00Z/..": 0,
		"ground/items?datetime=../2026-05-04T09:00:00Z": 2, "ground/items?datetime=/2026-05-04T08:59:59.9Z": 0, "ground/items?datetime=2026-05-04T15:00:00Z/": 2,
		"ground/items?datetime=2026-05-04t10:00:00z": 2,
	} {
		assert.Equal(t, want, number(at), at)
	}
	next := h.page(t, "max", "/collections/skips/items?limit=1&farm=Aspen&bbox="+box).link("next")
	require.NotEmpty(t, next)
	u, err := url.Parse(next)
	require.NoError(t, err)
	assert.Equal(t, []string{"1", "Aspen", box}, []string{u.Query().Get("limit"), u.Query().Get("farm"), u.Query().Get("bbox")}, "the next page is of the same")
}

// What is wrong gets one line that says what was found and what is wanted; what is not there
// is not there.
func TestWrongQuestions(t *testing.T) {
	h := newHouse(t)
	for at, want := range map[string]string{
		"/?x=1": `the query: found a parameter "x", want one of f`, "/collections?limit=1": `found a parameter "limit", want one of f`,
		"/collections/fields/items?cause=turn":                                                            `found a parameter "cause", want one of limit, after, bbox, datetime, field, farm, year, crop, machine, f`,
		"/collections/fields/items?LIMIT=1":                                                               `found a parameter "LIMIT"`,
		"/collections/fields/items?f=html":                                                                `f: found "html", want json`,
		"/collections/fields/items?limit=0":                                                               `limit: found "0", want a whole number from 1 to 1000`,
		"/collections/fields/items?limit=ten":                                                             `limit: found "ten"`,
		"/collections/fields/items?limit=":                                                                `limit: found ""`,
		"/collections/fields/items?limit=1&limit=2":                                                       `limit: found it 2 times, want it once`,
		"/collections/fields/items?after=-1":                                                              `after: found "-1"`,
		"/collections/fields/items?bbox=1,2,3":                                                            `bbox: found "1,2,3", want four numbers WEST,SOUTH,EAST,NORTH, or six`,
		"/collections/fields/items?bbox=1,2,3,4,5":                                                        `bbox: found "1,2,3,4,5"`,
		"/collections/fields/items?bbox=1,4,3,2":                                                          `bbox: found "1,4,3,2"`,
		"/collections/fields/items?bbox=1,2,3,x":                                                          `bbox: found "1,2,3,x"`,
		"/collections/fields/items?bbox=1,2,3,NaN":                                                        `bbox: found "1,2,3,NaN"`,
		"/collections/fields/items?bbox=-Inf,2,3,4":                                                       `want longitudes within 180 degrees and latitudes within 90`,
		"/collections/fields/items?bbox=1,2,3,91":                                                         `want longitudes within 180 degrees and latitudes within 90`,
		"/collections/fields/items?datetime=2026":                                                         `datetime: found "2026", want a time of RFC 3339`,
		"/collections/fields/items?datetime=../..":                                                        `datetime: found "../.."`,
		"/collections/fields/items?datetime=":                                                             `datetime: found ""`,
		"/collections/fields/items?datetime=2026-05-04T09:00:00Z/2025-05-04T09:00:00Z":                    `datetime: found`,
		"/collections/fields/items?year=today":                                                            `year: found "today", want a year such as 2026`,
		"/collections/fields/items?year=99999999999":                                                      `year: found "99999999999"`,
		"/collections/fields/items?field=":                                                                `field: found "", want a name`,
		"/collections/fields/items?field=%ff":                                                             `field: found "\xff", want UTF-8 without a zero`,
		"/collections/fields/items?field=a%00b":                                                           `field: found "a\x00b", want UTF-8 without a zero`,
		"/collections/fields/items?field=%zz":                                                             `the query: found what cannot be read, want NAME=VALUE with & between`,
		"/collections/fields/items?field=" + strings.Repeat("a", 70) + "&year=" + strings.Repeat("9", 70): `year: found "` + strings.Repeat("9", 60) + `..."`,
		"/export.gpkg?collections=people":                                                                 `collections: found "people", want some of fields, ground, passes, skips, overlaps`,
		"/export.gpkg?collections=fields&cause=turn":                                                      `cause: found it with the collection fields, want it only with skips, overlaps`,
		"/tiles/fields/3/1/1.mvt?bbox=1,2,3,4":                                                            `found a parameter "bbox"`,
		"/collections/skips/items.parquet?limit=1":                                                        `found a parameter "limit"`,
	} {
		res, body := h.get(t, "ada", at)
		assert.Equal(t, http.StatusBadRequest, res.StatusCode, at)
		var said struct{ Code, Description string }
		require.NoError(t, json.Unmarshal(body, &said), "%s: %s", at, body)
		assert.Equal(t, "InvalidParameterValue", said.Code)
		assert.Contains(t, said.Description, want)
		assert.NotContains(t, said.Description, "\n")
	}
	for _, at := range []string{
		"/x", "/collections/people", "/collections/people/items", "/collections/fields/items/0", "/collections/fields/items/x", "/collections/fields/items/99999", "/collections/fields/items/99999999999999999999",
		"/tiles/people/1/1/1.mvt", "/tiles/fields/1/2/0.mvt", "/tiles/fields/25/0/0.mvt", "/tiles/fields/1/0/-1.mvt", "/tiles/fields/1/0/0", "/tiles/fields/1/0/0.png", "/tiles/fields/x/0/0.mvt",
	} {
		res, body := h.get(t, "ada", at)
		assert.Equal(t, http.StatusNotFound, res.StatusCode, "%s: %s", at, body)
		assert.Contains(t, string(body), `"code":"NotFound"`, at)
	}
}

// Nobody gets anything of a farm that they may not look at, whatever they ask.
func TestOthersGetNothing(t *testing.T) { othersGetNothing(t, newHouse(t)) }

func othersGetNothing(t *testing.T, h *house) {
	box := h.page(t, "ada", "/collections/fields").Extent.Spatial.Bbox[0]
	paths := []string{"/", "/conformance", "/api", "/collections", "/export.gpkg", "/export.gpkg?farm=Aspen"}
	for _, l := range book.Layers {
		at := "/collections/" + l.Name
		paths = append(paths, at, at+"/items", at+"/items?farm=Aspen", at+"/items.parquet", at+"/items?bbox="+fmt.Sprintf("%f,%f,%f,%f", box[0], box[1], box[2], box[3]), "/tiles/"+l.Name+"/0/0/0.mvt")
		for _, f := range h.featuresOf(t, h.crowd.Ada, book.Selection{Layer: l.Name}) {
			for _, other := range []string{"bo", "cy", "nobody"} {
				res, _ := h.get(t, other, fmt.Sprintf("%s/items/%d", at, f.ID))
				assert.Equal(t, http.StatusNotFound, res.StatusCode)
			}
		}
	}
	for _, at := range paths {
		for _, other := range []string{"bo", "cy", "nobody"} {
			res, body := h.get(t, other, at)
			require.Less(t, res.StatusCode, 300, "%s as %s", at, other)
			body = bytes.ReplaceAll(body, []byte("?farm=Aspen"), nil) // which they know, as they ask so
			for _, secret := range []string{"North", "Aspen", "drill A", "Ada"} {
				assert.NotContains(t, string(body), secret, "%s as %s", at, other)
			}
		}
	}
	for _, other := range []string{"cy", "nobody"} {
		assert.Zero(t, h.page(t, other, "/collections/ground/items").NumberMatched)
		assert.Nil(t, h.page(t, other, "/collections/ground").Extent)
	}
}

// broken is a book that cannot be read.
type broken struct{ book.Featured }

func (broken) Matched(context.Context, book.Selection) (int, error) {
	return 0, errors.New("password=hoopoe was refused")
}

// What goes wrong inside is told to whoever runs the server, and not to whoever asks.
func TestFaults(t *testing.T) {
	var mu sync.Mutex
	var told []string
	h, err := features.New(broken{}, "/features", func(err error) {
		mu.Lock()
		defer mu.Unlock()
		told = append(told, err.Error())
	})
	require.NoError(t, err)
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/features/collections/fields/items", nil))
	assert.Equal(t, http.StatusInternalServerError, w.Code)
	assert.NotContains(t, w.Body.String(), "hoopoe")
	assert.Contains(t, w.Body.String(), "found a fault of this server")
	require.Len(t, told, 1)
	assert.True(t, slices.ContainsFunc(told, func(s string) bool { return strings.Contains(s, "/features/collections/fields/items: password=hoopoe") }))
}
