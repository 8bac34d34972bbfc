//go:build browser && unix

package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/report/browsertest"
)

// The page of a cab at work, on a phone and on a tablet, by day and by night.
func TestCabPage(t *testing.T) {
	for device, size := range map[string][2]int64{"phone": {390, 844}, "tablet": {1180, 820}} {
		t.Run(device, func(t *testing.T) {
			dir := cabJob(t)
			d := newTractor(t, 2*time.Millisecond)
			p := startCab(t, dir, "--receiver", "tcp:"+d.listener.Addr().String(), "--bar", "page")
			page := browsertest.Visit(t, p.address+"#"+p.key, size[0], size[1])
			text := func(id string) string {
				return browsertest.Eval[string](page, `document.getElementById("`+id+`").textContent`)
			}
			is := func(expression string) func() bool {
				return func() bool { return browsertest.Eval[bool](page, `!!(`+expression+`)`) } // null too is no
			}
			require.Eventually(t, is(`document.getElementById("cautions").open`), 10*time.Second, 20*time.Millisecond, "the cautions come first")
			page.Keep("cab-" + device + "-cautions.png")
			assert.Contains(t, text("cautions"), "no guidance and no safety device")
			browsertest.Eval[bool](page, `document.getElementById("agreed").click() || true`)
			require.Eventually(t, is(`window.cabPage && window.cabPage.state() && window.cabPage.state().machines[0].at !== null`), 10*time.Second, 20*time.Millisecond)
			assert.False(t, browsertest.Eval[bool](page, `document.getElementById("tone").checked`), "no tone at first")
			assert.NotContains(t, browsertest.Eval[string](page, `location.href`), p.key)

			p.steer(t, d, false, 2*331.4+150, 120*time.Second)
			require.Eventually(t, is(`document.querySelector("#left .word").textContent === "joined" || document.querySelector("#left .word").textContent === "lap" || document.querySelector("#left .word").textContent === "gap"`), 5*time.Second, 20*time.Millisecond)
			assert.Equal(t, "nothing beside", browsertest.Eval[string](page, `document.querySelector("#right .word").textContent`))
			require.Eventually(t, func() bool { return text("verdict") != "Waiting for the first fix" && text("verdict") != "No pass yet" }, 10*time.Second, 20*time.Millisecond)
			assert.Greater(t, browsertest.Eval[int](page, `window.cabPage.bars[0].length`), 100)
			require.LessOrEqual(t, browsertest.Eval[int](page, `document.documentElement.scrollWidth`), int(size[0]))
			require.Empty(t, browsertest.Eval[[]string](page, browsertest.SmallTargets), "targets under 44 pixels")
			for _, scheme := range []string{"light", "dark"} {
				page.Media("screen", scheme)
				time.Sleep(200 * time.Millisecond)
				page.Keep("cab-" + device + "-" + scheme + ".png")
			}
			browsertest.Eval[bool](page, `document.getElementById("view").click() || document.getElementById("up").click() || true`)
			page.Keep("cab-" + device + "-near.png")
			assert.Contains(t, text("closed"), "Edge of the field closed along ")
			assert.Contains(t, text("left-over"), " not worked yet, done about ")
			// A key switches the bar, and its undo switches it back.
			browsertest.Eval[bool](page, `document.body.dispatchEvent(new KeyboardEvent("keydown", {key: " ", bubbles: true}))`)
			require.Eventually(t, is(`document.getElementById("bar").getAttribute("aria-pressed") === "false" && !document.getElementById("undo").disabled`), 5*time.Second, 20*time.Millisecond)
			browsertest.Eval[bool](page, `document.body.dispatchEvent(new KeyboardEvent("keydown", {key: "u", bubbles: true}))`)
			require.Eventually(t, is(`document.getElementById("bar").getAttribute("aria-pressed") === "true"`), 5*time.Second, 20*time.Millisecond)
			browsertest.Eval[bool](page, `document.body.dispatchEvent(new KeyboardEvent("keydown", {key: "2", bubbles: true}))`)
			require.Eventually(t, is(`document.querySelectorAll("#sections button")[1].getAttribute("aria-pressed") === "false"`), 5*time.Second, 20*time.Millisecond)
			page.Quiet()

			// Whoever only looks has no switch.
			look := browsertest.Eval[string](page, `document.getElementById("look").textContent.match(/http\S+/)[0]`)
			other := browsertest.Visit(t, look, size[0], size[1])
			require.Eventually(t, func() bool {
				return browsertest.Eval[bool](other, `!!(window.cabPage && window.cabPage.state())`)
			}, 10*time.Second, 20*time.Millisecond)
			assert.True(t, browsertest.Eval[bool](other, `document.getElementById("switching").hidden`))
			assert.Greater(t, browsertest.Eval[int](other, `window.cabPage.bars[0].length`), 100, "it catches up")
			status, _ := p.ask(t, "POST", "bar", keyIn(look), `{"down": true}`)
			assert.Equal(t, 403, status)

			// No signal: the page says so within 3 s.
			d.stop()
			require.Eventually(t, func() bool { return text("signal") != "" }, 4*time.Second, 20*time.Millisecond)
			page.Keep("cab-" + device + "-silent.png")
		})
	}
}

// The sample, played while its page is looked at.
func TestCabPageOfTheSample(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS("../../samples/tern-bank")))
	data, err := os.ReadFile(filepath.Join(dir, "job.yaml"))
	require.NoError(t, err)
	put(t, filepath.Join(dir, "job.yaml"), strings.Replace(string(data), "tracks: [drill.csv]", "tracks: []", 1))
	p := startCab(t, dir, "--receiver", "file:drill.csv?speed=150", "--units", "metric")
	page := browsertest.Visit(t, p.address+"#"+p.key, 390, 844)
	require.Eventually(t, func() bool {
		return browsertest.Eval[bool](page, `document.getElementById("agreed").click() || !!(window.cabPage && window.cabPage.state())`)
	}, 10*time.Second, 20*time.Millisecond)
	require.Eventually(t, func() bool { a := p.answer(t); return len(a.Passes) >= 38 && a.Now["drill"].Works }, 90*time.Second, 20*time.Millisecond)
	time.Sleep(time.Second) // well into the pass
	page.Keep("cab.png")
	assert.Contains(t, browsertest.Eval[string](page, `document.getElementById("closed").textContent`), "Edge of the field closed along 9")
	page.Quiet()
}

// keyIn is the key in an address.
func keyIn(link string) string {
	for i := range link {
		if link[i] == '#' {
			return link[i+1:]
		}
	}
	return ""
}
