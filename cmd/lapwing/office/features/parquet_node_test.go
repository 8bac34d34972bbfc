package features_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book"
)

// readParquet prints the rows of a file as JSON, the shapes as GeoJSON, since it knows
// GeoParquet.
const readParquet = `
import { asyncBufferFromFile, parquetReadObjects } from 'hyparquet'
import { compressors } from 'hyparquet-compressors'
const rows = await parquetReadObjects({ file: await asyncBufferFromFile(process.argv[1]), compressors })
console.log(JSON.stringify(rows, (name, v) => typeof v === 'bigint' ? Number(v) : v))
`

// Another reader of Parquet, hyparquet (https://github.com/hyparam/hyparquet), finds in a file
// the very features that are given as GeoJSON. LAPWING_HYPARQUET is the node_modules that has
// it, with hyparquet-compressors.
func TestAgainstHyparquet(t *testing.T) {
	modules := os.Getenv("LAPWING_HYPARQUET")
	node, err := exec.LookPath("node")
	if modules == "" || err != nil {
		t.Skip("no LAPWING_HYPARQUET or no node: hyparquet was not asked (npm install hyparquet hyparquet-compressors)")
	}
	h := newHouse(t)
	for _, l := range book.Layers {
		res, data := h.get(t, "max", "/collections/"+l.Name+"/items.parquet")
		require.Equal(t, http.StatusOK, res.StatusCode)
		path := filepath.Join(t.TempDir(), l.Name+".parquet")
		require.NoError(t, os.WriteFile(path, data, 0o644))
		c := exec.CommandContext(t.Context(), node, "--input-type=module", "-e", readParquet, path)
		c.Dir = filepath.Dir(modules)
		var said, wrong bytes.Buffer
		c.Stdout, c.Stderr = &said, &wrong
		require.NoError(t, c.Run(), wrong.String())
		var rows []map[string]json.RawMessage
		require.NoError(t, json.Unmarshal(said.Bytes(), &rows))
		want := h.page(t, "max", "/collections/"+l.Name+"/items?limit=1000")
		require.Len(t, rows, len(want.Features), l.Name)
		for i, row := range rows {
			f := want.Features[i]
			assert.Equal(t, fmt.Sprint(f.ID), string(row["id"]))
			var shape struct{ Coordinates json.RawMessage }
			require.NoError(t, json.Unmarshal(row["geometry"], &shape))
			assert.JSONEq(t, string(f.Geometry.Coordinates), string(shape.Coordinates), l.Name)
			for _, p := range l.Properties {
				if p.Kind == book.Moment {
					continue // it has milliseconds here and none there
				}
				value, err := json.Marshal(f.Properties[p.Name])
				require.NoError(t, err)
				assert.JSONEq(t, string(value), string(row[p.Name]), "%s of %s", p.Name, l.Name)
			}
		}
	}
}
