package page

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/quantity"
	"lapwing/report/words"
)

// written is a page about a name.
func written(t *testing.T, name string) string {
	t.Helper()
	p := NewTemplate(`{{define "main"}}{{template "table" .Table}}{{template "q" .Says}}<svg aria-label="{{.Says.Shown}}"></svg>{{end}}`)
	of := struct {
		Base
		Table Table
		Says  words.Text
	}{Base: New(quantity.US, name, "all", "0123456789ab"), Says: words.Same("Most by " + words.Name(name) + ", 1 ac.")}
	of.Table = Table{Columns: []Column{Names("Machine", "name"), Names("Sheet", "")}}
	of.Table.Add(words.Same(name), words.Same(name))
	of.Table.Rows[0].Cells[1].Link = "sheet.html"
	of.Warnings = []string{"at " + words.Name(name)}
	var b bytes.Buffer
	require.NoError(t, p.Execute(&b, of))
	return b.String()
}

// The policy names the hashes of the page's own style and script, as CSP 3,
// section 6.7.2, has browsers reckon them, and nothing on the page needs more.
func TestPolicy(t *testing.T) {
	page := written(t, "drill")
	for element, directive := range map[string]string{"style": "style-src", "script": "script-src"} {
		content := regexp.MustCompile(`(?s)<`+element+`>(.*?)</`+element+`>`).FindAllStringSubmatch(page, -1)
		require.Len(t, content, 1)
		sum := sha256.Sum256([]byte(content[0][1]))
		assert.Contains(t, page, directive+" 'sha256-"+base64.StdEncoding.EncodeToString(sum[:])+"';")
	}
	assert.NotContains(t, page, "unsafe-")
	assert.NotRegexp(t, `<[^>]* (style|on[a-z]+)=`, page)
}

// Every page that there is has a policy of this program; one that adds to it has not.
func TestIsPolicy(t *testing.T) {
	pages, err := filepath.Glob("../*/testdata/*.html")
	require.NoError(t, err)
	require.NotEmpty(t, pages)
	stated := regexp.MustCompile(`<meta http-equiv="Content-Security-Policy" content="([^"]*)">`)
	for _, path := range pages {
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		policy := stated.FindSubmatch(text)
		require.NotNil(t, policy, path)
		assert.True(t, IsPolicy(string(policy[1])), path)
		assert.False(t, IsPolicy(string(policy[1])+"; script-src 'unsafe-inline'"), path)
	}
	assert.False(t, IsPolicy(""))
}

// A name keeps its direction, steers nobody else's, and brings no control
// characters and no ends of lines.
func TestNamesOnPages(t *testing.T) {
	page := written(t, "شمال <b>")
	assert.Contains(t, page, "<h1><bdi>شمال &lt;b&gt;</bdi></h1>")
	assert.Contains(t, page, "><bdi>شمال &lt;b&gt;</bdi></th>")
	assert.Contains(t, page, `<a href="sheet.html"><bdi>شمال &lt;b&gt;</bdi></a>`)
	assert.Contains(t, page, "Most by <bdi>شمال &lt;b&gt;</bdi>, 1 ac.")
	assert.Contains(t, page, "aria-label=\"Most by \u2068شمال &lt;b&gt;\u2069, 1 ac.\"", "where no element may stand")
	assert.Contains(t, page, "<li>at <bdi>شمال &lt;b&gt;</bdi></li>")
	assert.Contains(t, page, "<title>\u2068شمال &lt;b&gt;\u2069 - all</title>")

	page = written(t, "a\u202eb\u2028c\u2069d\x01e\x1b[31mf\ng\u0085h\x7f")
	assert.Contains(t, page, "<h1><bdi>ab cde[31mf g h</bdi></h1>")
	assert.Contains(t, page, "Most by ab cde[31mf g h, 1 ac.")
	assert.NotRegexp(t, "[\x00-\x08\x0b-\x1f\x7f\u0080-\u009f\u2028\u2029\u202a-\u202e\u2066-\u2069]", page)
	raw := &bytes.Buffer{}
	p := NewTemplate(`{{define "main"}}{{.Run}}{{end}}`)
	require.NoError(t, p.Execute(raw, New(quantity.US, "a", "b", "x\x01y\u2028z\x1b")))
	assert.Contains(t, raw.String(), "xyz", "whatever a page is made of")
}
