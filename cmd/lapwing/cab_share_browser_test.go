//go:build browser && linux

package main

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/report/browsertest"
)

// The page says of each other cab how old its ground is, draws it, and says when there is
// no contact any more.
func TestCabPageOfACrew(t *testing.T) {
	t.Parallel()
	crew, links := newCrew(t, 2*time.Millisecond, drills, true)
	links[0][3].set(func() { links[0][3].down = true })
	links[1][3].set(func() { links[1][3].down = true })
	for _, m := range crew[:2] {
		m.start(t)
	}
	for device, size := range map[string][2]int64{"phone": {390, 844}, "tablet": {1180, 820}} {
		page := browsertest.Visit(t, crew[0].process.address+"#"+crew[0].process.key, size[0], size[1])
		require.Eventually(t, func() bool {
			return browsertest.Eval[bool](page, `document.getElementById("agreed").click() || !!(window.cabPage && window.cabPage.state())`)
		}, 10*time.Second, 20*time.Millisecond)
		lines := func() string {
			return browsertest.Eval[string](page, `[...document.querySelectorAll("#shares li")].map(l => l.className + "|" + l.textContent).join("\n")`)
		}
		require.Eventually(t, func() bool { return strings.Contains(lines(), "|drill B's ground, ") }, 20*time.Second, 20*time.Millisecond, lines)
		assert.Regexp(t, `(?m)^\|drill B's ground, [0-9]+ s old\.$`, lines())
		assert.Regexp(t, `(?m)^bad\|127\.0\.1\.4:\d+: no contact yet \(.*\)\.$`, lines())
		require.Eventually(t, func() bool { return browsertest.Eval[int](page, `window.cabPage.others().bars`) > 50 }, 20*time.Second, 20*time.Millisecond)
		assert.Equal(t, "drill B", browsertest.Eval[string](page, `window.cabPage.others().at.join()`))
		require.Eventually(t, func() bool { return browsertest.Eval[int](page, `window.cabPage.others().strips`) > 0 }, 60*time.Second, 50*time.Millisecond, "the answer's ground of others is ruled too")
		require.LessOrEqual(t, browsertest.Eval[int](page, `document.documentElement.scrollWidth`), int(size[0]))
		for _, scheme := range []string{"light", "dark"} {
			page.Media("screen", scheme)
			time.Sleep(200 * time.Millisecond)
			page.Keep("cab-crew-" + device + "-" + scheme + ".png")
		}
		page.Quiet()
	}
	page := browsertest.Visit(t, crew[0].process.address+"#"+crew[0].process.key, 390, 844)
	crew[1].kill(t)
	require.Eventually(t, func() bool {
		return browsertest.Eval[bool](page, `/^drill B: no contact for 1[0-9] s, ground as of \d\d:\d\d UTC\.$/.test((document.querySelector("#shares li.bad") || {}).textContent)`)
	}, 20*time.Second, 50*time.Millisecond)
	assert.Greater(t, browsertest.Eval[int](page, `window.cabPage.others().bars`), 50, "it catches up, and what came stays")
	page.Quiet()
}
