package store

import (
	"path"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// longestName is how many bytes one part of a path may have.
const longestName = 120

// reserved are names that Windows keeps for devices, whatever their ending.
var reserved = regexp.MustCompile(`(?i)^(con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³]|conin\$|conout\$)(\.|$)`)

// PlainPart is one part of a path as every disk takes it; "" for one that leads
// elsewhere.
func PlainPart(part string) string {
	part = strings.Map(func(c rune) rune {
		switch {
		case c == utf8.RuneError, unicode.IsControl(c), unicode.Is(unicode.Cf, c), strings.ContainsRune(`<>:"|?*#`, c):
			return '_'
		case unicode.IsSpace(c):
			return ' '
		}
		return c
	}, part)
	part = strings.TrimSpace(strings.TrimRight(part, ". "))
	if part == "" || strings.Trim(part, ".") == "" {
		return ""
	}
	if reserved.MatchString(part) || strings.HasPrefix(part, ".") {
		part = "_" + part
	}
	if end := path.Ext(part); len(part) > longestName && len(end) < longestName/2 {
		part = strings.ToValidUTF8(strings.TrimSuffix(part, end)[:longestName-len(end)], "") + end
	} else if len(part) > longestName {
		part = strings.ToValidUTF8(part[:longestName], "")
	}
	return part
}
