package report

import (
	"bytes"
	"encoding/csv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What a spreadsheet would take for a formula is text, and numbers are numbers.
func TestCellsAreInert(t *testing.T) {
	for in, want := range map[string]string{
		"=1+1": "'=1+1", "+cmd": "'+cmd", "-2+3": "'-2+3", "@SUM(A1)": "'@SUM(A1)", "|calc": "'|calc",
		"\t=1": "' =1", "\r\n=1": "'  =1", "\u2028@a": "' @a", " =1": "' =1", "\x00=1": "'=1", "＝1": "'＝1",
		"=": "'=", "-": "'-", "- drill": "'- drill", "-1e5x": "'-1e5x", "-Inf": "'-Inf", "-0x1p4": "'-0x1p4",
		"-12.5": "-12.5", "+1e-7": "+1e-7", "-.5": "-.5", "0.25": "0.25", "": "", "a=b": "a=b", "drill -2": "drill -2", "'=1": "'=1",
		"two\nlines": "two lines", "bell\a": "bell", "Läng, \"east\"": "Läng, \"east\"",
	} {
		var b bytes.Buffer
		require.NoError(t, WriteCSV(&b, "run", [][]string{{"name", "lapwing_run"}, {in, "run"}}))
		lines, err := csv.NewReader(&b).ReadAll()
		require.NoError(t, err)
		assert.Equal(t, want, lines[1][0], "%q", in)
	}
}

// Every table says of which run it is.
func TestEmptyTableHasItsRun(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, WriteCSV(&b, "0123456789ab", [][]string{{"product", "lapwing_run"}}))
	assert.Equal(t, "product,lapwing_run 0123456789ab\r\n", b.String())
}
