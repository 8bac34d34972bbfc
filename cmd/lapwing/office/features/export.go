package features

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"lapwing/cmd/lapwing/output"
	"lapwing/coverage/book"
	"lapwing/geo/geopackage"
)

// giveFile gives what is written into a file, once it is whole: a download that breaks off in
// the middle of a fault would look like a small one.
func (c *call) giveFile(kind, name string, write func(path string) error) error {
	dir, remove, err := output.NewTempDir("lapwing-export")
	if err != nil {
		return err
	}
	defer remove()
	path := filepath.Join(dir, name)
	if err := write(path); err != nil {
		return err
	}
	whole, err := os.Open(path)
	if err != nil {
		return err
	}
	defer whole.Close()
	c.w.Header().Set("Content-Type", kind)
	c.w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	http.ServeContent(c.w, c.r, "", time.Time{}, whole)
	return nil
}

// geoPackage gives layers in a GeoPackage.
func (c *call) geoPackage() error {
	layers, err := c.selected()
	if err != nil {
		return err
	}
	return c.giveFile(gpkgKind, "fields.gpkg", func(path string) error {
		return writeGeoPackage(c.r.Context(), path, c.book, c.of, layers)
	})
}

// selected are the layers that were asked for. One that has not what it is selected by is
// left out, unless it was named.
func (c *call) selected() (layers []book.Layer, err error) {
	for _, l := range book.Layers {
		missing := ""
		for name := range c.of.Where {
			if !slices.ContainsFunc(l.Filters, func(f book.Filter) bool { return f.Name == name }) {
				missing = name
			}
		}
		named := slices.Contains(c.layers, l.Name)
		switch {
		case named && missing != "":
			return nil, &wrongParam{missing, "it with the collection " + l.Name, "it only with " + strings.Join(having(missing), ", ")}
		case missing == "" && (named || len(c.layers) == 0):
			layers = append(layers, l)
		}
	}
	return layers, nil
}

// having are the layers that have a filter.
func having(filter string) (names []string) {
	for _, l := range book.Layers {
		if slices.ContainsFunc(l.Filters, func(f book.Filter) bool { return f.Name == filter }) {
			names = append(names, l.Name)
		}
	}
	return names
}

// columnKinds are the types of columns in a GeoPackage (GeoPackage 1.3, table 1).
var columnKinds = map[book.Kind]string{book.Text: "TEXT", book.Integer: "INTEGER", book.Real: "REAL", book.Truth: "BOOLEAN", book.Moment: "DATETIME"}

func writeGeoPackage(ctx context.Context, path string, b book.Featured, of book.Selection, layers []book.Layer) (err error) {
	w, err := geopackage.Create(path, "lapwing", time.Now())
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, w.Close()) }()
	for _, l := range layers {
		kind := "MULTIPOLYGON"
		if l.Lines {
			kind = "MULTILINESTRING"
		}
		columns := []geopackage.Column{{Name: "id", Kind: "INTEGER"}}
		for _, p := range l.Properties {
			columns = append(columns, geopackage.Column{Name: p.Name, Kind: columnKinds[p.Kind]})
		}
		layer := w.Layer(l.Name, kind, l.About, columns)
		of.Layer = l.Name
		err := b.Features(ctx, of, func(f book.Feature) error {
			values := []any{int(f.ID)}
			for _, v := range f.Values {
				values = append(values, stored(v))
			}
			layer.Add(shapeOf(l, f), values...)
			return nil
		})
		if err != nil {
			return fmt.Errorf("%s: %w", l.Name, err)
		}
	}
	return nil
}

// shapeOf is the shape of a feature, in well-known binary with what a GeoPackage has before it.
func shapeOf(l book.Layer, f book.Feature) geopackage.Geometry {
	if l.Lines {
		return geopackage.MultiLine(f.Lines)
	}
	return geopackage.MultiPolygon(f.Polygons)
}

// stored is a value as a GeoPackage stores it.
func stored(value any) any {
	switch v := value.(type) {
	case int64:
		return int(v)
	case bool:
		if v {
			return 1
		}
		return 0
	case time.Time:
		return v.UTC().Format("2006-01-02T15:04:05.000Z")
	}
	return value
}
