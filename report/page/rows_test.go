package page

import (
	"bytes"
	"html/template"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"lapwing/report/words"
)

// rowsAsTemplate writes the body of a table as html/template does, which knows by itself what
// is to be escaped where.
const rowsAsTemplate = `{{$columns := .Columns}}{{range .Rows}}<tr{{if .Class}} class="{{.Class}}"{{end}}>{{range $i, $cell := .Cells}}` +
	`{{if .Head}}<th scope="row"{{template "sorted" .}}>{{template "leads" .}}</th>` +
	`{{else}}<td{{if .Class}} class="{{.Class}}"{{end}} data-head="{{(index $columns $i).Name}}"{{template "sorted" .}}>{{template "leads" .}}` +
	`{{with (index $columns $i).Unit}}{{if and .Shown $cell.Text.Shown (ne $cell.Sort "-1")}}<span class="unit"> {{template "q" .}}</span>{{end}}{{end}}</td>{{end}}{{end}}</tr>` +
	"\n{{end}}" +
	`{{define "sorted"}}{{if .Sort}} data-by="{{.Sort}}"{{end}}{{end}}` +
	`{{define "leads"}}{{if .Place}}{{template "place" .Place}}{{else if .Go}}<button type="button" data-go="{{.Go}}" aria-label="{{.Says}}">{{template "said" .}}</button>` +
	`{{else if .Link}}<a href="{{.Link}}">{{template "said" .}}</a>{{else}}{{template "said" .}}{{end}}{{end}}`

// The body of a table is what a template would make of it, whatever stands in its cells.
func TestRowsAreATemplates(t *testing.T) {
	shared := template.New("base.html").Funcs(template.FuncMap{"text": text, "name": name, "rows": func(Table) template.HTML { return "" }})
	template.Must(shared.ParseFS(pageFiles, "html/base.html", "html/parts.html"))
	oracle := template.Must(shared.New("oracle").Parse(rowsAsTemplate))
	quick := NewTemplate(`{{define "main"}}{{end}}`).parsed()
	texts := []string{
		"", "12.3", "-1", "skip 7", `<b class="x">`, "a & b", "it's", "+3 m", "1 = 1 ` ", "\x00\x01", "\xff\xfe", "m²", "شمال", "line\nend",
		words.Isolate + "drill <A>" + words.EndIsolate, "javascript:alert(1)", "fields/a-1/report.html", "../a b/ü?x=1&y=%20#z", "//host", "mailto:x", "{{.}}",
	}
	random := rand.New(rand.NewPCG(5, 12))
	any := func() string { return texts[random.IntN(len(texts))] }
	seldom := func() string {
		if random.IntN(3) > 0 {
			return ""
		}
		return any()
	}
	said := func() words.Text {
		if random.IntN(2) == 0 {
			return words.Same(any())
		}
		return words.Text{Shown: any(), US: any(), Metric: any()}
	}
	for range 2000 {
		var of Table
		for range 1 + random.IntN(4) {
			of.Columns = append(of.Columns, Column{Name: any(), Unit: said()})
		}
		for range random.IntN(3) {
			row := Row{Class: seldom()}
			for range of.Columns {
				cell := Cell{Head: random.IntN(4) == 0, Named: random.IntN(3) == 0, Class: seldom(), Text: said(), Go: seldom(), Says: any(), Link: seldom(), Sort: seldom()}
				if random.IntN(8) == 0 {
					cell.Place = &Place{Way: said(), Geo: "geo:54.7,2.3", Copy: any(), Name: any()}
				}
				row.Cells = append(row.Cells, cell)
			}
			of.Rows = append(of.Rows, row)
		}
		var want bytes.Buffer
		require.NoError(t, oracle.Execute(&want, of))
		got, err := rows(of, quick)
		require.NoError(t, err)
		require.Equal(t, want.String(), string(got))
	}
}
