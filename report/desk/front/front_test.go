package front

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/report/page"
)

// The page's policy allows the style and each script that stand in it, served and saved.
func TestPolicyAllowsThePage(t *testing.T) {
	served, policy := Served()
	saved, err := Saved("1", Engine{Program: []byte("program"), Glue: []byte("glue()")})
	require.NoError(t, err)
	_, own, _ := strings.Cut(string(saved), `http-equiv="Content-Security-Policy" content="`)
	own, _, _ = strings.Cut(own, `"`)
	for name, html := range map[string]string{policy: string(served), own: string(saved)} {
		style, js := between(html, "<style>", "</style>"), between(html, "<script>", "</script>")
		require.NotEmpty(t, style)
		require.NotEmpty(t, js)
		assert.Contains(t, name, page.Hash(style))
		assert.Contains(t, name, page.Hash(js))
		assert.True(t, strings.HasSuffix(html, "</html>\n"), "it is whole")
	}
}

// between is the first text between two marks.
func between(text, from, to string) string {
	_, text, _ = strings.Cut(text, from)
	text, _, _ = strings.Cut(text, to)
	return text
}
