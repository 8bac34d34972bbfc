package job

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
)

// starterFiles are of a drill that goes on sowing after its starter has run
// out: 40 fixes, 11 m apart, the last 20 without starter; the bar is up for
// the last ten.
func starterFiles(working string) map[string]string {
	var day strings.Builder
	day.WriteString("time,lat,lon,working,Starter On\n")
	bit := map[bool]int{true: 1}
	for i := range 40 {
		fmt.Fprintf(&day, "2026-03-02T09:00:%02dZ,%.4f,10.001,%d,%d\n", i, 54+0.0001*float64(i), bit[i < 30], bit[i < 20 || i > 35])
	}
	return map[string]string{"day.csv": day.String(), "job.yaml": plainJob + `products:
  - {name: seed, rate: 180 kg/ha}
  - {name: starter, rate: 100 L/ha` + working + "}\n"}
}

func TestProductWithItsOwnColumn(t *testing.T) {
	j, err := load(t, starterFiles(", working: starter_on"))
	require.NoError(t, err)
	require.Len(t, j.Own, 1)
	assert.Equal(t, 1, j.Own[0].Product)
	fixes := j.Own[0].Machines[0].Tracks[0].Fixes
	require.Len(t, fixes, 40)
	for i, f := range fixes {
		assert.Equal(t, i < 20, f.Working, "the column and the bar at work")
		assert.Equal(t, i < 30, j.Machines[0].Tracks[0].Fixes[i].Working, "the machine is left as it was")
	}

	m, err := coverage.Measure(j.Fields[0], j.Machines, j.Options)
	require.NoError(t, err)
	r, err := agronomy.ReckonOwn(m, j.Products, j.Own, j.Crop, j.Options)
	require.NoError(t, err)
	assert.Nil(t, r.Accounts[0].Product.Map)
	own := r.Accounts[1].Product.Map
	require.NotNil(t, own)
	// 19 and 29 steps, along a straight line
	assert.InEpsilon(t, 19.0/29, own.Totals.Covered.SquareMetres()/m.Totals.Covered.SquareMetres(), 0.001)
	assert.Equal(t, m.Totals.Field, own.Totals.Field)
	assert.Nil(t, j.Products[1].Map, "a job is left as it was read")
}

func TestProductColumnWrong(t *testing.T) {
	for working, want := range map[string]string{
		", working: starter": `product starter, working: found "starter", no column of `,
		", working: [a, b]":  "product starter, working: found a list, want the name of a column of the logs",
		`, working: "--"`:    `product starter, working: found "--", want the name of a column of the logs`,
		", working: working": "",
	} {
		_, err := load(t, starterFiles(working))
		if want == "" {
			require.NoError(t, err, working)
			continue
		}
		require.Error(t, err, working)
		assert.Contains(t, err.Error(), "job.yaml:9: "+want)
	}
}
