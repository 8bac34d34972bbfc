package projection

import (
	"strings"
	"unicode"
)

// letters returns the letters and digits of a name in upper case, so that
// "D_North_American_1983" and "North American 1983" are one but for the D.
func letters(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, strings.ToUpper(s))
}

// plain is a name's letters and digits, in lower case.
func plain(name string) string { return strings.ToLower(letters(name)) }

// tidy makes one line of a text that a file gives, for messages and notes.
func tidy(text string) string {
	text = strings.Join(strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsGraphic(r) || unicode.IsSpace(r) }), " ")
	if long := []rune(text); len(long) > 80 {
		text = string(long[:80])
	}
	return text
}
