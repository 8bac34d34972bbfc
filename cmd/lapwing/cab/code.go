package cab

import (
	"strings"

	"rsc.io/qr"
)

// quietZone is the blank margin that a reader needs about a QR code, in modules
// (ISO/IEC 18004: four).
const quietZone = 4

// qrText draws an address as a QR code of half blocks, two rows of modules in a line of
// text: dark on light whatever the terminal's colours, for which it sets its own.
func qrText(address string) (string, error) {
	code, err := qr.Encode(address, qr.L)
	if err != nil {
		return "", err
	}
	dark := func(x, y int) bool { return code.Black(x-quietZone, y-quietZone) }
	side := code.Size + 2*quietZone
	var out strings.Builder
	for y := 0; y < side; y += 2 {
		out.WriteString("\x1b[30;107m") // black on white
		for x := range side {
			switch upper, lower := dark(x, y), dark(x, y+1); {
			case upper && lower:
				out.WriteString("█")
			case upper:
				out.WriteString("▀")
			case lower:
				out.WriteString("▄")
			default:
				out.WriteString(" ")
			}
		}
		out.WriteString("\x1b[0m\n")
	}
	return out.String(), nil
}
