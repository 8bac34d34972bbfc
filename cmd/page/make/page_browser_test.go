//go:build browser

package main

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"lapwing/report/browsertest"
	"lapwing/report/desk/front"
)

// saved is lapwing.html, built once. LAPWING_HTML is one that was built before.
var saved = sync.OnceValues(func() (string, error) {
	if path := os.Getenv("LAPWING_HTML"); path != "" {
		text, err := os.ReadFile(path)
		return string(text), err
	}
	e, err := engine("test")
	if err != nil {
		return "", err
	}
	text, err := front.Saved("test", e)
	return string(text), err
})

// opened shows lapwing.html from a file, and waits until it takes files.
func opened(t *testing.T, width, height int64) *browsertest.Page {
	t.Helper()
	text, err := saved()
	require.NoError(t, err)
	p := browsertest.Open(t, text, width, height)
	ready(p)
	return p
}

// openedKeeping is [opened] in a browser that keeps what it is given to keep on disk.
func openedKeeping(t *testing.T, width, height int64) *browsertest.Page {
	t.Helper()
	text, err := saved()
	require.NoError(t, err)
	p := browsertest.OpenKeeping(t, text, width, height)
	ready(p)
	return p
}

func ready(p *browsertest.Page) {
	p.T.Helper()
	until(p, `typeof desk !== "undefined" && desk.state && document.getElementById("working").hidden`)
}

// until waits for an expression to be true.
func until(p *browsertest.Page, expression string) {
	p.T.Helper()
	if !p.Until(2*time.Minute, expression) {
		p.T.Fatalf("%s is not true; trouble %q, faults %v", expression, browsertest.Eval[string](p, `document.getElementById("trouble").textContent`), p.Faults())
	}
}

// choose gives files to one of the choosers, as a person does.
func choose(p *browsertest.Page, id string, paths ...string) {
	p.T.Helper()
	_, err := chromedp.Run(p.Ctx, func(ctx context.Context, tab *chromedp.Target) (cdp.Empty, error) {
		object, err := cdp.Call(ctx, tab, runtime.Evaluate, runtime.EvaluateParams{Expression: fmt.Sprintf("document.getElementById(%q)", id)})
		if err != nil {
			return cdp.Empty{}, err
		}
		return cdp.Call(ctx, tab, dom.SetFileInputFiles, dom.SetFileInputFilesParams{Files: paths, ObjectID: object.Result.ObjectID})
	})
	require.NoError(p.T, err)
}

// drop drops files and folders of this computer on an element, as a person does.
func drop(p *browsertest.Page, on string, paths ...string) {
	p.T.Helper()
	at := browsertest.Eval[[]float64](p, fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.scrollIntoView({block: "center"}); const r = e.getBoundingClientRect(); return [r.left + 20, r.top + 20] })()`, on))
	for _, what := range []input.DispatchDragEventType{"dragEnter", "dragOver", "drop"} {
		_, err := chromedp.Run(p.Ctx, func(ctx context.Context, tab *chromedp.Target) (cdp.Empty, error) {
			return cdp.Call(ctx, tab, input.DispatchDragEvent, input.DispatchDragEventParams{Type: what, X: at[0], Y: at[1],
				Data: &input.DragData{Items: []*input.DragDataItem{}, Files: paths, DragOperationsMask: 1}})
		})
		require.NoError(p.T, err)
	}
}

// give hands over files by the names that they have in a folder that is dropped.
func give(p *browsertest.Page, files map[string][]byte) {
	p.T.Helper()
	text := map[string]string{}
	for name, data := range files {
		text[name] = base64.StdEncoding.EncodeToString(data)
	}
	list, err := json.Marshal(text)
	require.NoError(p.T, err)
	browsertest.Eval[bool](p, `add(Object.entries(`+string(list)+`).map(([path, text]) => ({ path, file: new Blob([Uint8Array.from(atob(text), c => c.charCodeAt(0))]) }))), true`)
}

// atWork has the page do something the first time it says that it is working a field
// out, which it may say for less time than a look from outside takes.
func atWork(p *browsertest.Page, do string) {
	p.T.Helper()
	browsertest.Eval[bool](p, `new MutationObserver((_, o) => { if (document.getElementById("doing").textContent.startsWith("Working out")) { o.disconnect(); `+do+` } }).observe(document.getElementById("doing"), { childList: true, characterData: true, subtree: true }), true`)
}

// done waits until all that can be worked out is.
func done(p *browsertest.Page) {
	p.T.Helper()
	until(p, `!adding && !settling && document.getElementById("working").hidden && desk.state.jobs.length > 0 && desk.state.jobs.every(j => !j.ready || failed.has(j.job) || (j.assessed && !j.assessed.stale))`)
}

// untroubled checks that the page told of no trouble, and loaded nothing.
func untroubled(p *browsertest.Page) {
	p.T.Helper()
	require.Empty(p.T, browsertest.Eval[string](p, `document.getElementById("trouble").textContent`))
	p.Quiet()
}

// asked is what the core answers.
func asked(p *browsertest.Page, message string) []byte {
	p.T.Helper()
	browsertest.Eval[bool](p, `window.told = null, carrier.ask(`+message+`).then(b => { let s = ""; for (let i = 0; i < b.length; i += 8192) s += String.fromCharCode(...b.subarray(i, i + 8192)); window.told = btoa(s) }), true`)
	until(p, `window.told !== null`)
	data, err := base64.StdEncoding.DecodeString(browsertest.Eval[string](p, `window.told`))
	require.NoError(p.T, err)
	return data
}

// ofRepo is the path of a file of the checkout.
func ofRepo(t *testing.T, path string) string {
	t.Helper()
	full, err := filepath.Abs(filepath.Join("..", "..", "..", path))
	require.NoError(t, err)
	return full
}

// filesOf are the files of a folder of the checkout, by their names below another.
func filesOf(t *testing.T, folder, below string) map[string][]byte {
	t.Helper()
	return filesIn(t, ofRepo(t, folder), below)
}

// filesIn are the files of a folder, by their names below another.
func filesIn(t *testing.T, folder, below string) map[string][]byte {
	t.Helper()
	files := map[string][]byte{}
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	for _, e := range entries {
		if !e.IsDir() {
			files[below+"/"+e.Name()], err = os.ReadFile(filepath.Join(folder, e.Name()))
			require.NoError(t, err)
		}
	}
	return files
}
