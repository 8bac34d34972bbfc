package main

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Units are types: no field of a struct below the commands is a bare float64
// whose unit stands in its comment alone.
func TestUnitsAreTypes(t *testing.T) {
	files := 0
	for _, room := range []string{"coverage", "geo", "report", "samples"} {
		err := filepath.WalkDir(filepath.Join("../..", room), func(path string, _ fs.DirEntry, err error) error {
			if err != nil || !strings.HasSuffix(path, ".go") {
				return err
			}
			files++
			found, err := bareUnits(path, nil)
			for _, field := range found {
				t.Error(field)
			}
			return err
		})
		require.NoError(t, err)
	}
	require.Greater(t, files, 100, "the walk must see the whole module")
}

// A made-up room breaks the law in each way it can be broken, and keeps it in
// the ways that look alike.
func TestBareUnits(t *testing.T) {
	const source = `package room

type Pass struct {
	Length float64 // ticks
	// Along are so many ticks from the start.
	Along, Across []float64
	Area    float64        // square ticks
	Scale   float64        // drawing units to a tick
	Typed   plane.Distance // ticks
	Width   float64        // m
	Heading float64        // degrees clockwise from north
	Lean    float64        // degrees
}

func f() {
	_ = []struct {
		at float64 // ticks along
	}{}
}
`
	found, err := bareUnits("room.go", source)
	require.NoError(t, err)
	assert.Equal(t, []string{
		"room.go:4: Length is a float64 of ticks, want a plane.Distance",
		"room.go:6: Along is a float64 of ticks, want a plane.Distance",
		"room.go:11: Heading is a float64 of degrees, want a geo.Bearing",
		"room.go:17: at is a float64 of ticks, want a plane.Distance",
	}, found)
}

// The units that have a type, as comments name them. A square of ticks has
// none.
var (
	inTicks   = regexp.MustCompile(`\bticks\b`)
	inSquares = regexp.MustCompile(`\bsquare ticks\b`)
	fromNorth = regexp.MustCompile(`\bdegrees\b.*\bnorth\b`)
)

// bareUnits lists the fields of structs in a file that hold float64 and have a
// unit in their comment for which there is a type.
func bareUnits(path string, source any) ([]string, error) {
	files := token.NewFileSet()
	file, err := parser.ParseFile(files, path, source, parser.ParseComments)
	if err != nil {
		return nil, err
	}
	var found []string
	ast.Inspect(file, func(n ast.Node) bool {
		s, ok := n.(*ast.StructType)
		if !ok {
			return true
		}
		for _, f := range s.Fields.List {
			says := f.Doc.Text() + f.Comment.Text()
			unit, want := "", ""
			switch {
			case !holdsFloat(f.Type) || len(f.Names) == 0:
			case inTicks.MatchString(inSquares.ReplaceAllString(says, "")):
				unit, want = "ticks", "plane.Distance"
			case fromNorth.MatchString(says):
				unit, want = "degrees", "geo.Bearing"
			}
			if unit != "" {
				found = append(found, fmt.Sprintf("%s:%d: %s is a float64 of %s, want a %s",
					path, files.Position(f.Pos()).Line, f.Names[0].Name, unit, want))
			}
		}
		return true
	})
	return found, nil
}

// holdsFloat reports whether a type is float64, or a pointer to or a list of
// such.
func holdsFloat(t ast.Expr) bool {
	switch t := t.(type) {
	case *ast.Ident:
		return t.Name == "float64"
	case *ast.StarExpr:
		return holdsFloat(t.X)
	case *ast.ArrayType:
		return holdsFloat(t.Elt)
	case *ast.MapType:
		return holdsFloat(t.Value)
	}
	return false
}
