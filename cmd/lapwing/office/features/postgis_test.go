//go:build unix

package features_test

import (
	"net/url"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book"
	"lapwing/coverage/book/booktest"
	"lapwing/coverage/book/postgis"
	"lapwing/coverage/book/postgis/pgtest"
)

// newPostGISHouse has its book in PostgreSQL, opened as a role that policies hold for.
func newPostGISHouse(t *testing.T) *house {
	t.Helper()
	server := pgtest.Start(t)
	address := server.Database(t)
	as := func(role string) string {
		u, err := url.Parse(address)
		require.NoError(t, err)
		u.User = url.UserPassword(role, "x")
		return u.String()
	}
	c, err := pgx.Connect(t.Context(), address)
	require.NoError(t, err)
	defer c.Close(t.Context())
	var name string
	require.NoError(t, c.QueryRow(t.Context(), "SELECT current_database()").Scan(&name))
	for _, statement := range []string{"CREATE ROLE keeps LOGIN PASSWORD 'x' CREATEROLE", "CREATE ROLE web LOGIN PASSWORD 'x'", "ALTER DATABASE " + name + " OWNER TO keeps"} {
		_, err := c.Exec(t.Context(), statement)
		require.NoError(t, err)
	}
	owner, err := postgis.Open(t.Context(), as("keeps"))
	require.NoError(t, err)
	t.Cleanup(func() { owner.Close() })
	require.NoError(t, owner.Admit(t.Context()))
	_, err = c.Exec(t.Context(), "GRANT lapwing_serve TO web")
	require.NoError(t, err)
	return houseOf(t, booktest.NewCrowd(t, owner, func() book.Served {
		b, err := postgis.Serve(t.Context(), as("web"))
		require.NoError(t, err)
		return b
	}))
}

// A book in PostgreSQL answers as one in a file does.
func TestPostGIS(t *testing.T) {
	h := newPostGISHouse(t)
	t.Run("description", func(t *testing.T) { descriptionIsTrue(t, h) })
	t.Run("others get nothing", func(t *testing.T) { othersGetNothing(t, h) })
	t.Run("pages", func(t *testing.T) { pages(t, h) })
	t.Run("selections", func(t *testing.T) { selections(t, h) })
	t.Run("GeoPackage", func(t *testing.T) { geoPackage(t, h) })
	t.Run("GeoParquet", func(t *testing.T) { geoParquet(t, h) })
	t.Run("tiles", func(t *testing.T) { tiles(t, h) })
	t.Run("OGR", func(t *testing.T) { againstOGR(t, h) })
}
