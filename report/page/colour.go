package page

import (
	"fmt"
	"image/color"
	"strings"
)

// Colour is a colour of the light page by its name in base.css, such as "skip", as
// #rrggbb: for files that others draw. The style sheet alone says which it is; a
// name that it does not have is a mistake of the program.
func Colour(name string) string {
	for range 2 { // a name may stand for another
		_, value, _ := strings.Cut(styles, "--"+name+": ") // the first is that of the light page
		value, _, found := strings.Cut(value, ";")
		if !found {
			break
		}
		if strings.HasPrefix(value, "#") {
			return value
		}
		name = strings.TrimSuffix(strings.TrimPrefix(value, "var(--"), ")")
	}
	panic(fmt.Sprintf("base.css has no colour %q", name))
}

// RGBA is [Colour] for what does not take #rrggbb.
func RGBA(name string) color.RGBA {
	c := color.RGBA{A: 0xff}
	if _, err := fmt.Sscanf(Colour(name), "#%02x%02x%02x", &c.R, &c.G, &c.B); err != nil {
		panic(err) // the style sheet has a colour that is none
	}
	return c
}

var styles = pageFile("base.css")
