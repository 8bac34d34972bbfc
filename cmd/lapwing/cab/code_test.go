package cab

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The code has its quiet zone, and its three finder patterns (ISO/IEC 18004, 6.3.3: a
// dark square of 3 in a light one of 5 in a dark one of 7) where they belong.
func TestQRText(t *testing.T) {
	text, err := qrText("http://192.168.4.1:8080/#TUVNQABQSGM6QQJIQX5FVNUFHA")
	require.NoError(t, err)
	var rows [][]bool
	for _, line := range strings.Split(strings.TrimSuffix(text, "\n"), "\n") {
		line = strings.TrimSuffix(strings.TrimPrefix(line, "\x1b[30;107m"), "\x1b[0m")
		var upper, lower []bool
		for _, c := range line {
			upper, lower = append(upper, c == '█' || c == '▀'), append(lower, c == '█' || c == '▄')
		}
		rows = append(rows, upper, lower)
	}
	side := len(rows[0])
	require.GreaterOrEqual(t, len(rows), side)
	for k := range side {
		for m := range quietZone {
			assert.False(t, rows[m][k] || rows[k][m] || rows[side-1-m][k] || rows[k][side-1-m], "the margin is light")
		}
	}
	finder := func(x, y int) {
		for dy := range 7 {
			for dx := range 7 {
				ring := max(max(dx, 6-dx), max(dy, 6-dy)) - 3 // 0 in the middle, 3 outside
				assert.Equal(t, ring != 2, rows[y+dy][x+dx], "module %d, %d", x+dx, y+dy)
			}
		}
	}
	far := side - quietZone - 7
	finder(quietZone, quietZone)
	finder(far, quietZone)
	finder(quietZone, far)
}
