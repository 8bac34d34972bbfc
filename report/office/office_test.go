package office

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/report/page"
)

// Each page stands in the frame of all, with the style that the policy names, and what
// came from people is text.
func TestPages(t *testing.T) {
	frame := Frame{Title: "A title", Trouble: "<b>no & yes"}
	for _, p := range []any{&SignIn{Frame: frame}, &Fields{Frame: frame}, &People{Frame: frame}, &Account{Frame: frame},
		&ToLink{Frame: frame}, &Trail{Frame: frame}, &Wrong{Frame: frame}} {
		var b strings.Builder
		require.NoError(t, Write(&b, p), "%T", p)
		html := b.String()
		assert.Contains(t, html, "<h1>A title</h1>", "%T", p)
		assert.Contains(t, html, "&lt;b&gt;no &amp; yes", "%T", p)
		_, style, _ := strings.Cut(html, "<style>")
		style, _, ok := strings.Cut(style, "</style>")
		assert.True(t, ok && strings.HasSuffix(html, "</html>\n"), "%T is whole", p)
		assert.Contains(t, Policy(), page.Hash(style), "%T", p)
	}
}
