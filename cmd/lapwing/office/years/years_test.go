package years_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/cmd/lapwing/office/years"
	"lapwing/coverage/book"
	"lapwing/coverage/book/booktest"
	"lapwing/coverage/book/gpkg"
)

// Each sees the answers of their farms, and of a farm of others as if it were not there.
func TestYears(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.gpkg")
	owner, err := gpkg.Open(t.Context(), path)
	require.NoError(t, err)
	defer owner.Close()
	var asked years.Book
	crowd := booktest.NewCrowd(t, owner, func() book.Served {
		b, err := gpkg.Serve(t.Context(), path, "")
		require.NoError(t, err)
		asked = b
		return b
	})
	defer crowd.Book.Close()
	handler := years.New(asked, years.Options{FieldPage: func(job string, part int) string { return "field/" + job }})
	get := func(person int64, query string) *httptest.ResponseRecorder {
		r := httptest.NewRequestWithContext(book.As(t.Context(), book.Asks{Person: person}), http.MethodGet, "/years"+query, nil)
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		return w
	}
	for _, c := range []struct {
		person       int64
		query        string
		status       int
		sees, hidden string
	}{
		{crowd.Ada, "", 200, "Aspen", "Birch"}, {crowd.Bo, "", 200, "Birch", "Aspen"},
		{crowd.Max, "", 200, "Birch", "nothing hidden"}, {crowd.Max, fmt.Sprint("?farm=", crowd.Aspen), 200, ">Aspen</bdi></td>", "<td class=\"name\" data-head=\"Farm\"><bdi>Birch"},
		{crowd.Cy, "", 200, "Nothing stands in the book that you may see", "Aspen"}, {0, "", 200, "Nothing stands in the book", "Aspen"},
		{crowd.Bo, fmt.Sprint("?farm=", crowd.Aspen), 404, "", "Aspen"}, {crowd.Max, "?farm=x", 404, "", "Aspen"}, {crowd.Max, "?farm=12345", 404, "", "Aspen"},
	} {
		w := get(c.person, c.query)
		require.Equal(t, c.status, w.Code, "%+v", c)
		assert.Contains(t, w.Body.String(), c.sees, "%+v", c)
		assert.NotContains(t, w.Body.String(), c.hidden, "%+v", c)
		if w.Code == 200 {
			assert.True(t, strings.HasPrefix(w.Header().Get("Content-Security-Policy"), "default-src 'none'; style-src 'sha256-"))
		}
	}
	r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/years", nil)
	w := httptest.NewRecorder()
	handler.ServeHTTP(w, r)
	assert.Equal(t, http.StatusMethodNotAllowed, w.Code)
}
