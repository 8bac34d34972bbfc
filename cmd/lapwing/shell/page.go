package shell

import (
	"embed"
	"path"

	"lapwing/cmd/lapwing/serve"
)

//go:embed plain
var plain embed.FS

// Assets are the page of the desk, for [serve.Door.Guard].
func Assets() map[string]serve.Asset {
	types := map[string]string{".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8"}
	assets := map[string]serve.Asset{}
	for at, name := range map[string]string{"/": "plain.html", "/plain.css": "plain.css", "/plain.js": "plain.js"} {
		body, err := plain.ReadFile("plain/" + name)
		if err != nil {
			panic(err) // not embedded: the program is built wrong
		}
		assets[at] = serve.Asset{Type: types[path.Ext(name)], Body: body}
	}
	return assets
}
