package tables

import (
	"context"
	"database/sql"

	"lapwing/coverage/book"
	"lapwing/coverage/season"
	"lapwing/geo"
)

// fieldOf returns the field of a farm that a part is of: one whose boundary is of the same ground
// as season.Same has it, the oldest of several, else a new one.
func (b *Book) fieldOf(ctx context.Context, tx *sql.Tx, farm int64, p *book.Part) (id int64, err error) {
	box := geo.NoExtent()
	for _, polygon := range p.Boundary {
		for _, at := range polygon.Shell {
			box.Add(at)
		}
	}
	near, err := b.fieldsNear(ctx, tx, farm, box)
	if err != nil {
		return 0, err
	}
	for _, f := range near {
		if season.Same(f.boundary, p.Boundary) {
			return f.id, nil
		}
	}
	err = tx.QueryRowContext(ctx, "INSERT INTO fields (farm, name, geom) VALUES ($1, $2, "+b.dialect.Shape("$3")+") RETURNING id",
		farm, p.Field.Name, b.dialect.Polygons(p.Boundary)).Scan(&id)
	return id, err
}

// Ground is the ground of polygons as a database has them: a shell each, then its holes,
// of points whose place on the Earth is place's.
func Ground[P any](polygons [][][]P, place func(P) geo.LonLat) (out []geo.Polygon) {
	for _, rings := range polygons {
		var p geo.Polygon
		for i, ring := range rings {
			places := make([]geo.LonLat, len(ring))
			for k, at := range ring {
				places[k] = place(at)
			}
			if i == 0 {
				p.Shell = places
			} else {
				p.Holes = append(p.Holes, places)
			}
		}
		out = append(out, p)
	}
	return out
}

type nearField struct {
	id       int64
	boundary []geo.Polygon
}

// fieldsNear are the fields of a farm whose boxes meet one, the oldest first.
func (b *Book) fieldsNear(ctx context.Context, tx *sql.Tx, farm int64, box geo.Extent) (near []nearField, err error) {
	rows, err := tx.QueryContext(ctx, "SELECT id, "+b.dialect.ShapeOf("geom")+" FROM fields WHERE "+b.dialect.Near("fields", 1)+" AND farm = $5 ORDER BY id",
		box.West, box.South, box.East, box.North, farm)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var f nearField
		var shape []byte
		if err := rows.Scan(&f.id, &shape); err != nil {
			return nil, err
		}
		if f.boundary, err = b.dialect.ReadPolygons(shape); err != nil {
			return nil, err
		}
		near = append(near, f)
	}
	return near, rows.Err()
}

// settle gives a field the name and the boundary of its latest work, and drops it where
// no assessment is of it any more.
func settle(ctx context.Context, tx *sql.Tx, field int64) error {
	gone, err := tx.ExecContext(ctx, "DELETE FROM fields WHERE id = $1 AND NOT EXISTS (SELECT 1 FROM assessments WHERE field = $1)", field)
	if err != nil {
		return err
	}
	if n, err := gone.RowsAffected(); err != nil || n > 0 {
		return err
	}
	_, err = tx.ExecContext(ctx, `UPDATE fields SET (name, geom) = (SELECT name, geom FROM assessments WHERE field = $1
		ORDER BY last_work IS NULL, last_work DESC, id DESC LIMIT 1) WHERE id = $1`, field)
	return err
}
