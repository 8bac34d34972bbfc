package overview_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/cmd/lapwing/office/overview"
	"lapwing/coverage/book"
	"lapwing/coverage/book/booktest"
	"lapwing/coverage/book/gpkg"
	report "lapwing/report/overview"
)

// atlas opens a book with people, whose fields North and South are Aspen's and Birch's.
func atlas(t *testing.T) (crowd *booktest.Crowd, b book.Atlas) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "book.gpkg")
	owner, err := gpkg.Open(t.Context(), path)
	require.NoError(t, err)
	t.Cleanup(func() { owner.Close() })
	crowd = booktest.NewCrowd(t, owner, func() book.Served {
		served, err := gpkg.Serve(t.Context(), path, "")
		require.NoError(t, err)
		b = served
		return served
	})
	t.Cleanup(func() { crowd.Book.Close() })
	return crowd, b
}

func TestMap(t *testing.T) {
	crowd, b := atlas(t)
	handler := overview.New(b, overview.Options{FieldPage: func(job string, part int) string { return fmt.Sprintf("/field/%s/%d", job, part) }})
	get := func(person int64, path string) *httptest.ResponseRecorder {
		r := httptest.NewRequestWithContext(book.As(t.Context(), book.Asks{Person: person}), http.MethodGet, "/map/"+path, nil)
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		return w
	}
	near := "view?season=2026&box=-98.5,55,-98.3,61&size=390,500"
	view := func(person int64, path string) (v report.View) {
		w := get(person, path)
		require.Equal(t, 200, w.Code, w.Body.String())
		assert.Equal(t, "application/json", w.Header().Get("Content-Type"))
		require.NoError(t, json.Unmarshal(w.Body.Bytes(), &v))
		return v
	}
	names := func(v report.View) (out []string) {
		for _, f := range v.Fields {
			out = append(out, f.Name)
		}
		return out
	}
	assert.ElementsMatch(t, []string{"North", "South"}, names(view(crowd.Max, near)))
	assert.Equal(t, []string{"North"}, names(view(crowd.Ada, near)))
	assert.Equal(t, []string{"South"}, names(view(crowd.Max, near+fmt.Sprint("&farm=", crowd.Birch))))
	assert.Empty(t, names(view(crowd.Ada, near+fmt.Sprint("&farm=", crowd.Birch))))
	assert.Empty(t, names(view(crowd.Cy, near)))
	assert.Empty(t, names(view(0, near)))
	assert.Equal(t, []string{"North"}, names(view(crowd.Max, near+"&crop=winter+rye&machine=drill+A&operator=Ada&first=2026-05-04&last=2026-05-04&named=nOR")))
	for _, none := range []string{"&crop=oats", "&crop=winter+rye&machine=drill+B", "&machine=drill+B&named=north", "&first=2026-05-05", "&last=2026-05-03", "&named=%25"} {
		assert.Empty(t, names(view(crowd.Max, near+none)), none)
	}

	field := view(crowd.Ada, near).Fields[0]
	w := get(crowd.Ada, "field?id="+field.ID)
	var f report.Field
	require.NoError(t, json.Unmarshal(w.Body.Bytes(), &f))
	assert.Equal(t, "North", f.Name)
	assert.Equal(t, "/field/"+crowd.North.Key+"/0", f.Link)
	assert.Equal(t, "Farm", f.Lines[0].Name)
	for path, status := range map[string]int{"field?id=" + field.ID: 404, "field?id=x": 404, "chosen?season=x": 404, "chosen?season=2026": 200} {
		assert.Equal(t, status, get(crowd.Bo, path).Code, path)
	}
	for _, wrong := range []string{"view", "view?season=2026", "view?season=x&box=0,0,1,1&size=9,9", "view?season=2026&box=0,0,NaN,1&size=9,9", "view?season=2026&box=1,0,0,1&size=9,9",
		"view?season=2026&box=0,0,1,1&size=99999,9", "view?season=2026&box=0,0,1,1&size=9", "view?season=2026&farm=x&box=0,0,1,1&size=9,9", "view?season=2026&first=1&box=0,0,1,1&size=9,9"} {
		w := get(crowd.Max, wrong)
		assert.Equal(t, 400, w.Code, wrong)
		assert.Regexp(t, `^(season|farm|first|box|size): found .*, want .*\n$`, w.Body.String())
	}

	w = get(crowd.Ada, "")
	require.Equal(t, 200, w.Code)
	assert.Contains(t, w.Header().Get("Content-Security-Policy"), "connect-src 'self'")
	assert.Contains(t, w.Body.String(), `<option value="2026" selected>`)
	assert.Contains(t, w.Body.String(), "drill A")
	assert.NotContains(t, w.Body.String(), "drill B", "a machine of another farm")
	assert.Contains(t, get(crowd.Cy, "").Body.String(), "Nothing stands in the book that you may see")
	r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/map/", strings.NewReader(""))
	w = httptest.NewRecorder()
	handler.ServeHTTP(w, r)
	assert.Equal(t, http.StatusMethodNotAllowed, w.Code)
}
