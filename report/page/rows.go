package page

import (
	"html/template"
	"strings"

	"lapwing/report/words"
)

// rows writes the body of a table: a page may have thousands of cells, and a template takes
// ten times as long for each. Only what leads away from it is left to its part of parts.html.
func rows(of Table, parts *template.Template) (template.HTML, error) {
	var b strings.Builder
	for _, row := range of.Rows {
		b.WriteString("<tr")
		attribute(&b, "class", row.Class)
		b.WriteByte('>')
		for i := range row.Cells {
			c, column := &row.Cells[i], &of.Columns[i]
			end := "</td>"
			if c.Head {
				b.WriteString(`<th scope="row"`)
				end = "</th>"
			} else {
				b.WriteString("<td")
				attribute(&b, "class", c.Class)
				b.WriteString(` data-head="` + inAttribute(column.Name) + `"`)
			}
			attribute(&b, "data-by", c.Sort)
			b.WriteByte('>')
			switch {
			case c.Place == nil && c.Go != "":
				b.WriteString(`<button type="button" data-go="` + inAttribute(c.Go) + `" aria-label="` + inAttribute(c.Says) + `">`)
				c.said(&b)
				b.WriteString("</button>")
			case c.Place != nil || c.Link != "":
				if err := parts.ExecuteTemplate(&b, "cell", c); err != nil {
					return "", err
				}
			default:
				c.said(&b)
			}
			if !c.Head && column.Unit.Shown != "" && c.Text.Shown != "" && c.Sort != "-1" {
				b.WriteString(`<span class="unit"> `)
				inBoth(&b, column.Unit)
				b.WriteString("</span>")
			}
			b.WriteString(end)
		}
		b.WriteString("</tr>\n")
	}
	return template.HTML(b.String()), nil
}

// said writes the text of a cell, as the part "said" does.
func (c *Cell) said(b *strings.Builder) {
	if c.Named {
		b.WriteString(string(name(c.Text.Shown)))
		return
	}
	inBoth(b, c.Text)
}

// inBoth writes what the part "q" does.
func inBoth(b *strings.Builder, t words.Text) {
	if t.US == t.Metric {
		b.WriteString(string(text(t.Shown)))
		return
	}
	b.WriteString(`<span class="q" data-us="` + inAttribute(t.US) + `" data-metric="` + inAttribute(t.Metric) + `">` + string(text(t.Shown)) + "</span>")
}

// attribute writes an attribute, if it says anything.
func attribute(b *strings.Builder, name, value string) {
	if value != "" {
		b.WriteString(" " + name + `="` + inAttribute(value) + `"`)
	}
}

// inAttribute is a text as a template has it in an attribute.
func inAttribute(s string) string {
	return strings.ReplaceAll(template.HTMLEscapeString(s), "+", "&#43;")
}
