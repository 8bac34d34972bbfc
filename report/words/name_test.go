package words

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestName(t *testing.T) {
	for in, want := range map[string]string{
		"North Forty":                             "North Forty",
		"שדה צפון":                                Isolate + "שדה צפון" + EndIsolate,
		"drill شمال":                              Isolate + "drill شمال" + EndIsolate,
		"a\u202eb\u2069c":                         "abc",
		"a\nb\tc\u2028d\x1b[0m\a":                 "a b c d[0m",
		"\u200dfamily \U0001F468\u200d\U0001F469": "\u200dfamily \U0001F468\u200d\U0001F469",
	} {
		assert.Equal(t, want, Name(in), "%q", in)
	}
	assert.Equal(t, Isolate+"שדה ..."+EndIsolate, Short("שדה צפון", 7))
	assert.Equal(t, "?שדה?", Plain("\u202eשדה\u202c", 9), "a terminal shows that something is there")
	assert.Equal(t, "at שדה", Plain("at "+Name("שדה"), 30))
}
