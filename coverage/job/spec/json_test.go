package spec

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A JSON file is read as it is meant, also where it writes a character as two
// halves (RFC 8259, section 7, has the example of the G clef).
func TestJSONIsYAML(t *testing.T) {
	for text, want := range map[string]string{
		`{"field": "\uD834\uDD1E"}`:          "\U0001D11E",
		`{"field": "a\\\ud83d\ude9c\u00e9"}`: "a\\\U0001F69Cé",
		`{"field": "\\ud83d\\ude9c"}`:        `\ud83d\ude9c`,
		`field: '\ud83d\ude9c'`:              `\ud83d\ude9c`,
	} {
		top, err := parse("job.json", []byte(text))
		require.NoError(t, err, text)
		assert.Equal(t, want, top.node.Content[1].Value, text)
	}
	_, err := parse("job.json", []byte(`{"field": "\ud83d"}`))
	assert.ErrorContains(t, err, "job.json:1: not YAML")
}
