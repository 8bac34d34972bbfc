package features_test

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers/gorillamux"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book"
)

// tried are right values for each parameter that a path or a query may have.
var tried = map[string][]string{
	"f": {"json"}, "limit": {"1", "1000"}, "after": {"1"}, "bbox": {"-180,-90,180,90", "170,-20,-170,-10", "-99,49,0,-98,51,1000"},
	"datetime": {"2026-05-04T10:00:00Z", "../2026-05-04T10:00:00Z", "2026-05-04T10:00:00Z/.."}, "field": {"North", "none"}, "farm": {"Aspen"},
	"year": {"2026", "2025"}, "crop": {"winter rye", "oats"}, "machine": {"drill A"}, "cause": {"turn"}, "collections": {"fields", "skips,overlaps"},
}

// The description tells what is: a walk through all its paths, with all parameters of each,
// asks what it allows and gets what it says (OGC 17-069r4, class oas30: completeness).
func TestDescriptionIsTrue(t *testing.T) { descriptionIsTrue(t, newHouse(t)) }

func descriptionIsTrue(t *testing.T, h *house) {
	res, text := h.get(t, "ada", "/api")
	require.Equal(t, http.StatusOK, res.StatusCode)
	doc, err := openapi3.NewLoader().LoadFromData(text)
	require.NoError(t, err)
	require.NoError(t, doc.Validate(t.Context()))
	require.True(t, strings.HasPrefix(doc.OpenAPI, "3.0."))
	router, err := gorillamux.NewRouter(doc)
	require.NoError(t, err)
	for _, kind := range []string{"application/geo+json", "application/vnd.oai.openapi+json"} {
		openapi3filter.RegisterBodyDecoder(kind, openapi3filter.JSONBodyDecoder)
	}
	for _, kind := range []string{"application/vnd.mapbox-vector-tile", "application/geopackage+sqlite3", "application/vnd.apache.parquet"} {
		openapi3filter.RegisterBodyDecoder(kind, openapi3filter.FileBodyDecoder)
	}

	walked := 0
	// ask asks an address below the base, and holds question and answer to the description.
	ask := func(path, at string, want int) {
		t.Helper()
		walked++
		req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, h.root+at, nil)
		require.NoError(t, err)
		route, params, err := router.FindRoute(req)
		require.NoError(t, err, at)
		require.Equal(t, path, route.Path)
		question := &openapi3filter.RequestValidationInput{Request: req, PathParams: params, Route: route, Options: &openapi3filter.Options{
			AuthenticationFunc: openapi3filter.NoopAuthenticationFunc, IncludeResponseStatus: true, MultiError: true}}
		if want < 300 {
			require.NoError(t, openapi3filter.ValidateRequest(t.Context(), question), at)
		}
		res, body := h.get(t, "max", at)
		require.Equal(t, want, res.StatusCode, "%s: %s", at, body)
		require.NoError(t, openapi3filter.ValidateResponse(t.Context(), &openapi3filter.ResponseValidationInput{RequestValidationInput: question,
			Status: res.StatusCode, Header: res.Header, Body: io.NopCloser(bytes.NewReader(body)), Options: question.Options}), "%s: %.300s", at, body)
	}
	for path, item := range doc.Paths.Map() {
		at, tile := path, strings.HasPrefix(path, "/tiles/")
		if id := h.anyOf(t, path); id != 0 {
			at = strings.Replace(at, "{featureId}", fmt.Sprint(id), 1)
			ask(path, strings.Replace(path, "{featureId}", "987654321", 1), http.StatusNotFound)
		}
		if tile {
			layer := strings.Split(path, "/")[2]
			at = strings.NewReplacer("{z}", "14", "{x}", fmt.Sprint(tileOfNorth.X), "{y}", fmt.Sprint(tileOfNorth.Y)).Replace(path)
			ask(path, "/tiles/"+layer+"/14/0/0.mvt", http.StatusNoContent)
			ask(path, "/tiles/"+layer+"/14/99999/0.mvt", http.StatusNotFound)
		}
		require.NotContains(t, at, "{", "of each parameter in a path the walk needs a value")
		require.NotNil(t, item.Get)
		require.Empty(t, item.Post, "nothing is written")
		ask(path, at, http.StatusOK)
		ask(path, at+"?no-such=1", http.StatusBadRequest)
		for _, p := range item.Get.Parameters {
			if p.Value.In == "path" {
				continue
			}
			require.NotEmpty(t, tried[p.Value.Name], "of each parameter the walk needs values: %s", p.Value.Name)
			for _, value := range tried[p.Value.Name] {
				query := "?" + url.Values{p.Value.Name: {value}}.Encode()
				switch res, _ := h.get(t, "max", at+query); {
				case tile && res.StatusCode == http.StatusNoContent:
					ask(path, at+query, http.StatusNoContent)
				default:
					ask(path, at+query, http.StatusOK)
				}
			}
			ask(path, at+"?"+p.Value.Name+"=%00", http.StatusBadRequest)
		}
	}
	assert.Equal(t, 5+5*len(book.Layers), doc.Paths.Len())
	t.Logf("%d paths, %d questions", doc.Paths.Len(), walked)
}

// anyOf is a feature of the collection of a path; 0 for paths of none.
func (h *house) anyOf(t *testing.T, path string) int64 {
	t.Helper()
	if !strings.HasSuffix(path, "{featureId}") {
		return 0
	}
	return h.featuresOf(t, h.crowd.Max, book.Selection{Layer: strings.Split(path, "/")[2]})[0].ID
}
