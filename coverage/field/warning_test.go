package field_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/field"
)

// What is said of a file several times is said once, with how often.
func TestWarningsAreSaidOnce(t *testing.T) {
	said := field.Once([]field.Warning{
		{File: "a.csv", Line: 3, Text: "no position", Count: 2}, {Text: "no time zone"}, {File: "a.csv", Line: 9, Text: "no position"},
		{File: "b.csv", Line: 3, Text: "no position"},
	})
	assert.Equal(t, []field.Warning{
		{File: "a.csv", Line: 3, Text: "no position", Count: 3}, {Text: "no time zone"}, {File: "b.csv", Line: 3, Text: "no position"},
	}, said)
}
