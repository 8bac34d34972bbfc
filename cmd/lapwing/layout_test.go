package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
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
	{"cmd/lapwing", "report/field report/last report/mend report/waste report/season report/look report coverage/assess samples coverage/job coverage/agronomy coverage/quantity coverage geo/parallel"},
	{"samples", ""},
	{"samples/make", "coverage/covertest coverage geo geo/plane"},
	{"report/field", "report report/page report/chart report/words coverage/assess coverage/whatif coverage/agronomy coverage/quantity coverage geo/geojson geo geo/plane geo/parallel"},
	{"report/last", "report report/page report/chart report/words coverage/assess coverage/quantity coverage geo geo/plane"},
	{"report/mend", "report report/page report/chart report/words coverage/assess coverage/mend coverage/quantity coverage geo/geojson geo geo/plane"},
	{"report/waste", "report report/page report/chart report/words coverage/assess coverage/agronomy coverage/quantity coverage geo/plane"},
	{"report/season", "report report/page report/chart report/words coverage/assess coverage/season coverage/quantity coverage geo/geojson geo/geopackage geo geo/plane"},
	{"report/look", "coverage/quantity geo"},
	{"report", "coverage/assess geo/geojson geo geo/plane"},
	{"report/browsertest", ""},
	{"report/page", "report/words coverage/assess coverage/agronomy coverage/quantity"},
	{"report/chart", "report/words coverage/assess coverage/agronomy coverage/quantity coverage geo/plane"},
	{"report/words", "coverage/assess coverage/agronomy coverage/quantity coverage geo/plane"},
	{"coverage/assess/assesstest", "coverage/assess coverage/whatif coverage/agronomy coverage geo geo/plane"},
	{"coverage/assess", "coverage/job coverage/whatif coverage/mend coverage/agronomy coverage/quantity coverage geo geo/plane"},
	{"coverage/job", "coverage/agronomy coverage/quantity coverage geo/taskdata geo/boundary geo/gnsslog geo geo/plane geo/parallel"},
	{"coverage/whatif", "coverage geo geo/plane geo/parallel"},
	{"coverage/agronomy", "coverage/quantity coverage geo geo/plane"},
	{"coverage/mend", "coverage geo geo/plane"},
	{"coverage/covertest", "coverage geo geo/plane"},
	{"coverage/season", "geo/arrange geo geo/plane"},
	{"coverage/quantity", "geo/plane"},
	{"coverage", "geo/arrange geo geo/plane geo/parallel"},
	{"geo/arrange/geosoracle", "geo/plane"},
	{"geo/arrange", "geo/plane geo/parallel"},
	{"geo/taskdata", "geo/boundary geo/gnsslog geo geo/plane"},
	{"geo/boundary", "geo/geojson geo/geopackage geo/shapefile geo geo/plane"},
	{"geo/gnsslog", "geo/geojson geo/geopackage geo/shapefile geo geo/plane geo/parallel"},
	{"geo/geojson", "geo geo/plane"},
	{"geo/geopackage/geopackagetest", ""},
	{"geo/geopackage", "geo"},
	{"geo/shapefile", "geo"},
	{"geo", "geo/plane"},
	{"geo/parallel", ""},
	{"geo/plane", ""},
}

// testRooms may be imported by tests, by each other and by what is named here.
var testRooms = map[string]string{
	"coverage/assess/assesstest":    "",
	"coverage/covertest":            "samples/make",
	"geo/arrange/geosoracle":        "",
	"geo/geopackage/geopackagetest": "",
	"report/browsertest":            "",
}

// homes says where each package from outside lives. What is not here is for
// tests only. Since coverage has no geometry package in its row, no type of
// one can stand in its signatures.
var homes = map[string]string{
	"github.com/spf13/cobra":               "cmd/lapwing",
	"github.com/spf13/pflag":               "cmd/lapwing", // cobra's flags
	"golang.org/x/term":                    "cmd/lapwing",
	"github.com/vbauerster/mpb/v8":         "cmd/lapwing",
	"go.yaml.in/yaml/v4":                   "coverage/job",
	"github.com/agnivade/levenshtein":      "coverage/job coverage/quantity geo/gnsslog",
	"github.com/paulmach/orb":              "",
	"github.com/twpayne/go-geom":           "geo/boundary",
	"github.com/ncruces/go-sqlite3":        "geo/geopackage geo/geopackage/geopackagetest",
	"github.com/adrianmo/go-nmea":          "geo/gnsslog",
	"golang.org/x/net":                     "geo/gnsslog geo/boundary geo/taskdata",
	"golang.org/x/text":                    "geo/gnsslog geo/boundary geo/taskdata",
	"github.com/tidwall/rtree":             "geo/arrange geo/arrange/geosoracle coverage coverage/mend",
	"github.com/twpayne/go-geos":           "geo/arrange/geosoracle",
	"github.com/twpayne/go-gpx":            "report/mend",
	"github.com/twpayne/go-kml/v3":         "report/mend",
	"github.com/stretchr/testify":          "geo/geopackage/geopackagetest coverage/assess/assesstest report/browsertest",
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
	ImportPath                         string
	Imports, TestImports, XTestImports []string
	Error                              *struct{ Err string }
}

// listRooms asks go list for every package of this module, the tagged test
// oracles and browser tests included.
func listRooms(t *testing.T) map[string]listed {
	t.Helper()
	watchSources(t)
	out, err := goList("-json=ImportPath,Imports,TestImports,XTestImports,Error", "-tags=geos,browser", "lapwing/...")
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
		{"coverage", "geo", "!github.com/paulmach/orb/geojson", `coverage imports github.com/paulmach/orb/geojson, whose home is ""`},
		{"geo/plane", "", "!pgregory.net/rapid", `geo/plane imports pgregory.net/rapid, whose home is ""`},
		{"coverage", "geo", "!github.com/tidwall/rtree", ""},
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
