// Make builds lapwing.html, the page that carries its engine, and what a static host
// gives beside it to install it as an app: sw.js, a manifest and an icon. The same
// checkout, Go and version give the same bytes.
//
//	go run ./cmd/page/make --out dist --version 1.2.3
package main

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"lapwing/report/desk/front"
)

func main() {
	out := flag.String("out", ".", "directory to write into, made if missing")
	version := flag.String("version", "", "the version that the page tells")
	flag.Parse()
	if err := build(*out, *version); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// build writes the page and what stands beside it into a directory.
func build(out, version string) error {
	e, err := engine(version)
	if err != nil {
		return err
	}
	page, err := front.Saved(version, e)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	files := front.Beside(page)
	files["lapwing.html"] = page
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(out, name), text, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// seldom are packages that run once a file, a page or a question. Without inlining in
// them the engine is a tenth smaller, packed; what runs once a fix or an edge is left as
// it is.
var seldom = []string{
	"html/template", "text/template", "text/template/parse", "html", "regexp", "regexp/syntax", "encoding/json", "encoding/xml",
	"reflect", "fmt", "archive/zip", "net/url", "net/netip", "log", "math/big", "crypto/...", "time", "os", "io/fs", "internal/...", "context",
	"go.yaml.in/...", "github.com/fxamacker/...", "github.com/twpayne/...", "github.com/adrianmo/...", "github.com/agnivade/...", "golang.org/x/...",
	"unicode", "errors", "strings", "bytes", "compress/flate", "lapwing/coverage/sweep", "lapwing/coverage/track", "encoding/csv", "encoding/base64", "encoding/hex", "encoding/binary", "compress/gzip", "path/...", "embed", "syscall/...", "hash/...",
	"lapwing/report/...", "lapwing/coverage/propose/...", "lapwing/coverage/job/...", "lapwing/coverage/book", "lapwing/coverage/inspect",
	"lapwing/coverage/agronomy", "lapwing/coverage/assess", "lapwing/coverage/mend", "lapwing/coverage/season", "lapwing/coverage/rain", "lapwing/coverage/quantity",
	"lapwing/coverage/worklog/...", "lapwing/coverage/beside", "lapwing/coverage/locate", "lapwing/coverage/machine", "lapwing/coverage/field", "lapwing/coverage/cause", "lapwing/coverage/edge", "lapwing/coverage/pace", "lapwing/coverage/whatif", "lapwing/geo/repair", "lapwing/geo/shapefile", "lapwing/geo/geojson",
	"lapwing/coverage", "lapwing/geo", "lapwing/geo/gnsslog", "lapwing/geo/taskdata", "lapwing/geo/projection", "lapwing/geo/format/...", "lapwing/geo/boundary", "lapwing/geo/feature", "lapwing/geo/source", "lapwing/geo/gnsslog/naming", "lapwing/geo/gnsslog/letters", "lapwing/coverage/figure", "lapwing/coverage/lapsum", "lapwing/coverage/work", "lapwing/coverage/region", "lapwing/coverage/stance", "lapwing/geo/gnsslog/sentence", "lapwing/geo/gnsslog/written", "lapwing/geo/plane/raster",
	"lapwing/geo/parallel", "lapwing/geo/plane", "lapwing/geo/plane/inscribed", "lapwing/geo/plane/near", "strconv", "bufio", "sort", "container/list", "math/rand/v2", "unique", "maps", "sync/...", "iter", "io", "encoding", "hash",
}

// engine compiles the engine.
func engine(version string) (e front.Engine, err error) {
	dir, err := os.MkdirTemp("", "lapwing-page-")
	if err != nil {
		return e, err
	}
	defer os.RemoveAll(dir)
	program := filepath.Join(dir, "page.wasm")
	args := []string{"build", "-trimpath", "-buildvcs=false", "-ldflags=-s -w -buildid= -X main.version=" + version, "-o", program}
	for _, of := range seldom {
		args = append(args, "-gcflags="+of+"=-l")
	}
	build := exec.Command("go", append(args, "lapwing/cmd/page")...)
	// The collector that Go 1.26 brought wins time where there are several processors; here is one, and the
	// older is smaller.
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0", "GOFLAGS=", "GOEXPERIMENT=nogreenteagc")
	build.Stderr = os.Stderr
	if err := build.Run(); err != nil {
		return e, fmt.Errorf("the engine: %w", err)
	}
	if e.Program, err = os.ReadFile(program); err != nil {
		return e, err
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return e, fmt.Errorf("go env: %w", err)
	}
	e.Glue, err = os.ReadFile(filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "wasm_exec.js"))
	return e, err
}
