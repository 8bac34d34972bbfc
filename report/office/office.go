// Package office is the pages of a book that is open to people: the way in, the fields of
// a person's farms, and who may do what there. They are forms and tables without a script.
//
//	office.html  what all of them have, and each of them by its name
//	office.css   its style, after that of all pages
package office

import (
	"bytes"
	_ "embed" // the template and its style
	"html/template"
	"io"
	"sync"
	"time"

	"lapwing/report/page"
	"lapwing/report/words"
)

//go:embed office.html
var officeHTML string

//go:embed office.css
var officeCSS string

var templates = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("office").Funcs(template.FuncMap{
		"name": func(s string) template.HTML {
			return template.HTML("<bdi>" + template.HTMLEscapeString(words.Clean(s)) + "</bdi>")
		},
		"day":  func(t time.Time) string { return t.UTC().Format(time.DateOnly) },
		"time": func(t time.Time) string { return t.UTC().Format("2006-01-02 15:04:05") },
	}).Parse(officeHTML))
})

// Policy is the Content-Security-Policy of these pages: nothing is loaded and nothing runs;
// forms go to where the page came from.
func Policy() string {
	return "default-src 'none'; style-src " + page.Hash(string(sheet())) + "; img-src data:; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
}

func sheet() template.CSS { return page.Sheet() + template.CSS(officeCSS) }

// A Frame is what every page has.
type Frame struct {
	Title   string
	Who     string // who is signed in; "" for a stranger
	Places  []Place
	Said    string // what was done; "" for nothing
	Trouble string // what was not, and why
	Once    string // a secret that is shown this once; "" for none
	OnceFor string // and what it is for
}

// A Place leads to another page.
type Place struct {
	Name, At string
	Here     bool
}

// SignIn is the way in.
type SignIn struct {
	Frame
	Name   string // as it was typed
	Then   string // where the way leads to
	Others string // who else lets in, by OpenID Connect; "" for none
}

// Fields are the fields of a person's farms, the latest work first.
type Fields struct {
	Frame
	Farms []Farm
	Find  string // a part of a name
	List  []Field
	All   int  // how many there are, with those that are not listed
	Adds  bool // whether they may add a farm
}

// A Farm is one of a person's farms.
type Farm struct {
	ID    int64
	Name  string
	May   string // what they may do there
	Works bool   // whether there is a desk for them
}

// A Field is one field and operation, as a table has it.
type Field struct {
	At, Link                                        string // its page; where a link to it is given, "" for who may not
	Name, Farm, Days, Machines                      string
	Area, Skip, Overlap, Open, Wasted               string
	AreaOther, SkipOther, OverlapOther, WastedOther string // in the other units
}

// People are those of the farms that a person manages.
type People struct {
	Frame
	List  []Person
	Farms []Farm
	Adds  bool // whether they may add people, and end them
}

// A Person is one of them.
type Person struct {
	ID           int64
	SignIn, Name string
	Ended        bool
	Rights       []Right
}

// A Right is what a person may do at a farm.
type Right struct {
	Farm int64
	Name string
	May  string
}

// Account is what is one's own.
type Account struct {
	Frame
	Tokens []Token
	Links  []Link
}

// A Token lets a program in.
type Token struct {
	ID         int64
	Name, May  string
	Made, Ends time.Time
}

// A Link leads to one field's page.
type Link struct {
	ID         int64
	Name, By   string
	Made, Ends time.Time
}

// ToLink asks for how long a link is to hold.
type ToLink struct {
	Frame
	Name, At string
}

// Trail is the audit trail.
type Trail struct {
	Frame
	List []Line
}

// A Line is a line of it.
type Line struct {
	At                          time.Time
	Who, Did, About, Farm, From string
}

// Wrong says why there is no page.
type Wrong struct {
	Frame
	Text string
}

// Write writes a page: one of the types above.
func Write(w io.Writer, p any) error {
	var name string
	switch p.(type) {
	case *SignIn:
		name = "sign-in"
	case *Fields:
		name = "fields"
	case *People:
		name = "people"
	case *Account:
		name = "account"
	case *ToLink:
		name = "to-link"
	case *Trail:
		name = "trail"
	default:
		name = "wrong"
	}
	var b bytes.Buffer // whole or not at all
	if err := templates().ExecuteTemplate(&b, name, struct {
		Sheet template.CSS
		P     any
	}{sheet(), p}); err != nil {
		return err
	}
	_, err := b.WriteTo(w)
	return err
}
