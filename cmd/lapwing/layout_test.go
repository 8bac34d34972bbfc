package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// rooms says which rooms of this module each room may import, from the top of
// the drawing in DEVELOPERS.md down. A room may import only what stands below
// it here, so the table itself cannot hold an arrow that points up.
var rooms = []struct {
	name string
	may  string
}{
	{"cmd/lapwing", "cmd/lapwing/heap cmd/lapwing/office cmd/lapwing/office/features cmd/lapwing/office/overview cmd/lapwing/office/years cmd/lapwing/relay cmd/lapwing/cab cmd/lapwing/rainplan cmd/lapwing/wasted cmd/lapwing/workers cmd/lapwing/work cmd/lapwing/entries cmd/lapwing/jobfiles cmd/lapwing/signals cmd/lapwing/output cmd/lapwing/disk geo/receiver cmd/lapwing/shell cmd/lapwing/serve report/field report/last report/mend report/waste report/season/gpkg report/season report/rain report/facts report/words report report/desk/front report/desk coverage/book/queue coverage/book/postgis coverage/book/gpkg coverage/book/bucket coverage/book coverage/assess samples coverage/propose coverage/inspect coverage/job geo/source coverage/agronomy coverage/quantity coverage/field"},
	{"cmd/release", ""},
	{"cmd/lapwing/office/features", "cmd/lapwing/output coverage/book geo/geopackage geo/tile geo"},
	{"cmd/lapwing/shell", "cmd/lapwing/serve report/desk/front report/desk report/page coverage/job"},
	{"cmd/lapwing/cab", "cmd/lapwing/crew cmd/lapwing/serve cmd/lapwing/output cmd/lapwing/disk report/field report/last report/mend report/cab report coverage/live coverage/assess coverage/figure coverage/job coverage/job/spec coverage/agronomy coverage/machine coverage/field coverage/quantity geo/format geo/gnsslog geo/journal geo/receiver geo geo/plane"},
	{"cmd/lapwing/relay", "cmd/lapwing/crew geo/journal"},
	{"cmd/lapwing/office/years", "report/years coverage/book coverage/quantity"},
	{"cmd/lapwing/office/overview", "report/overview coverage/book coverage/quantity"},
	{"cmd/lapwing/crew", "geo/journal"},
	{"cmd/lapwing/office", "cmd/lapwing/serve report/office report/desk report/field coverage/book coverage/assess coverage/quantity"},
	{"cmd/lapwing/serve", ""},
	{"cmd/lapwing/signals", ""},
	{"cmd/lapwing/heap", "geo/large"},
	{"cmd/lapwing/work", "cmd/lapwing/disk coverage/book/queue coverage/book"},
	{"cmd/lapwing/workers", "cmd/lapwing/jobfiles coverage/book/queue coverage/book/postgis coverage/book/tables coverage/book"},
	{"cmd/lapwing/rainplan", "cmd/lapwing/disk report/field report/rain report/season report/words coverage/rain coverage/assess coverage/job coverage/field"},
	{"cmd/lapwing/wasted", "cmd/lapwing/jobfiles cmd/lapwing/output cmd/lapwing/disk report/waste report coverage/book coverage/assess coverage/job coverage/field"},
	{"cmd/lapwing/entries", "cmd/lapwing/jobfiles cmd/lapwing/output cmd/lapwing/disk report/field report/mend report/season report coverage/book coverage/assess coverage/job coverage/quantity geo/parallel"},
	{"cmd/lapwing/jobfiles", "cmd/lapwing/output cmd/lapwing/disk coverage/job"},
	{"cmd/lapwing/output", "cmd/lapwing/disk report/field report/last report/mend report/waste report/season report coverage/book coverage/job geo/parallel"},
	{"cmd/lapwing/disk", "coverage/job geo/format/gpkg geo/format geo/source"},
	{"cmd/page/make", "report/desk/front"},
	{"samples", ""},
	{"samples/make", "coverage/covertest coverage/field coverage/machine geo geo/plane"},
	{"report/desk/front", "report/page"},
	{"report/desk", "report/desk/asked report/desk/outline report/desk/pages report/desk/draw report/desk/jobfile report/desk/history report/desk/store report/words report coverage/propose coverage/job/edit coverage/job/spec coverage/job coverage/book coverage/field coverage/quantity geo/format geo/source geo"},
	{"report/desk/pages", "report/desk/draw report/desk/store report/field report/last report/mend report/waste report/season " + pages + "coverage/book coverage/job coverage/job/spec " + priced},
	{"report/desk/outline", "report/desk/draw coverage/job coverage/field geo/geojson geo/arrange geo geo/plane"},
	{"report/desk/asked", "coverage/job/edit coverage/quantity geo"},
	{"report/desk/draw", "geo geo/plane"},
	{"report/desk/jobfile", "coverage/propose coverage/job/edit coverage/job coverage/book"},
	{"report/desk/history", "report/desk/store report"},
	{"report/desk/store", "report"},
	// Documents: none imports another.
	{"report/field", pages + priced},
	{"report/last", pages + priced},
	{"report/mend", pages + "coverage/mend " + priced},
	{"report/waste", pages + priced},
	{"report/cab", pages + "coverage/live coverage/mend " + priced},
	{"report/season/gpkg", "report/season geo/geopackage geo"},
	{"report/season", "report/season/shape " + pages + "coverage/lapsum coverage/season geo/parallel " + priced},
	{"report/season/shape", "geo/geojson geo"},
	{"report/overview", pages + "coverage/book " + priced},
	{"report/years", pages + "coverage/book " + priced},
	{"report/rain", pages + "coverage/rain " + priced},
	{"report/office", "report/page report/words"},
	{"report/facts", "report/look report/words coverage/inspect coverage/quantity geo/format"},
	{"report/look", "coverage/quantity geo"},
	{"report", "report/words coverage/assess coverage/figure geo/geojson geo geo/plane"},
	{"report/browsertest", ""},
	{"report/page", "report/chart report/words " + priced},
	{"report/chart", "report/words " + priced},
	{"report/words", "coverage/mend " + priced},
	{"coverage/live", "coverage/job coverage/worklog geo/journal geo/gnsslog " + priced},
	{"coverage/book/booktest", "coverage/assess/assesstest coverage/assess coverage/figure coverage/cause coverage/book geo geo/tile"},
	{"coverage/book/queue", "coverage/book"},
	{"coverage/book/postgis/pgtest", ""},
	{"coverage/book/postgis", "coverage/book/bucket coverage/book/tables coverage/book geo geo/tile"},
	{"coverage/book/gpkg", "coverage/book/bucket coverage/book/tables coverage/book geo/geopackage geo/projection geo"},
	{"coverage/book/bucket", "coverage/book/folder coverage/book/tables coverage/book"},
	{"coverage/book/folder", "coverage/book"},
	{"coverage/book/tables", "coverage/book coverage/lapsum coverage/season coverage/assess coverage/agronomy coverage/figure coverage/cause geo geo/tile geo/plane"},
	{"coverage/book", "coverage/assess coverage/job coverage/cause coverage/quantity geo/geojson geo/source geo geo/plane"},
	{"coverage/rain", "coverage/assess coverage/figure coverage/field geo geo/plane"},
	{"coverage/lapsum", "coverage/assess coverage/figure"},
	{"coverage/assess/assesstest", priced},
	{"coverage/assess", "coverage/job coverage/job/spec coverage/mend coverage/whatif coverage/agronomy coverage/pace coverage/figure coverage/quantity " + measured + ground},
	{"coverage/propose", "coverage/propose/pattern coverage/propose/cell coverage/job coverage/job/edit coverage/job/spec coverage/worklog coverage/quantity geo/taskdata geo/boundary geo/gnsslog geo/geojson geo/source " + measured + ground},
	{"coverage/propose/cell", "geo"},
	{"coverage/propose/pattern", "coverage/worklog coverage/field geo geo/plane"},
	{"coverage/inspect", "coverage/job coverage/job/spec coverage/worklog geo/taskdata geo/boundary geo/gnsslog geo/source " + measured + ground},
	{"coverage/job", "coverage/job/spec coverage/worklog coverage/whatif coverage/agronomy coverage/quantity geo/format geo/taskdata geo/boundary geo/gnsslog geo/source coverage/track coverage/field coverage/machine " + ground},
	{"coverage/job/edit", ""},
	{"coverage/job/spec", "coverage/worklog coverage/whatif coverage/agronomy coverage/quantity geo/source " + measured + ground},
	{"coverage/worklog", "coverage/worklog/cover coverage/quantity coverage/machine coverage/field geo/taskdata geo/gnsslog geo/gnsslog/naming geo geo/large geo/parallel geo/plane"},
	{"coverage/worklog/cover", "coverage/machine geo geo/plane"},
	{"coverage/whatif", measured + ground},
	{"coverage/agronomy", "coverage/pace coverage/quantity " + measured + ground},
	{"coverage/pace", measured + ground},
	{"coverage/mend", measured + ground},
	{"coverage/covertest", measured + ground},
	{"coverage/season", ground},
	{"coverage", stages + ground},
	// The stages of a measurement: each imports only those before it.
	{"coverage/cause", "coverage/beside coverage/region coverage/sweep coverage/locate coverage/work coverage/stance coverage/track coverage/field coverage/machine " + ground},
	{"coverage/beside", "coverage/region coverage/sweep coverage/locate coverage/work coverage/stance coverage/track coverage/field coverage/machine " + ground},
	{"coverage/edge", "coverage/region coverage/sweep coverage/work coverage/stance coverage/track coverage/field coverage/machine " + ground},
	{"coverage/region", "coverage/sweep coverage/locate coverage/work coverage/stance coverage/track coverage/field coverage/machine " + ground},
	{"coverage/sweep", "coverage/work coverage/stance coverage/track coverage/field coverage/machine " + ground},
	{"coverage/locate", "coverage/work coverage/machine " + ground},
	{"coverage/work", "coverage/stance coverage/track coverage/field coverage/machine " + ground},
	{"coverage/stance", "coverage/track coverage/field coverage/machine " + ground},
	{"coverage/track", "coverage/field coverage/machine " + ground},
	{"coverage/field", "geo geo/plane"},
	{"coverage/machine", "geo geo/plane"},
	{"coverage/figure", "geo geo/plane"},
	{"coverage/quantity", "geo/plane"},
	{"geo/journal", "geo"},
	{"geo/receiver", "geo"},
	{"geo/format/gpkg", "geo/format geo/geopackage geo/feature"},
	{"geo/format", "geo/taskdata geo/boundary geo/gnsslog geo/gnsslog/sentence geo/gnsslog/letters geo/shapefile geo/feature geo/source geo"},
	{"geo/taskdata", "geo/feature geo"},
	{"geo/boundary", "geo/geojson geo/repair geo/feature geo/projection geo/arrange geo geo/plane"},
	{"geo/gnsslog", "geo/gnsslog/naming geo/gnsslog/written geo/gnsslog/records geo/gnsslog/sentence geo/geojson geo/feature geo/projection geo geo/large geo/parallel"},
	{"geo/gnsslog/naming", "geo"},
	{"geo/gnsslog/written", "geo"},
	{"geo/gnsslog/records", ""},
	{"geo/gnsslog/sentence", ""},
	{"geo/gnsslog/letters", ""},
	{"geo/geojson", "geo/repair geo/projection geo geo/plane"},
	{"geo/repair", "geo/arrange geo/plane"},
	{"geo/arrange/geosoracle", "geo/plane"},
	{"geo/arrange", "geo/plane geo/parallel"},
	{"geo/geopackage/geopackagetest", ""},
	{"geo/geopackage", "geo/feature geo/projection geo"},
	{"geo/shapefile", "geo/feature geo/projection geo"},
	{"geo/tile", "geo"},
	{"geo/feature", "geo/projection geo"},
	{"geo/projection", "geo"},
	{"geo/source/sourcetest", "geo/source"},
	{"geo/source", "geo"},
	{"geo", "geo/plane"},
	{"geo/parallel", ""},
	{"geo/large", ""},
	{"geo/plane/raster", "geo/plane"},
	{"geo/plane/inscribed", "geo/plane/near geo/plane"},
	{"geo/plane/near", "geo/plane"},
	{"geo/plane", ""},
}

// Rooms that many may import.
const (
	ground   = "geo/arrange geo geo/parallel geo/plane/raster geo/plane/inscribed geo/plane/near geo/plane "
	stages   = "coverage/cause coverage/beside coverage/edge coverage/region coverage/sweep coverage/locate coverage/work coverage/stance coverage/track coverage/field coverage/machine "
	measured = "coverage " + stages // a map and what it is made of
	priced   = "coverage/assess coverage/figure coverage/whatif coverage/agronomy coverage/pace coverage/quantity geo/geojson " + measured + ground
	pages    = "report report/page report/chart report/words "
)

// testRooms may be imported by tests, by each other and by what is named here.
var testRooms = map[string]string{
	"geo/source/sourcetest":         "",
	"coverage/assess/assesstest":    "coverage/book/booktest",
	"coverage/covertest":            "samples/make",
	"geo/arrange/geosoracle":        "",
	"geo/geopackage/geopackagetest": "",
	"coverage/book/booktest":        "",
	"coverage/book/postgis/pgtest":  "",
	"report/browsertest":            "",
}

// systemRooms may know of an operating system. All others open files through
// io/fs, or not at all.
const systemRooms = "cmd/page/make cmd/lapwing cmd/release cmd/lapwing/cab cmd/lapwing/disk cmd/lapwing/entries cmd/lapwing/jobfiles cmd/lapwing/office/features cmd/lapwing/output cmd/lapwing/relay cmd/lapwing/serve cmd/lapwing/shell cmd/lapwing/rainplan cmd/lapwing/signals cmd/lapwing/wasted cmd/lapwing/work geo/receiver geo/journal coverage/book/folder coverage/book/postgis/pgtest samples/make coverage/covertest coverage/assess/assesstest geo/geopackage/geopackagetest geo/source/sourcetest report/browsertest"

// homes says where each package from outside lives. What is not here is for
// tests only. Since coverage has no geometry package in its row, no type of
// one can stand in its signatures.
var homes = map[string]string{
	"github.com/spf13/cobra":               "cmd/lapwing",
	"github.com/spf13/pflag":               "cmd/lapwing", // cobra's flags
	"rsc.io/qr":                            "cmd/lapwing/cab",
	"golang.org/x/term":                    "cmd/lapwing",
	"github.com/alexedwards/scs/v2":        "cmd/lapwing/office", // sessions
	"github.com/coreos/go-oidc/v3":         "cmd/lapwing/office",
	"golang.org/x/oauth2":                  "cmd/lapwing/office",
	"github.com/prometheus/client_golang":  "cmd/lapwing/office",
	"golang.org/x/crypto/argon2":           "cmd/lapwing/office",
	"golang.org/x/time":                    "cmd/lapwing/office", // so often and no oftener
	"github.com/inconshreveable/mousetrap": "cmd/lapwing",
	"github.com/fsnotify/fsnotify":         "cmd/lapwing/shell",
	"github.com/vbauerster/mpb/v8":         "cmd/lapwing",
	"go.yaml.in/yaml/v4":                   "coverage/job/spec coverage/job/edit",
	"github.com/agnivade/levenshtein":      "coverage/quantity geo/gnsslog/naming geo/receiver",
	"github.com/fxamacker/cbor/v2":         "coverage/assess",
	"github.com/paulmach/orb":              "geo/tile coverage/book/booktest",
	"github.com/twpayne/go-geom":           "geo/boundary geo/geopackage coverage/book/postgis",
	"github.com/ncruces/go-sqlite3":        "geo/geopackage geo/geopackage/geopackagetest coverage/book/gpkg",
	"github.com/jackc/pgx/v5":              "coverage/book/postgis coverage/book/postgis/pgtest coverage/book/queue",
	"github.com/riverqueue/river":          "coverage/book/queue",
	"github.com/parquet-go/parquet-go":     "cmd/lapwing/office/features",
	"github.com/getkin/kin-openapi":        "",
	"gocloud.dev":                          "coverage/book/bucket",
	"github.com/johannesboyne/gofakes3":    "",
	"github.com/go-jose/go-jose/v4":        "",
	"github.com/adrianmo/go-nmea":          "geo/gnsslog geo/gnsslog/sentence",
	"golang.org/x/text":                    "geo/gnsslog geo/gnsslog/letters geo/boundary geo/taskdata report/words",
	"github.com/tidwall/rtree":             "geo/arrange/geosoracle",
	"github.com/twpayne/go-geos":           "geo/arrange/geosoracle",
	"github.com/twpayne/go-gpx":            "",
	"github.com/twpayne/go-kml/v3":         "report/mend",
	"github.com/stretchr/testify":          "geo/geopackage/geopackagetest coverage/assess/assesstest coverage/book/booktest report/browsertest",
	"go.bug.st/serial":                     "geo/receiver",
	"golang.org/x/sys":                     "geo/receiver geo/large cmd/lapwing/disk coverage/book/gpkg",
	"github.com/creack/pty":                "",
	"github.com/rogpeppe/go-internal":      "",
	"pgregory.net/rapid":                   "",
	"github.com/google/go-cmp":             "",
	"github.com/peterstace/simplefeatures": "",
	"github.com/tidwall/geodesic":          "",
	"github.com/chromedp/chromedp":         "report/browsertest",
	"github.com/chromedp/cdproto":          "report/browsertest",
}

// A listed package is what go list says of one room.
type listed struct {
	ImportPath, Doc                    string
	Imports, TestImports, XTestImports []string
	Error                              *struct{ Err string }
}

// listRooms asks go list for every package of this module, the tagged test
// oracles and browser tests included.
func listRooms(t *testing.T) map[string]listed {
	t.Helper()
	watchSources(t)
	out, err := goList("-json=ImportPath,Doc,Imports,TestImports,XTestImports,Error", "-tags=geos,browser", "lapwing/...")
	require.NoError(t, err)
	found := map[string]listed{}
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var p listed
		err := d.Decode(&p)
		if errors.Is(err, io.EOF) {
			return found
		}
		require.NoError(t, err)
		found[strings.TrimPrefix(p.ImportPath, "lapwing/")] = p
	}
}

// watchSources looks at every source file, so that go test knows to run this
// test again when one has changed: go list does its reading unseen.
func watchSources(t *testing.T) {
	t.Helper()
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err == nil && strings.HasSuffix(path, ".go") {
			_, err = os.Stat(path)
		}
		return err
	})
	require.NoError(t, err)
}

func goList(args ...string) ([]byte, error) {
	c := exec.Command("go", append([]string{"list", "-e"}, args...)...)
	out, err := c.Output()
	var failed *exec.ExitError
	if errors.As(err, &failed) {
		return nil, fmt.Errorf("go list: %s", failed.Stderr)
	}
	return out, err
}

// The table above is a ladder: each room names only rooms further down, so
// that no chain of imports can come back.
func TestRoomsPointDown(t *testing.T) {
	below := map[string]bool{}
	for _, r := range slices.Backward(rooms) {
		for _, to := range strings.Fields(r.may) {
			assert.True(t, below[to], "%s may import %s, which does not stand below it", r.name, to)
		}
		below[r.name] = true
	}
}

// Arrows point down only, and every package from outside stays in its home.
func TestImports(t *testing.T) {
	found := listRooms(t)
	require.Greater(t, len(found), 10, "go list must see the whole module")
	may := map[string]string{}
	for _, r := range rooms {
		may[r.name] = r.may
	}
	for name, p := range found {
		allowed, ok := may[name]
		if !assert.True(t, ok, "%s is a room that the table does not know", name) {
			continue
		}
		for _, wrong := range strayImports(name, allowed, p.Imports) {
			t.Error(wrong)
		}
		for _, path := range slices.Concat(p.TestImports, p.XTestImports) {
			if outside(path) {
				_, known := homes[moduleOf(path)]
				assert.True(t, known, "a test of %s imports %s, which the table does not know", name, path)
			}
		}
	}
}

// Each room says at its door what it is: a reader of the list in DEVELOPERS.md goes there next.
func TestRoomsSayWhatTheyAre(t *testing.T) {
	for name, p := range listRooms(t) {
		assert.NotEmpty(t, p.Doc, "%s has no package comment", name)
	}
}

// No room below the commands calls the operating system, but the two that sit at
// a wire and a disk.
func TestSystemRooms(t *testing.T) {
	for name, p := range listRooms(t) {
		if !holds(systemRooms, name) {
			assert.NotContains(t, p.Imports, "os", name)
		}
	}
}

// Which formats a program reads and which books it keeps is up to the program: nothing
// below the row of the GeoPackage and the two kinds of books brings a database with it.
func TestDatabaseIsARow(t *testing.T) {
	watchSources(t)
	const sqlite, postgres = "github.com/ncruces/go-sqlite3", "github.com/jackc/pgx/v5"
	for _, c := range []struct{ room, has string }{
		{"geo/format/gpkg", sqlite}, {"geo/format", ""}, {"coverage/job", ""}, {"coverage/inspect", ""}, {"coverage/propose", ""},
		{"report/desk", ""}, {"coverage/book", ""}, {"coverage/book/tables", ""}, {"coverage/book/gpkg", sqlite}, {"coverage/book/postgis", postgres},
	} {
		out, err := goList("-deps", "lapwing/"+c.room)
		require.NoError(t, err)
		for _, database := range []string{sqlite, postgres} {
			assert.Equal(t, database == c.has, slices.Contains(strings.Fields(string(out)), database), "%s in %s", database, c.room)
		}
	}
}

// The desk's core knows no network, no disk, no database and no command line, and a
// browser can run it.
func TestDeskIsPure(t *testing.T) {
	watchSources(t)
	for _, of := range []string{"", "js"} {
		c := exec.Command("go", "list", "-deps", "lapwing/report/desk")
		if of != "" {
			c.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
		}
		out, err := c.Output()
		require.NoError(t, err)
		for dep := range strings.FieldsSeq(string(out)) {
			for _, not := range []string{"net", "net/http", "os/exec", "crypto/tls", "database/sql", "github.com/ncruces/go-sqlite3", "github.com/spf13/cobra"} {
				assert.NotEqual(t, not, dep, "for %q", of)
			}
		}
	}
	if testing.Short() {
		t.Skip("short: it was not built for a browser")
	}
	c := exec.Command("go", "build", "-o", os.DevNull, "lapwing/report/desk")
	c.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	out, err := c.CombinedOutput()
	require.NoError(t, err, "%s", out)
}

// The list of rooms in DEVELOPERS.md is the rooms there are, each above what it
// imports.
func TestDrawing(t *testing.T) {
	guide, err := os.ReadFile("../../DEVELOPERS.md")
	require.NoError(t, err)
	_, list, _ := strings.Cut(string(guide), "## Rooms")
	_, list, _ = strings.Cut(list, "```\n")
	list, _, found := strings.Cut(list, "```")
	require.True(t, found, "DEVELOPERS.md has no list of rooms")
	at, stale := map[string]int{}, map[string]bool{}
	for i, line := range strings.Split(strings.TrimSpace(list), "\n") {
		at[strings.Fields(line)[0]], stale[strings.Fields(line)[0]] = i, true
	}
	for name, p := range listRooms(t) {
		if _, testOnly := testRooms[name]; testOnly {
			continue
		}
		from, listed := at[name]
		assert.True(t, listed, "DEVELOPERS.md does not list %s", name)
		delete(stale, name)
		for _, path := range p.Imports {
			to, ours := strings.CutPrefix(path, "lapwing/")
			if i, known := at[to]; ours && known {
				assert.Less(t, from, i, "DEVELOPERS.md lists %s below %s, which it imports", name, to)
			}
		}
	}
	assert.Empty(t, slices.Collect(maps.Keys(stale)), "DEVELOPERS.md lists rooms that are not there")
}

// strayImports says which imports of a room, tests apart, it may not have.
func strayImports(room, allowed string, imports []string) []string {
	var wrong []string
	for _, path := range imports {
		to, ours := strings.CutPrefix(path, "lapwing/")
		_, testOnly := testRooms[to]
		switch {
		case ours && testOnly && !holds(testRooms[to], room):
			wrong = append(wrong, fmt.Sprintf("%s imports %s, which is for tests", room, to))
		case ours && !holds(allowed, to):
			wrong = append(wrong, fmt.Sprintf("%s imports %s: no arrow points there", room, to))
		case outside(path) && !holds(homes[moduleOf(path)], room):
			wrong = append(wrong, fmt.Sprintf("%s imports %s, whose home is %q", room, path, homes[moduleOf(path)]))
		}
	}
	return wrong
}

// The check finds what it is for.
func TestStrayImports(t *testing.T) {
	for _, c := range []struct{ room, allowed, imports, want string }{
		{"report", "coverage geo", "coverage geo", ""},
		{"geo", "geo/plane", "coverage", "geo imports coverage: no arrow points there"},
		{"report", "coverage", "coverage/covertest", "report imports coverage/covertest, which is for tests"},
		{"samples/make", "coverage/covertest", "coverage/covertest", ""},
		{"coverage", "geo", "!github.com/paulmach/orb/geojson", `coverage imports github.com/paulmach/orb/geojson, whose home is "geo/tile coverage/book/booktest"`},
		{"geo/plane", "", "!pgregory.net/rapid", `geo/plane imports pgregory.net/rapid, whose home is ""`},
		{"coverage", "geo", "!github.com/tidwall/rtree", `coverage imports github.com/tidwall/rtree, whose home is "geo/arrange/geosoracle"`},
		{"coverage", "geo", "!math/rand/v2", ""},
	} {
		var paths []string
		for _, name := range strings.Fields(c.imports) {
			path, std := strings.CutPrefix(name, "!")
			if !std {
				path = "lapwing/" + name
			}
			paths = append(paths, path)
		}
		assert.Equal(t, c.want, strings.Join(strayImports(c.room, c.allowed, paths), "; "), c.imports)
	}
}

func holds(list, name string) bool { return slices.Contains(strings.Fields(list), name) }

// outside reports whether a package is neither ours nor the standard library's.
func outside(path string) bool {
	first, _, _ := strings.Cut(path, "/")
	return strings.Contains(first, ".")
}

// moduleOf is the row of homes that a package belongs to: the longest that
// begins its path. It is the path itself where there is none.
func moduleOf(path string) string {
	for p := path; p != ""; {
		if _, ok := homes[p]; ok {
			return p
		}
		i := strings.LastIndexByte(p, '/')
		if i < 0 {
			break
		}
		p = p[:i]
	}
	return path
}
