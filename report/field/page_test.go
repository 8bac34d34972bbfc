package field

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess/assesstest"
)

func pageOf(t testing.TB, r *Document) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, r.Page(&b))
	return b.String()
}

func TestPageGolden(t *testing.T) {
	assesstest.Golden(t, "small.html", small().Page)
}

// The page of a quarter section must open on a phone over a weak link.
func TestPageStaysSmall(t *testing.T) {
	r := quarter()
	page := pageOf(t, r)
	require.Greater(t, len(r.Map.Passes), 55)
	require.Greater(t, len(r.Map.Regions), 150)
	require.Less(t, len(page), 1_000_000)
	if dir := os.Getenv("LAPWING_PAGES"); dir != "" { // to look at
		require.NoError(t, os.WriteFile(filepath.Join(dir, "quarter.html"), []byte(page), 0o644))
		require.NoError(t, os.WriteFile(filepath.Join(dir, "small.html"), []byte(pageOf(t, small())), 0o644))
		require.NoError(t, os.WriteFile(filepath.Join(dir, "empty.html"), []byte(pageOf(t, empty())), 0o644))
	}
}

func TestPageEscapesNames(t *testing.T) {
	r := small()
	hostile := `"><img src=x onerror=alert(1)></style></script><script>alert(2)</script>`
	r.Map.Field.Name = hostile
	r.Map.Machines[0].Name, r.Map.Machines[0].Operator, r.Map.Machines[0].Implement.Name = hostile, hostile, hostile
	r.Map.Records[0].Files[0] = hostile
	r.Warnings[0].Text, r.Warnings[0].File = hostile, hostile
	r.Accounts[0].Product.Name, r.Accounts[0].Product.Price.Currency = hostile, hostile
	r.Run = hostile
	page := pageOf(t, r)
	require.Equal(t, 1, strings.Count(page, "<script"))
	require.Equal(t, 1, strings.Count(page, "</script"))
	require.Equal(t, 1, strings.Count(page, "<style"))
	require.NotContains(t, page, "<img")
}

// A saved page loads nothing from elsewhere.
func TestPageLoadsNothing(t *testing.T) {
	page := pageOf(t, small())
	require.Contains(t, page, `default-src 'none'`)
	require.NotRegexp(t, `(?i)(src|href|action)\s*=\s*"?(https?:|//|[a-z]+\.(js|css))`, page)
	require.NotRegexp(t, `(?i)url\(\s*["']?(https?:|//)`, page)
	require.NotContains(t, page, "@import")
}

func TestAmmoniaCautionOnlyWithAmmonia(t *testing.T) {
	r := small()
	require.Contains(t, pageOf(t, r), "85 % at most")
	require.Contains(t, pageOf(t, r), "not a safety device")
	r.Assessment.Reckoning = agronomy.Reckon(r.Map, assesstest.Products()[1:], nil)
	require.NotContains(t, pageOf(t, r), "85 % at most")
	require.Contains(t, pageOf(t, r), "not a safety device")
	r.Assessment.Reckoning = agronomy.Reckon(r.Map, []agronomy.Product{{Name: "Anhydrous Ammonia", MassRate: new(0.01)}}, nil)
	require.Contains(t, pageOf(t, r), "85 % at most")
}

func TestPageOfAnIdleField(t *testing.T) {
	page := pageOf(t, empty())
	require.Contains(t, page, "Nothing covered yet.")
	require.Contains(t, page, "No products given.")
	require.NotContains(t, page, "NaN")
	require.NotContains(t, page, "ZgotmplZ")
}

// Every listed skip and overlap has its shape on the map.
func TestListsAndPlatAreLinked(t *testing.T) {
	page := pageOf(t, small())
	keys := regexp.MustCompile(`data-go="([so]\d+)"`).FindAllStringSubmatch(page, -1)
	require.Len(t, keys, len(small().Map.Skips)+len(small().Map.Overlaps))
	for _, k := range keys {
		require.Equal(t, 1, strings.Count(page, ` id="`+k[1]+`"`), k[1])
	}
}
