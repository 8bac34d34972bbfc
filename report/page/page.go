package page

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"html/template"
	"io"
	"strings"
	"sync"
	"unicode/utf8"

	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/report/words"
)

//go:embed html/base.html html/parts.html html/*.css html/*.js
var pageFiles embed.FS

// NewTemplate returns the template of one page: main defines "main", which base.html
// places among what all pages share, with the parts of parts.html.
func NewTemplate(main string) *Template { return &Template{main: main} }

// A Template is a page without its data. It is parsed when it is first asked for: a call of
// the program writes few pages, and most write none.
type Template struct {
	main string
	once sync.Once
	page *template.Template
}

func (t *Template) parsed() *template.Template {
	t.once.Do(func() {
		t.page = template.New("base.html")
		t.page.Funcs(template.FuncMap{
			"text": text, "name": name,
			"rows": func(of Table) (template.HTML, error) { return rows(of, t.page) },
		})
		template.Must(t.page.ParseFS(pageFiles, "html/base.html", "html/parts.html"))
		template.Must(t.page.Parse(t.main))
	})
	return t.page
}

// Execute writes the page. Control characters and ends of lines that came with a
// text from a file go: they mean nothing to a reader, and in a page they are not HTML.
func (t *Template) Execute(w io.Writer, data any) error {
	return t.parsed().Execute(cleaning{w}, data)
}

// cleaning leaves out what [words.Clean] takes out of a text, but for the ends of
// lines that are the page's own. A template writes no character in parts.
type cleaning struct{ io.Writer }

func (c cleaning) Write(p []byte) (int, error) {
	if !bytes.ContainsFunc(p, func(r rune) bool { return unclean(r) || r == utf8.RuneError }) {
		return c.Writer.Write(p) // as nearly all is
	}
	clean := bytes.Map(func(r rune) rune {
		if unclean(r) {
			return -1
		}
		return r
	}, p)
	if _, err := c.Writer.Write(clean); err != nil {
		return 0, err
	}
	return len(p), nil
}

// unclean reports whether a page leaves a character out.
func unclean(r rune) bool {
	switch {
	case r == '\n', r == '\t':
		return false
	case r < ' ', '\x7f' <= r && r <= '\u009f', r == '\u2028', r == '\u2029':
		return true
	}
	return false
}

// text is a text in which names that are written from right to left are elements
// of their own.
func text(s string) template.HTML {
	return template.HTML(isolated.Replace(template.HTMLEscapeString(s)))
}

// isolated puts elements in the place of the marks around a name.
var isolated = strings.NewReplacer(words.Isolate, "<bdi>", words.EndIsolate, "</bdi>")

// name is a name alone, in its own direction.
func name(s string) template.HTML {
	return template.HTML("<bdi>" + template.HTMLEscapeString(words.Clean(s)) + "</bdi>")
}

// policy is the page's Content-Security-Policy: it loads nothing, and no style
// and no script but its own, known by their hashes, has any effect.
func policy(css template.CSS, js template.JS) template.HTMLAttr {
	return template.HTMLAttr(`content="` + policyText(css, js) + `"`)
}

func policyText(css template.CSS, js template.JS) string {
	return "default-src 'none'; style-src " + Hash(string(css)) + "; script-src " + Hash(string(js)) +
		"; img-src data:; base-uri 'none'; form-action 'none'"
}

// Hash is how a policy names a style or a script that stands in a page.
func Hash(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

// The sets of style sheets and scripts that pages have.
var (
	sheetSets  = [][]string{{"base.css"}, {"base.css", "waste.css"}, {"base.css", "waste.css", "client.css"}}
	scriptSets = [][]string{{"base.js"}, {"base.js", MapScript}}
)

// IsPolicy reports whether a page with that Content-Security-Policy runs no styles and
// scripts but those of this program. A server gives such pages only.
func IsPolicy(content string) bool {
	for _, sheets := range sheetSets {
		for _, scripts := range scriptSets {
			if content == policyText(template.CSS(pageFile(sheets...)), template.JS(pageFile(scripts...))) {
				return true
			}
		}
	}
	return false
}

// A Base is what every page has.
type Base struct {
	CSS      template.CSS
	JS       template.JS
	Policy   template.HTMLAttr // what CSS and JS may do
	Units    string            // "us" or "metric": what is shown first
	Window   string            // the title of the window
	Title    string
	Book     string // the season's page; "" where there is none to go back to
	Run      string
	Warnings []string
	Notes    []string
	Cautions []string
	Ammonia  []string // cautions, where a product is anhydrous ammonia
}

// MapScript is the script of a map: it moves and zooms, and what is chosen there
// is read out.
const MapScript = "map.js"

// New makes the base of a page about what (the window names it), with the scripts
// it needs after base.js, which changes units and sorts tables.
func New(u quantity.Units, title, what, run string, scripts ...string) Base {
	css, js := template.CSS(pageFile("base.css")), template.JS(pageFile(append([]string{"base.js"}, scripts...)...))
	return Base{
		CSS: css, JS: js, Policy: policy(css, js),
		Units: [...]string{"us", "metric"}[u], Window: words.Name(title) + " - " + what, Title: title, Run: run,
		Cautions: cautions(),
	}
}

// Styled adds style sheets of this page's own to those of every page.
func (b *Base) Styled(sheets ...string) {
	b.CSS += template.CSS(pageFile(sheets...))
	b.Policy = policy(b.CSS, b.JS)
}

// PolicyText is the page's Content-Security-Policy, for whoever serves it.
func (b *Base) PolicyText() string {
	return strings.TrimSuffix(strings.TrimPrefix(string(b.Policy), `content="`), `"`)
}

// OfField makes the base of a page about one field, with its map, its warnings and
// the cautions that its products ask for.
func OfField(a *assess.Assessment, what string) Base {
	b := New(a.Units, a.FieldName(), what, a.Run, MapScript)
	for _, w := range a.AllWarnings() {
		b.Warnings = append(b.Warnings, words.Warning(w))
	}
	if a.HasAmmonia() {
		b.Ammonia = AmmoniaCautions()
	}
	return b
}

// pageFile returns the text of embedded files, one after the other.
func pageFile(names ...string) string {
	var b strings.Builder
	for _, name := range names {
		text, err := pageFiles.ReadFile("html/" + name)
		if err != nil {
			panic(err) // not embedded: the program is built wrong
		}
		b.Write(text)
	}
	return b.String()
}

// An Entry is one line of a title block.
type Entry struct {
	Name string
	Text words.Text
}
