package words

import (
	"strings"

	"lapwing/coverage/quantity"
)

// A Text is a text in both systems of units. The page shows one of them and
// can change over.
type Text struct{ Shown, US, Metric string }

// Both writes a text in both systems of units, u shown first.
func Both(u quantity.Units, write func(u quantity.Units) string) Text {
	d := Text{US: Typeset(write(quantity.US)), Metric: Typeset(write(quantity.Metric))}
	d.Shown = d.US
	if u == quantity.Metric {
		d.Shown = d.Metric
	}
	return d
}

// Same is a text without a unit.
func Same(s string) Text { return Text{s, s, s} }

// And is one text after another.
func (t Text) And(o Text) Text {
	return Text{t.Shown + " " + o.Shown, t.US + " " + o.US, t.Metric + " " + o.Metric}
}

// Typeset puts the raised 2 that terminals may lack, and keeps a number on one
// line with its unit.
func Typeset(s string) string {
	words := strings.Split(s, " ")
	var b strings.Builder
	for i, word := range words {
		if i > 0 {
			if isNumber(words[i-1]) {
				b.WriteString("\u00a0")
			} else {
				b.WriteByte(' ')
			}
		}
		if strings.TrimRight(word, ".,;") == "m2" {
			word = "m²" + word[2:]
		}
		b.WriteString(word)
	}
	return b.String()
}
