//go:build browser

package main

import (
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"lapwing/report/browsertest"
)

// The fields that a book holds are listed, found by name, and brought onto the desk, where
// they need not be worked out.
func TestBrowserBook(t *testing.T) {
	book := "file:" + filepath.Join(t.TempDir(), "book.gpkg")
	one := browsertest.Open(t, "<title>nothing</title>", 1280, 900)
	one.Do(chromedp.Navigate(served(t, filepath.Join(t.TempDir(), "one"), "--book", book)))
	ready(one)
	until(one, `document.getElementById("held-says").textContent === "No field that is not on this desk."`)
	choose(one, "pick-files", ofRepo(t, "samples/tern-bank/drill.csv"), ofRepo(t, "samples/tern-bank/boundary.geojson"))
	done(one)
	require.Equal(t, "No field that is not on this desk.", browsertest.Eval[string](one, `document.getElementById("held-says").textContent`))
	require.Empty(t, one.Faults())

	p := browsertest.Open(t, "<title>nothing</title>", 390, 844)
	p.Do(chromedp.Navigate(served(t, filepath.Join(t.TempDir(), "other"), "--book", book)))
	ready(p)
	until(p, `document.querySelectorAll("#helds li").length === 1`)
	require.Equal(t, "1 field that is not on this desk.", browsertest.Eval[string](p, `document.getElementById("held-says").textContent`))
	require.LessOrEqual(t, browsertest.Eval[int](p, `document.documentElement.scrollWidth`), 390)
	require.Empty(t, browsertest.Eval[[]string](p, browsertest.SmallTargets))
	p.Keep("desk-book.png")
	p.Accessible()
	p.Do(chromedp.SendKeys(chromedp.CSS("#held-find"), "no such"))
	until(p, `document.getElementById("held-says").textContent === "No field of that name."`)
	browsertest.Eval[bool](p, `document.getElementById("held-find").value = "TERN", document.getElementById("held-find").dispatchEvent(new Event("input")), true`)
	until(p, `document.querySelectorAll("#helds li").length === 1`)
	browsertest.Eval[bool](p, `window.told = new Set(), new MutationObserver(() => { told.add(document.getElementById("doing").textContent) }).observe(document.getElementById("doing"), { childList: true, characterData: true, subtree: true }), true`)
	p.Do(chromedp.Click(chromedp.CSS("#helds button")))
	until(p, `desk.state.jobs.length === 1 && desk.state.jobs[0].assessed && !desk.state.jobs[0].assessed.stale`)
	done(p)
	require.Equal(t, browsertest.Eval[string](one, `desk.state.jobs[0].assessed.verdict`), browsertest.Eval[string](p, `desk.state.jobs[0].assessed.verdict`))
	require.NotContains(t, browsertest.Eval[string](p, `[...told].join("; ")`), "Measuring")
	until(p, `document.querySelectorAll("#helds li").length === 0`)
	require.Empty(t, browsertest.Eval[string](p, `document.getElementById("trouble").textContent`))
	require.Empty(t, p.Faults())
}
