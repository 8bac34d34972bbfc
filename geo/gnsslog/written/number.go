package written

import (
	"bytes"
	"encoding/binary"
	"strconv"
)

// powers are the powers of ten that a float64 holds exactly.
var powers = [...]float64{
	1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// Number reads a decimal number, to the last bit as strconv does. With
// comma, a comma may stand for the point. Words such as "inf" and hexadecimal
// are no numbers here, nor is what a float64 cannot hold.
//
// A number whose digits make a whole number under 2^53 is that whole number
// divided by a power of ten: both are exact and the division rounds once, so
// the result is the nearest float64. All others go to strconv.
func Number(text []byte, comma bool) (float64, bool) {
	at, negative := 0, false
	if len(text) > 0 && (text[0] == '-' || text[0] == '+') {
		negative = text[0] == '-'
		at = 1
	}
	var digits uint64
	point, count := -1, 0
	for ; at < len(text); at++ {
		c := text[at]
		switch {
		case c-'0' <= 9:
			if digits >= 1<<53/10 {
				return slowNumber(text, comma)
			}
			digits = digits*10 + uint64(c-'0')
			count++
		case (c == '.' || comma && c == ',') && point < 0:
			point = count
			if eight, ok := eightDigits(text[at+1:]); ok && digits < 1<<53/100_000_000-1 {
				digits = digits*1e8 + eight
				count += 8
				at += 8
			}
		default:
			return slowNumber(text, comma)
		}
	}
	if count == 0 {
		return 0, false
	}
	value := float64(digits)
	if point >= 0 {
		if count-point >= len(powers) {
			return slowNumber(text, comma)
		}
		value /= powers[count-point]
	}
	if negative {
		value = -value
	}
	return value, true
}

// eightDigits reads the first eight bytes as a whole number, all at once, if they are
// digits: pairs of neighbours are put together, then pairs of those.
func eightDigits(text []byte) (uint64, bool) {
	const high, zeros, sixes = 0xf0f0f0f0f0f0f0f0, 0x3030303030303030, 0x0606060606060606
	if len(text) < 8 {
		return 0, false
	}
	w := binary.LittleEndian.Uint64(text)
	if w&high != zeros || (w+sixes)&high != zeros {
		return 0, false
	}
	w -= zeros
	w = (w*10 + w>>8) & 0x00ff00ff00ff00ff
	w = (w*100 + w>>16) & 0x0000ffff0000ffff
	return w&0xffff*10000 + w>>32, true
}

func slowNumber(text []byte, comma bool) (float64, bool) {
	for _, c := range text {
		if c-'0' > 9 && bytes.IndexByte([]byte("+-.,eE"), c) < 0 {
			return 0, false
		}
	}
	if comma && bytes.IndexByte(text, '.') < 0 {
		text = bytes.Replace(text, []byte(","), []byte("."), 1)
	}
	value, err := strconv.ParseFloat(string(text), 64)
	return value, err == nil
}
