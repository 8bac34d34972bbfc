package page

import (
	"html/template"
	"strings"
)

// Sheet is the style of all pages, for a page that is none of the set.
func Sheet() template.CSS { return template.CSS(pageFile("base.css")) }

// Inline are the styles and scripts that stand in pages of the set, as they stand
// there. A page that shows others in a frame needs them: its policy is theirs too.
func Inline() (styles []template.CSS, scripts []template.JS) {
	for _, sheets := range sheetSets {
		styles = append(styles, template.CSS(pageFile(sheets...)))
	}
	for _, names := range scriptSets {
		scripts = append(scripts, template.JS(pageFile(names...)))
	}
	return styles, scripts
}

// Hatches are the hatchings of marked ground, for legends and small maps: what
// elements of the classes skip, overlap and so on are filled with.
func Hatches() template.HTML {
	var b strings.Builder
	if err := NewTemplate(`{{define "main"}}{{end}}`).parsed().ExecuteTemplate(&b, "hatch", "k"); err != nil {
		panic(err) // into memory, of our own text: the program is built wrong
	}
	return template.HTML(b.String())
}
