package features

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"time"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/compress/zstd"

	"lapwing/coverage/book"
	"lapwing/geo"
)

// parquet gives a layer as GeoParquet.
func (c *call) parquet(l book.Layer) error {
	return c.giveFile(parquetKind, l.Name+".parquet", func(path string) error {
		f, err := os.Create(path)
		if err != nil {
			return err
		}
		return errors.Join(writeGeoParquet(c.r.Context(), f, c.book, c.of, l), f.Close())
	})
}

// ordered is a group whose columns stand in an order of their own, not in that of letters:
// the sides of a box must (GeoParquet 1.1, bbox covering).
type ordered struct {
	parquet.Group
	names []string
}

func (o ordered) Fields() []parquet.Field {
	fields := o.Group.Fields()
	slices.SortFunc(fields, func(a, b parquet.Field) int {
		return cmp.Compare(slices.Index(o.names, a.Name()), slices.Index(o.names, b.Name()))
	})
	return fields
}

// The columns that all layers have.
const (
	idColumn, shapeColumn, boxColumn = "id", "geometry", "bbox"
)

var sides = []string{"xmin", "ymin", "xmax", "ymax"}

// columnsOf are the columns of a layer: its number, properties, shape and the box around it.
func columnsOf(l book.Layer) *parquet.Schema {
	columns := ordered{parquet.Group{idColumn: parquet.Int(64)}, []string{idColumn}}
	add := func(name string, node parquet.Node) {
		columns.Group[name] = parquet.Optional(node)
		columns.names = append(columns.names, name)
	}
	for _, p := range l.Properties {
		switch p.Kind {
		case book.Integer:
			add(p.Name, parquet.Int(64))
		case book.Real:
			add(p.Name, parquet.Leaf(parquet.DoubleType))
		case book.Truth:
			add(p.Name, parquet.Leaf(parquet.BooleanType))
		case book.Moment:
			add(p.Name, parquet.Timestamp(parquet.Millisecond))
		default:
			add(p.Name, parquet.String())
		}
	}
	add(shapeColumn, parquet.Leaf(parquet.ByteArrayType))
	box := ordered{parquet.Group{}, sides}
	for _, side := range sides {
		box.Group[side] = parquet.Leaf(parquet.DoubleType)
	}
	add(boxColumn, box)
	return parquet.NewSchema(l.Name, columns)
}

// rowsInGroup are the rows that a reader reads at least. Some thousand passes with their
// shapes are a few megabytes.
const rowsInGroup = 10_000

// writeGeoParquet writes features as GeoParquet 1.1.
func writeGeoParquet(ctx context.Context, to io.Writer, b book.Featured, of book.Selection, l book.Layer) error {
	w := parquet.NewWriter(to, columnsOf(l), parquet.Compression(&zstd.Codec{}), parquet.MaxRowsPerRowGroup(rowsInGroup), parquet.CreatedBy("lapwing", "", ""))
	around, some := geo.NoExtent(), false
	err := b.Features(ctx, of, func(f book.Feature) error {
		row := parquet.Row{parquet.Int64Value(f.ID).Level(0, 0, 0)}
		add := func(v parquet.Value) {
			level := 1
			if v.IsNull() {
				level = 0
			}
			row = append(row, v.Level(0, level, len(row)))
		}
		for _, v := range f.Values {
			add(cell(v))
		}
		box, places := boxOf(f)
		if !places {
			for range 1 + len(sides) { // no shape, so no box
				add(parquet.NullValue())
			}
		} else {
			some = true
			around = geo.Extent{West: min(around.West, box.West), South: min(around.South, box.South), East: max(around.East, box.East), North: max(around.North, box.North)}
			add(parquet.ByteArrayValue(shapeOf(l, f).WKB()))
			for _, v := range corners(box) {
				add(parquet.DoubleValue(v))
			}
		}
		_, err := w.WriteRows([]parquet.Row{row})
		return err
	})
	if err != nil {
		return fmt.Errorf("%s: %w", l.Name, err)
	}
	about := geoColumn{Encoding: "WKB", Types: []string{}, Edges: "planar", Covering: object{"bbox": coveringOf()}}
	if some {
		about.Types = []string{"MultiPolygon"}
		if l.Lines {
			about.Types = []string{"MultiLineString"}
		}
		about.Box = corners(around)
	}
	if !l.Lines {
		about.Orientation = "counterclockwise" // RFC 7946, 3.1.6, as the book's shapes are
	}
	text, err := json.Marshal(geoMetadata{Version: "1.1.0", Primary: shapeColumn, Columns: map[string]geoColumn{shapeColumn: about}})
	if err != nil {
		return err
	}
	w.SetKeyValueMetadata("geo", string(text))
	return w.Close()
}

// geoMetadata is what a file says of its shapes, under the key geo (GeoParquet 1.1, file
// metadata). Without a crs they are in longitude and latitude on WGS 84.
type geoMetadata struct {
	Version string               `json:"version"`
	Primary string               `json:"primary_column"`
	Columns map[string]geoColumn `json:"columns"`
}

type geoColumn struct {
	Encoding    string    `json:"encoding"`
	Types       []string  `json:"geometry_types"`
	Orientation string    `json:"orientation,omitempty"`
	Edges       string    `json:"edges"`
	Box         []float64 `json:"bbox,omitempty"`
	Covering    object    `json:"covering"`
}

func coveringOf() map[string][]string {
	covering := map[string][]string{}
	for _, side := range sides {
		covering[side] = []string{boxColumn, side}
	}
	return covering
}

// cell is a value as a column has it.
func cell(value any) parquet.Value {
	switch v := value.(type) {
	case string:
		return parquet.ByteArrayValue([]byte(v))
	case int64:
		return parquet.Int64Value(v)
	case float64:
		return parquet.DoubleValue(v)
	case bool:
		return parquet.BooleanValue(v)
	case time.Time:
		return parquet.Int64Value(v.UnixMilli())
	}
	return parquet.NullValue()
}

// boxOf is the box around a feature; false of one without a place.
func boxOf(f book.Feature) (box geo.Extent, places bool) {
	box = geo.NoExtent()
	lines := f.Lines
	for _, p := range f.Polygons {
		lines = append(lines, p.Shell)
	}
	for _, l := range lines {
		for _, p := range l {
			places = true
			box = geo.Extent{West: min(box.West, p.Lon), East: max(box.East, p.Lon), South: min(box.South, p.Lat), North: max(box.North, p.Lat)}
		}
	}
	return box, places
}
