// Package front is the page of the desk: one page, served by the program or saved as
// a file that carries its engine.
//
//	html/front.html  the template
//	html/front.css   its style, after that of all pages
//	html/*.js        its scripts, in the order of scripts below; held.js is of a served desk only
//	html/worker.js   the worker of the saved page, which runs the engine
//
// Both are the same but for the carrier: what brings a question to the core of the
// desk (package desk) and files to its store. carrier-served.js asks the server that
// the page came from, carrier-saved.js a worker, and the browser's own storage keeps
// the files. All other scripts know only ask and addFile.
//
// The saved page asks nothing of any net: its policy forbids that, and the browser
// holds it to it.
package front

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"html/template"
	"regexp"
	"strings"
	"sync"

	"lapwing/report/page"
)

//go:embed html
var files embed.FS

// scripts are what the page runs, as one: the carrier stands first.
var scripts = []string{"draw.js", "answers.js", "ground.js", "front.js"}

// An Engine is what the saved page carries.
type Engine struct {
	Program []byte // WebAssembly of cmd/page
	Glue    []byte // wasm_exec.js of the compiler that made it
}

// A Page is the page with what its template places.
type Page struct {
	Standalone bool
	Farm       string // whose desk it is, on a server for many; "" for one's own
	Version    string
	CSS        template.CSS
	Hatches    template.HTML // of marked ground
	JS         template.JS
	Policy     template.HTMLAttr // what CSS and JS may do
	// What the saved page carries, as text of elements that are not run.
	Worker, Engine template.HTML
	Size           int // of the engine, packed, in bytes
}

// Served is the page as a server gives it, with the policy for its
// Content-Security-Policy header. The server answers enter.js beside it.
func Served() (html []byte, policy string) {
	p := newPage("", false)
	return p.html(), p.policy(" 'self'", "'self'") + "; frame-ancestors 'none'"
}

// ServedTo is [Served] of the desk of a farm, on a server for many.
func ServedTo(farm string) (html []byte, policy string) {
	p := newPage("", false)
	p.Farm = farm
	return p.html(), p.policy(" 'self'", "'self'") + "; frame-ancestors 'none'"
}

// Saved is the page as a file that carries its engine.
func Saved(version string, e Engine) ([]byte, error) {
	p := newPage(version, true)
	var packed bytes.Buffer
	z, err := gzip.NewWriterLevel(&packed, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := z.Write(e.Program); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	p.Size = packed.Len()
	p.Engine = template.HTML(letters(packed.Bytes()))
	p.Worker = template.HTML(strings.ReplaceAll(plain(string(e.Glue)+text("worker.js")), "</script", `<\/script`))
	return p.html(), nil
}

// remark is a line of a script that holds nothing but a comment.
var remark = regexp.MustCompile(`(?m)^[ \t]*//.*\n`)

// plain is a script without the lines that are comments: the saved page has to stay small.
func plain(script string) string { return remark.ReplaceAllString(script, "") }

func newPage(version string, saved bool) *Page {
	run := append([]string{"carrier-served.js"}, append(scripts, "held.js")...)
	if saved {
		run = append([]string{"carrier-saved.js"}, scripts...)
	}
	p := &Page{
		Standalone: saved, Version: version,
		Hatches: page.Hatches(),
		CSS:     page.Sheet() + template.CSS(text("front.css")),
		JS:      template.JS(text(run...)),
	}
	script, connect := " 'wasm-unsafe-eval'", "'none'"
	if saved {
		p.JS = template.JS(plain(string(p.JS)))
	} else {
		script, connect = " 'self'", "'self'"
	}
	p.Policy = template.HTMLAttr(`content="` + p.policy(script, connect) + `"`)
	return p
}

// policy is the page's Content-Security-Policy. A document that the page shows in a
// frame inherits it, so it allows the styles and scripts of documents too.
func (p *Page) policy(script, connect string) string {
	styles, others := page.Inline()
	var style, run strings.Builder
	for _, s := range append([]template.CSS{p.CSS}, styles...) {
		style.WriteString(" " + page.Hash(string(s)))
	}
	for _, s := range append([]template.JS{p.JS}, others...) {
		run.WriteString(" " + page.Hash(string(s)))
	}
	return "default-src 'none'; style-src" + style.String() + "; script-src" + run.String() + script +
		"; connect-src " + connect + "; img-src data: blob: 'self'; worker-src blob: 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'"
}

func (p *Page) html() []byte {
	var b bytes.Buffer
	if err := layout().Execute(&b, p); err != nil {
		panic(err) // into memory, of our own texts: the program is built wrong
	}
	return b.Bytes()
}

var layout = sync.OnceValue(func() *template.Template {
	return template.Must(template.ParseFS(files, "html/front.html"))
})

// letters writes bytes in the 93 printable letters of ASCII that are neither blank nor
// <, which could end the element that they stand in: two letters for 13 bits, the lowest
// first, and a line break now and then, which mails want. base64 would need a twelfth
// more.
func letters(data []byte) string {
	const bits, line = 13, 1000
	letter := func(v uint32) byte {
		if v += '!'; v >= '<' {
			v++
		}
		return byte(v)
	}
	var b strings.Builder
	var held uint32
	n, pairs := 0, 0
	put := func() {
		v := held & (1<<bits - 1)
		b.WriteByte(letter(v % 93))
		b.WriteByte(letter(v / 93))
		held >>= bits
		n -= bits
		if pairs++; pairs%(line/2) == 0 {
			b.WriteByte('\n')
		}
	}
	for _, c := range data {
		held |= uint32(c) << n
		if n += 8; n >= bits {
			put()
		}
	}
	if n > 0 {
		put()
	}
	return b.String()
}

// Beside are the files that a static host gives beside a saved page, by name: with them
// it is installed as an app and works without a net. They know the page by its hash: a
// browser that kept another takes the new one.
func Beside(saved []byte) map[string][]byte {
	sum := sha256.Sum256(saved)
	worker := strings.Replace(text("sw.js"), "RUN", hex.EncodeToString(sum[:8]), 1)
	return map[string][]byte{"sw.js": []byte(worker), "manifest.webmanifest": []byte(text("manifest.webmanifest")), "icon.svg": []byte(text("icon.svg"))}
}

// text is the text of embedded files, one after the other.
func text(names ...string) string {
	var b strings.Builder
	for _, name := range names {
		data, err := files.ReadFile("html/" + name)
		if err != nil {
			panic(err) // not embedded: the program is built wrong
		}
		b.Write(data)
	}
	return b.String()
}
