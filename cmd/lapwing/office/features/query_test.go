package features_test

import (
	"context"
	"encoding/json"
	"maps"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"lapwing/cmd/lapwing/office/features"
	"lapwing/coverage/book"
)

// sane is a book of one feature, which looks at what it is asked: no selection reaches a
// database that is none.
type sane struct {
	book.Featured
	t require.TestingT
}

func (s sane) look(of book.Selection) {
	layer, ok := book.LayerNamed(of.Layer)
	require.True(s.t, ok)
	if x := of.Box; x != nil {
		assert.True(s.t, x.West >= -180 && x.West <= x.East && x.East-x.West <= 360 && x.South >= -90 && x.South <= x.North && x.North <= 90, "%+v", x)
	}
	assert.True(s.t, of.Most >= 0 && of.Most <= 1001 && of.After >= 0, "%+v", of)
	assert.True(s.t, of.From.IsZero() || of.To.IsZero() || !of.To.Before(of.From), "%+v", of)
	for name, value := range of.Where {
		i := slices.IndexFunc(layer.Filters, func(f book.Filter) bool { return f.Name == name })
		require.GreaterOrEqual(s.t, i, 0, name)
		switch v := value.(type) {
		case string:
			assert.True(s.t, layer.Filters[i].Kind == book.Text && v != "" && utf8.ValidString(v) && !strings.ContainsRune(v, 0), "%q", v)
		case int:
			assert.True(s.t, layer.Filters[i].Kind == book.Integer && v > 0 && v < 10000, "%d", v)
		default:
			s.t.Errorf("a %T", value)
		}
	}
}

func (s sane) Matched(_ context.Context, of book.Selection) (int, error) {
	s.look(of)
	return 1, nil
}

func (s sane) Features(_ context.Context, of book.Selection, do func(book.Feature) error) error {
	s.look(of)
	layer, _ := book.LayerNamed(of.Layer)
	return do(book.Feature{ID: 7, Values: make([]any, len(layer.Properties))})
}

func (s sane) Tile(_ context.Context, of book.Selection, _, _, _ int) ([]byte, error) {
	s.look(of)
	return []byte("a tile"), nil
}

// Whatever the query, the answer is right or names what is wrong with it in one line. Values
// are right ones, parts of them and any text.
func TestAnyQuery(t *testing.T) {
	names := append(slices.Sorted(maps.Keys(tried)), "cause", "x", "")
	var values []string
	for _, name := range names {
		values = append(values, tried[name]...)
	}
	values = append(values, "NaN", "-Inf", "1e400", ",", "/", "..", "../..", "0000-01-01T00:00:00Z", "99999999999999999999", "-0", "00", "\xff", "a\x00b", "")
	value := rapid.OneOf(rapid.SampledFrom(values), rapid.String(), rapid.Custom(func(t *rapid.T) string {
		whole := rapid.SampledFrom(values).Draw(t, "whole")
		return whole[:rapid.IntRange(0, len(whole)).Draw(t, "of it")] + rapid.SampledFrom(values).Draw(t, "and")
	}))
	rapid.Check(t, func(t *rapid.T) {
		h, err := features.New(sane{t: t}, "/features", func(err error) { t.Errorf("a fault: %v", err) })
		require.NoError(t, err)
		path := rapid.SampledFrom([]string{"/collections/skips/items", "/collections/fields/items", "/collections/ground/items/7", "/tiles/passes/13/1/1.mvt"}).Draw(t, "path")
		query := rapid.String().Draw(t, "query")
		if rapid.Bool().Draw(t, "of parameters") {
			given := url.Values{}
			for range rapid.IntRange(0, 4).Draw(t, "how many") {
				given.Add(rapid.SampledFrom(names).Draw(t, "name"), value.Draw(t, "value"))
			}
			query = given.Encode()
		}
		req := httptest.NewRequest(http.MethodGet, "/features"+path, nil)
		req.URL.RawQuery = query
		w := httptest.NewRecorder()
		h.ServeHTTP(w, req)
		switch w.Code {
		case http.StatusBadRequest:
			var said struct{ Code, Description string }
			require.NoError(t, json.Unmarshal(w.Body.Bytes(), &said))
			assert.Contains(t, said.Description, "found ")
			assert.NotContains(t, said.Description, "\n")
		case http.StatusOK:
			if strings.Contains(w.Header().Get("Content-Type"), "json") {
				assert.True(t, json.Valid(w.Body.Bytes()), "%s", w.Body)
			}
		default:
			t.Errorf("%d: %s", w.Code, w.Body)
		}
	})
}
