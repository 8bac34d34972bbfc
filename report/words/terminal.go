package words

import (
	"bytes"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Width is how many columns a text for a terminal takes: terminals of 80 wrap
// a full line.
const Width = 79

// Plain makes a name from a file safe to print: control characters, among
// them the ones that steer terminals or turn the direction of writing, become
// question marks, and long names are cut.
func Plain(s string, most int) string {
	s = strings.Map(func(c rune) rune {
		if c == isolate || c == endIsolate {
			return -1 // of a name in a sentence
		}
		if unicode.IsControl(c) || unicode.Is(unicode.Cf, c) || c == unicode.ReplacementChar {
			return '?'
		}
		return c
	}, s)
	if runes := []rune(s); len(runes) > most {
		return string(runes[:most-3]) + "..."
	}
	return s
}

// Pad fills s up with spaces to the given number of characters.
func Pad(s string, to int) string {
	return s + strings.Repeat(" ", max(0, to-utf8.RuneCountInString(s)))
}

// Wrap writes a paragraph in lines of at most [Width] columns. A number
// stays with its unit.
func Wrap(b *bytes.Buffer, s string) { Hang(b, "", s) }

// Hang is [Wrap] with a lead before the first line; the others begin below what
// follows it.
func Hang(b *bytes.Buffer, lead, s string) {
	b.WriteString(lead)
	begin := utf8.RuneCountInString(lead)
	column := begin
	words := strings.Fields(s)
	for len(words) > 0 {
		word := words[0]
		words = words[1:]
		for len(words) > 0 && isNumber(word) {
			word += " " + words[0]
			words = words[1:]
		}
		n := utf8.RuneCountInString(word)
		switch {
		case column == begin:
		case column+1+n > Width:
			b.WriteString("\n" + strings.Repeat(" ", begin))
			column = begin
		default:
			b.WriteByte(' ')
			column++
		}
		b.WriteString(word)
		column += n
	}
	b.WriteByte('\n')
}

func isNumber(word string) bool {
	word = strings.TrimPrefix(word, "(")
	return strings.Trim(word, "0123456789.,") == "" && word != "" && !strings.HasSuffix(word, ".") && !strings.HasSuffix(word, ",")
}
