package spec

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strconv"
	"unicode/utf16"
)

// escapes are those of a JSON string: of two halves of a character at once, or
// any other.
var escapes = regexp.MustCompile(`\\u[dD][89abAB][0-9a-fA-F]{2}\\u[dD][c-fC-F][0-9a-fA-F]{2}|\\.`)

// yamlOf returns a file as YAML. JSON is YAML, but for the characters that it
// writes as two halves (RFC 8259, section 7); YAML has escapes for whole ones
// only (YAML 1.2.2, section 5.7).
func yamlOf(data []byte) []byte {
	if !json.Valid(data) {
		return data
	}
	return escapes.ReplaceAllFunc(data, func(e []byte) []byte {
		if len(e) == 2 {
			return e
		}
		high, _ := strconv.ParseUint(string(e[2:6]), 16, 16)
		low, _ := strconv.ParseUint(string(e[8:12]), 16, 16)
		return fmt.Appendf(nil, `\U%08X`, utf16.DecodeRune(rune(high), rune(low)))
	})
}
