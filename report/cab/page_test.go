package cab

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/quantity"
)

// The page is about the field by its name, which is text, and has the cautions of ammonia
// where a product is ammonia.
func TestPageOfAField(t *testing.T) {
	for _, ammonia := range []bool{true, false} {
		var b strings.Builder
		require.NoError(t, New(quantity.US, "north <40>", "enter();", ammonia).Write(&b))
		assert.Contains(t, b.String(), `<h1 id="field">north &lt;40&gt;</h1>`)
		assert.Equal(t, ammonia, strings.Contains(b.String(), "<h3>Anhydrous ammonia</h3>"))
		assert.True(t, strings.HasSuffix(b.String(), "</html>\n"), "it is whole")
	}
}
