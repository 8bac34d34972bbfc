package shape

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// However the properties of a shape are changed by a byte: either they are said
// not to be plain, or encoding/json reads the same.
func TestPlainShape(t *testing.T) {
	read, told := 0, 0
	check := func(text []byte) {
		got, ok := plainShape(text)
		if !ok {
			told++
			return
		}
		read++
		want, err := shapeWith(text)
		require.NoError(t, err, "%s", text)
		assert.Equal(t, want, got, "%s", text)
	}
	for _, text := range []string{
		`{"kind":"skip","id":12,"area_m2":124.86,"cause":"lowered late","headland":false}`,
		`{"kind":"overlap","depth":2,"area_m2":1e-9,"wasted_kg seed":0.5,"currency":"USD","passes":[3,41]}`,
		`{"kind":"pass","id":1,"machine":"drill A"}`,
	} {
		_, ok := plainShape([]byte(text))
		require.True(t, ok, text)
		for at := range len(text) {
			check([]byte(text[:at]))
			check([]byte(text[:at] + text[at+1:]))
			for _, c := range "0-.+e,[]{}\": \n\\an\u00e9" {
				check([]byte(text[:at] + string(c) + text[at+1:]))
				check([]byte(text[:at] + string(c) + text[at:]))
			}
		}
	}
	for _, other := range []string{``, `{}`, `{"kind":null}`, `{"id":1.5}`, `{"id":"1"}`, `{"passes":3}`, `{"passes":[]}`, `{"kind":{"a":1}}`, `{"name":"a\"b"}`, `{"name":"é"}`} {
		_, ok := plainShape([]byte(other))
		assert.False(t, ok, other)
	}
	t.Logf("%d read, %d not plain", read, told)
	assert.Greater(t, read, 1000)
	assert.Greater(t, told, 1000)
}
