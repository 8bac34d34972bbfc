package tables

import (
	"context"
	"database/sql"
	"fmt"
	"math"
	"strings"
	"time"
)

// An insert gathers rows for a table and writes many of them at once: each statement is
// a journey to the database.
type insert struct {
	into   string // the table, with its columns
	shape  func(mark string) string
	values []any
	width  int
}

// mostValues is how many values a statement has at most: PostgreSQL counts them in 16
// bits, SQLite up to 32,766.
const mostValues = 10_000

// newInsert begins to gather rows for a table with columns, "skips (number, geom)". Where
// a shape is set it writes the last column.
func newInsert(into string) *insert { return &insert{into: into} }

// row gathers a row.
func (n *insert) row(values ...any) {
	n.width = len(values)
	n.values = append(n.values, values...)
}

// do writes the rows.
func (n *insert) do(ctx context.Context, tx *sql.Tx) error {
	for rest := n.values; len(rest) > 0; {
		rows := make([]string, min(len(rest), mostValues)/n.width)
		for i := range rows {
			marks := make([]string, n.width)
			for k := range marks {
				marks[k] = fmt.Sprintf("$%d", i*n.width+k+1)
			}
			if last := len(marks) - 1; n.shape != nil {
				marks[last] = n.shape(marks[last])
			}
			rows[i] = "(" + strings.Join(marks, ", ") + ")"
		}
		of := len(rows) * n.width
		if _, err := tx.ExecContext(ctx, "INSERT INTO "+n.into+" VALUES "+strings.Join(rows, ", "), rest[:of]...); err != nil {
			return err
		}
		rest = rest[of:]
	}
	return nil
}

// number is a figure as a value; null where it is not known.
func number[T ~float64](v T) any {
	if math.IsNaN(float64(v)) || math.IsInf(float64(v), 0) {
		return nil
	}
	return float64(v)
}

// orNaN is a figure as it was stored; NaN where none was.
func orNaN(v sql.NullFloat64) float64 {
	if !v.Valid {
		return math.NaN()
	}
	return v.Float64
}

// timeOf is a time of summary.json as a value; null where there is none.
func (b *Book) timeOf(text string) any {
	at, err := time.Parse(time.RFC3339Nano, text)
	if err != nil {
		return nil
	}
	return b.dialect.Time(at.UTC())
}
