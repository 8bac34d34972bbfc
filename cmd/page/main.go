//go:build js && wasm

// Page is the engine of lapwing.html: the core of the desk, compiled to WebAssembly
// and run in a worker of the page. It opens nothing and sends nothing; files come from
// the page, and what is made of them goes back to it.
//
// The worker (report/desk/front) calls what main leaves in lapwing:
//
//	add(name, blob, at) a file of the desk, as the page keeps it
//	name(dropped)       where a file that was dropped is to be kept, or an error
//	ask(id, message)    a question to the core
//	warm()              be ready for the first field
//
// and gives each object that main passes to lapwing.tell on to the page:
//
//	{put: [[name, bytes, at], ...], removed: [name, ...]}    keep this, all or none
//	{id, text, share}                                    how far it is
//	{id, reply}                                          bytes
package main

import (
	"bytes"
	"context"
	"fmt"
	"io/fs"
	"runtime/debug"
	"syscall/js"
	"time"
	_ "time/tzdata" // a browser tells no Go program of time zones

	"lapwing/geo/format"
	"lapwing/geo/format/gpkg"
	"lapwing/report/desk"
	"lapwing/report/desk/store"
)

// version tells engines apart: what another one reckoned is reckoned again. The linker
// sets it.
var version string

// memory is what the garbage collector tries to stay within, in bytes: a phone's
// browser gives a page some 600 MB.
const memory = 400 << 20

func main() {
	debug.SetGCPercent(200) // more memory for less time, as long as there is some
	debug.SetMemoryLimit(memory)
	page := js.Global().Get("lapwing")
	s := &carried{Memory: store.NewMemory(time.Now)}
	s.tell = func(put map[string]written, removed []string) {
		files, names := []any{}, []any{}
		for name, w := range put {
			files = append(files, []any{name, bytesOf(w.data), w.at.UnixMilli()})
		}
		for _, name := range removed {
			names = append(names, name)
		}
		page.Call("tell", map[string]any{"put": files, "removed": names})
	}
	d := desk.New(s, desk.Options{Formats: append(format.Plain(), gpkg.Format), Program: version})
	page.Set("add", js.FuncOf(func(_ js.Value, args []js.Value) any {
		name := args[0].String()
		s.Keep(map[string]*store.File{name: ofBlob(name, args[1], args[2].Float())})
		return nil
	}))
	page.Set("name", js.FuncOf(func(_ js.Value, args []js.Value) any {
		name, err := d.NameFor(args[0].String())
		if err != nil {
			return map[string]any{"error": err.Error()}
		}
		return map[string]any{"name": name}
	}))
	page.Set("ask", js.FuncOf(func(_ js.Value, args []js.Value) any {
		id, message := args[0].Int(), []byte(args[1].String())
		go func() { // JavaScript that waited here would hold up the very event that it waits for
			r := d.Ask(context.Background(), message, func(text string, share float64) {
				page.Call("tell", map[string]any{"id": id, "text": text, "share": share})
			})
			page.Call("tell", map[string]any{"id": id, "reply": bytesOf(r.Body)})
		}()
		return nil
	}))
	page.Set("warm", js.FuncOf(func(js.Value, []js.Value) any {
		go warm()
		return nil
	}))
	page.Call("ready")
	select {} // the page asks as long as it is open
}

// warm does for a made-up field what is done for the first that comes. A browser compiles
// a function when it is first called, which takes more time than a small field: so it is
// done while files are being chosen.
func warm() {
	files := store.NewMemory(time.Now)
	files.Set("files/a.geojson", []byte(`{"type":"Polygon","coordinates":[[[0,0],[0.001,0],[0.001,0.001],[0,0.001],[0,0]]]}`), time.Now())
	var log bytes.Buffer
	log.WriteString("time,lat,lon,speed_mps,working\n")
	for i := range 1000 { // ten passes 11 m apart, up and down
		lane, along := i/100, i%100
		if lane%2 == 1 {
			along = 99 - along
		}
		fmt.Fprintf(&log, "2026-05-04T08:%02d:%02dZ,%.6f,%.6f,1,1\n", i/60, i%60, 1e-5*float64(along), 1e-4*(float64(lane)+0.5))
	}
	files.Set("files/a.csv", log.Bytes(), time.Now())
	d := desk.New(files, desk.Options{Formats: format.Plain()})
	d.Ask(context.Background(), []byte(`{"do": "look"}`), nil)
	jobs, _ := fs.Glob(files, "*.yaml")
	for _, job := range jobs {
		d.Ask(context.Background(), []byte(`{"do": "assess", "job": "`+job+`"}`), nil)
	}
}

// bytesOf copies bytes to the page.
func bytesOf(data []byte) js.Value {
	out := js.Global().Get("Uint8Array").New(len(data))
	js.CopyBytesToJS(out, data)
	return out
}
