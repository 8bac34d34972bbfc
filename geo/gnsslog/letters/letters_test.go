package letters

import (
	"bytes"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// wide is a text of plain letters in UTF-16, with the high byte first or last.
func wide(text string, highFirst bool) string {
	var b strings.Builder
	for i := range len(text) {
		if highFirst {
			b.WriteByte(0)
		}
		b.WriteByte(text[i])
		if !highFirst {
			b.WriteByte(0)
		}
	}
	return b.String()
}

// One text however a file writes it, whole and as it comes.
func TestTextsAreTheSame(t *testing.T) {
	const plain = "lat,lon\n1,2\n"
	long := plain + strings.Repeat("3,4\n", 100)
	for name, c := range map[string][2]string{
		"plain":                     {plain, plain},
		"with a mark":               {"\xef\xbb\xbf" + plain, plain},
		"low byte first":            {wide(plain, false), plain},
		"high byte first":           {wide(plain, true), plain},
		"low byte first, marked":    {"\xff\xfe" + wide(plain, false), plain},
		"high byte first, marked":   {"\xfe\xff" + wide(plain, true), plain},
		"low byte first, long":      {wide(long, false), long},
		"high byte first, long":     {wide(long, true), long},
		"returns":                   {"\rlat,lon\r1,2\r", "\nlat,lon\n1,2\n"},
		"returns, low byte first":   {wide("lat,lon\r1,2\r", false), plain},
		"both ends":                 {"lat,lon\r\n1,2\r\n", "lat,lon\r\n1,2\r\n"},
		"zeros here and there":      {"l\x00a\x00t,lon\n1,2\n", "l\x00a\x00t,lon\n1,2\n"},
		"too short to tell, low":    {"a\x00b\x00c\x00", "a\x00b\x00c\x00"},
		"just enough to tell":       {"a\x00b\x00c\x00d\x00", "abcd"},
		"nothing":                   {"", ""},
		"zeros in both bytes, once": {"a\x00\x00b" + wide("lat,lon", false), "a\x00\x00b" + wide("lat,lon", false)},
	} {
		assert.Equal(t, c[1], string(Of([]byte(c[0]))), name)
		from, err := From([]byte(c[0]), bytes.NewReader([]byte(c[0])))
		require.NoError(t, err, name)
		all, err := io.ReadAll(from)
		require.NoError(t, err, name)
		assert.Equal(t, c[1], string(all), name)
	}
}
