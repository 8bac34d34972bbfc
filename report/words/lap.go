package words

import (
	"math"
	"strings"

	"lapwing/coverage/quantity"
)

// LapLength writes a length of a lap, in metres, to a millimetre or a tenth of an inch:
// the whole inches that do for skips would hide how a line is driven.
func LapLength(u quantity.Units, metres float64) string {
	const inches, centimetres = 36, 100 // from there on in feet and metres
	if u == quantity.Metric {
		if cm := metres * 100; cm < centimetres {
			return quantity.Number(cm, 1) + " cm"
		}
		return quantity.Number(metres, 2) + " m"
	}
	if in := metres / quantity.Inch; in < inches {
		return quantity.Number(in, 1) + " in"
	}
	return quantity.Number(metres/quantity.Foot, 1) + " ft"
}

// SignedLap writes a lap, or a gap with a minus.
func SignedLap(u quantity.Units, metres float64) string {
	text := LapLength(u, math.Abs(metres))
	if metres < 0 && text != LapLength(u, 0) {
		return "\u2212" + strings.Replace(text, " ", "\u00a0", 1) // [Typeset] knows no number by this sign
	}
	return text
}
