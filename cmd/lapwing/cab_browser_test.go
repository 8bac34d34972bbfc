//go:build browser && unix

package main

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	drawing "image/draw"
	"image/png"
	"maps"
	"math"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/report/browsertest"
)

// silent is a receiver that says nothing.
func silent(t *testing.T) string {
	t.Helper()
	c, err := net.ListenPacket("udp", "127.0.0.1:0")
	require.NoError(t, err)
	defer c.Close()
	return "udp:" + c.LocalAddr().String()
}

// A cabView is the page of a cab, open in a browser.
type cabView struct{ *browsertest.Page }

// viewCab opens the page of a cab, and reads the cautions.
func viewCab(t *testing.T, link string, width, height int64) cabView {
	t.Helper()
	v := cabView{browsertest.Visit(t, link, width, height)}
	v.until(10*time.Second, `document.getElementById("cautions").open`, "the cautions come first")
	v.click("agreed")
	v.until(10*time.Second, `window.cabPage && window.cabPage.state()`)
	return v
}

// until waits until an expression is something.
func (v cabView) until(within time.Duration, expression string, why ...any) {
	v.T.Helper()
	require.True(v.T, v.Page.Until(within, expression), append(why, expression)...)
}

func (v cabView) text(id string) string {
	v.T.Helper()
	return browsertest.Eval[string](v.Page, `document.getElementById("`+id+`").textContent`)
}

// word is what stands under the figure of a side.
func (v cabView) word(side string) string {
	v.T.Helper()
	return browsertest.Eval[string](v.Page, `document.querySelector("#`+side+` .word").textContent`)
}

func (v cabView) click(id string) {
	v.T.Helper()
	browsertest.Eval[bool](v.Page, `document.getElementById("`+id+`").click() || true`)
}

// key presses a key where the focus is.
func (v cabView) key(key string) {
	v.T.Helper()
	browsertest.Eval[bool](v.Page, `document.activeElement.dispatchEvent(new KeyboardEvent("keydown", {key: "`+key+`", bubbles: true}))`)
}

func (v cabView) pressed(selector string) bool {
	v.T.Helper()
	return browsertest.Eval[bool](v.Page, `document.querySelector("`+selector+`").getAttribute("aria-pressed") === "true"`)
}

// picture is the drawing as it is now.
func (v cabView) picture() *image.RGBA {
	v.T.Helper()
	data, err := chromedp.Run(v.Ctx, chromedp.FullScreenshot(100))
	require.NoError(v.T, err)
	picture, err := png.Decode(bytes.NewReader(data))
	require.NoError(v.T, err)
	r := browsertest.Eval[[]float64](v.Page, `(r => [r.left + scrollX, r.top + scrollY, r.right + scrollX, r.bottom + scrollY])(document.getElementById("drawing").getBoundingClientRect())`)
	whole := func(at float64) int { return int(math.Round(at)) } // the pixel that a browser begins a box at
	part := image.Rect(whole(r[0]), whole(r[1]), whole(r[2]), whole(r[3]))
	out := image.NewRGBA(image.Rect(0, 0, part.Dx(), part.Dy()))
	drawing.Draw(out, out.Bounds(), picture, part.Min, drawing.Src)
	return out
}

// contrast is that of the two colours that most of a picture has, as WCAG 2.2 defines it:
// bare ground, and ground that was worked once.
func contrast(picture *image.RGBA) float64 {
	count := map[color.RGBA]int{}
	for y := range picture.Bounds().Dy() {
		for x := range picture.Bounds().Dx() {
			count[picture.RGBAAt(x, y)]++
		}
	}
	all := slices.SortedFunc(maps.Keys(count), func(a, b color.RGBA) int { return count[b] - count[a] })
	luminance := func(c color.RGBA) float64 {
		linear := func(v uint8) float64 {
			if s := float64(v) / 255; s <= 0.04045 {
				return s / 12.92
			} else {
				return math.Pow((s+0.055)/1.055, 2.4)
			}
		}
		return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
	}
	one, other := luminance(all[0]), luminance(all[1])
	return (max(one, other) + 0.05) / (min(one, other) + 0.05)
}

// The page of a cab at work, on a phone and on a tablet, by day and by night.
func TestCabPage(t *testing.T) {
	t.Parallel()
	for device, size := range map[string][2]int64{"phone": {390, 844}, "phone-lying": {844, 390}, "tablet": {1180, 820}} {
		t.Run(device, func(t *testing.T) {
			t.Parallel()
			dir := cabJob(t)
			d := newTractor(t, 5*time.Millisecond)
			d.stop(true) // until the cautions are read, or it has driven passes by then
			p := startCab(t, dir, "--receiver", "tcp:"+d.listener.Addr().String(), "--bar", "page")
			page := cabView{browsertest.Visit(t, p.address+"#"+p.key, size[0], size[1])}
			page.until(10*time.Second, `document.getElementById("cautions").open`, "the cautions come first")
			for _, scheme := range []string{"light", "dark"} {
				page.Media("screen", scheme)
				page.until(5*time.Second, `document.documentElement.dataset.light === "`+map[string]string{"light": "day", "dark": "night"}[scheme]+`"`)
				page.DialogAccessible()
			}
			page.Keep("cab-" + device + "-cautions.png")
			for _, says := range []string{"no guidance and no safety device", "commands no machine", "Eyes on the field", "wet ground", "power lines"} {
				assert.Contains(t, page.text("cautions"), says)
			}
			page.click("agreed")
			d.stop(false)
			page.until(10*time.Second, `window.cabPage && window.cabPage.state() && window.cabPage.state().machines[0].at !== null`)
			assert.False(t, browsertest.Eval[bool](page.Page, `document.getElementById("tone").checked`), "no tone at first")
			assert.NotContains(t, browsertest.Eval[string](page.Page, `location.href`), p.key)

			p.steer(t, d, false, 2*331.4+150, 120*time.Second)
			page.until(5*time.Second, `["joined", "lap", "gap"].includes(document.querySelector("#left .word").textContent)`)
			assert.Equal(t, "nothing beside", page.word("right"))
			page.until(10*time.Second, `!["Waiting for the first fix", "No pass yet"].includes(document.getElementById("verdict").textContent)`)
			assert.Contains(t, page.text("closed"), "Edge of the field closed along ")
			assert.Contains(t, page.text("left-over"), " not worked yet, done about ")
			page.until(5*time.Second, `window.cabPage.ground().strips >= 2`)
			assert.Greater(t, browsertest.Eval[int](page.Page, `window.cabPage.ground().bars`), 100)
			browsertest.Eval[bool](page.Page, `document.querySelector("details").open = true`)
			require.LessOrEqual(t, browsertest.Eval[int](page.Page, `document.documentElement.scrollWidth`), int(size[0]))
			require.Empty(t, browsertest.Eval[[]string](page.Page, browsertest.SmallTargets), "targets under 44 pixels")
			assert.True(t, browsertest.Eval[bool](page.Page, `document.getElementById("right").getBoundingClientRect().bottom <= innerHeight`), "the figures are seen without a move")
			for _, scheme := range []string{"light", "dark"} {
				page.Media("screen", scheme)
				time.Sleep(200 * time.Millisecond)
				page.Keep("cab-" + device + "-" + scheme + ".png")
				page.Accessible()
				assert.Greater(t, contrast(page.picture()), 3.0, "worked ground beside bare ground")
			}
			page.click("view")
			time.Sleep(200 * time.Millisecond)
			page.Keep("cab-" + device + "-near.png")
			page.Quiet()

			// No signal: the page says so within 3 s, and shows no lap that is none any more.
			d.stop(true)
			page.until(4*time.Second, `document.getElementById("signal").textContent.startsWith("no signal for ")`)
			assert.Equal(t, "no signal", page.word("left"))
			page.Keep("cab-" + device + "-silent.png")
		})
	}
}

// Day and night are as the device has them, or as chosen on the page, which the device
// keeps.
func TestCabPageLight(t *testing.T) {
	t.Parallel()
	p := startCab(t, cabJob(t), "--receiver", silent(t))
	page := viewCab(t, p.address+"#"+p.key, 390, 844)
	paper := func() string {
		return browsertest.Eval[string](page.Page, `getComputedStyle(document.body).backgroundColor`)
	}
	const day, night = "rgb(255, 255, 255)", "rgb(26, 33, 39)"
	is := func(says, want string) {
		t.Helper()
		assert.Equal(t, "Light: "+says, page.text("light"))
		require.Eventually(t, func() bool { return paper() == want }, 5*time.Second, 20*time.Millisecond, want)
	}
	is("auto", day)
	page.Media("screen", "dark")
	is("auto", night)
	page.click("light")
	is("day", day)
	page.click("light")
	is("night", night)
	page.Media("screen", "light")
	is("night", night)
	browsertest.Eval[bool](page.Page, `(window.oldPage = true) && (location.reload() || true)`)
	page.until(10*time.Second, `window.cabPage && !window.oldPage`)
	is("night", night)
	page.click("light")
	is("auto", day)
}

// The bar, its sections and their undo: by touch and by keys, also right after a button
// was touched and while an answer is on its way; and for whoever only looks, not at all.
func TestCabPageSwitches(t *testing.T) {
	t.Parallel()
	d := newTractor(t, 5*time.Millisecond)
	p := startCab(t, cabJob(t), "--receiver", "tcp:"+d.listener.Addr().String(), "--bar", "page")
	page := viewCab(t, p.address+"#"+p.key, 390, 844)
	page.until(10*time.Second, `window.cabPage.state().machines[0].at`)
	told := func(down bool, bits string) {
		t.Helper()
		page.until(5*time.Second, fmt.Sprintf(`(m => m.down === %v && (m.bits || "1111") === "%s")(window.cabPage.state().machines[0])`, down, bits))
		assert.Equal(t, down, page.pressed("#bar"))
		for i := range 4 {
			assert.Equal(t, bits[i] == '1', page.pressed(fmt.Sprintf("#sections button:nth-child(%d)", i+1)))
		}
	}
	undone := func(undo func()) { // the answer to a switch comes a little after the news of it
		t.Helper()
		page.until(5*time.Second, `!document.getElementById("undo").disabled`)
		undo()
	}
	told(false, "1111")
	page.key(" ")
	told(true, "1111")
	undone(func() { page.key("u") })
	told(false, "1111")
	assert.True(t, browsertest.Eval[bool](page.Page, `document.getElementById("undo").disabled`), "one switch is undone, not two")
	browsertest.Eval[bool](page.Page, `document.getElementById("bar").focus() || true`)
	page.click("bar")
	told(true, "1111")
	page.key("2") // the focus is on the button still
	told(true, "1011")
	undone(func() { page.key("u") })
	told(true, "1111")
	page.key("0")
	page.key("9")
	told(true, "1111")
	browsertest.Eval[bool](page.Page, `document.querySelector("#sections button:nth-child(4)").click() || true`)
	told(true, "1110")
	undone(func() { page.click("undo") })
	told(true, "1111")

	// Where answers are slow, two touches are two switches, and none is undone in place of
	// one that is on its way.
	browsertest.Eval[bool](page.Page, `(ask => { window.fetch = (...all) => ask(...all).then(r => new Promise(ok => setTimeout(() => ok(r), 1000))); return true; })(window.fetch)`)
	page.key("1")
	page.key("2")
	told(true, "0011")
	page.key("u")
	undone(func() { page.key("u") })
	told(true, "0111")
	page.Quiet()

	look := keyIn(page.text("look"))
	other := viewCab(t, p.address+"#"+look, 390, 844)
	assert.True(t, browsertest.Eval[bool](other.Page, `document.getElementById("switching").hidden`))
	other.key(" ")
	status, _ := p.ask(t, "POST", "bar", look, `{"down": false}`)
	assert.Equal(t, 403, status)
	told(true, "0111")
}

// A tone sounds for a gap that is wider than asked for, once that is switched on; and the
// places have their way from where the machine is now.
func TestCabPageTellsOfGaps(t *testing.T) {
	t.Parallel()
	dir := cabJob(t)
	data, err := os.ReadFile(filepath.Join(dir, "job.yaml"))
	require.NoError(t, err)
	put(t, filepath.Join(dir, "job.yaml"), strings.Replace(string(data), "width: 10 m", "width: 9.8 m", 1)) // passes are 10 m apart
	d := newTractor(t, 5*time.Millisecond)
	d.stop(true) // until the page is there, or it has driven passes by then
	p := startCab(t, dir, "--receiver", "tcp:"+d.listener.Addr().String(), "--bar", "page")
	page := viewCab(t, p.address+"#"+p.key, 390, 844)
	d.stop(false)
	browsertest.Eval[bool](page.Page, `(() => { window.tones = 0; window.AudioContext = class { constructor() { this.currentTime = 0; } resume() {} createOscillator() { window.tones++; return { frequency: {}, connect() {}, start() {}, stop() {} }; } }; return true; })()`)
	p.steer(t, d, false, 2*331.4+150, 120*time.Second)
	page.until(5*time.Second, `document.querySelector("#left .word").textContent === "gap"`)
	assert.Equal(t, "8 in", browsertest.Eval[string](page.Page, `document.querySelector("#left .figure").textContent`))
	tones := func() int { return browsertest.Eval[int](page.Page, `window.tones`) }
	assert.Zero(t, tones(), "off at first")
	assert.Equal(t, "4", browsertest.Eval[string](page.Page, `document.getElementById("wider").value`))
	browsertest.Eval[bool](page.Page, `document.getElementById("wider").value = "9", true`)
	page.click("tone")
	time.Sleep(300 * time.Millisecond)
	assert.Zero(t, tones(), "8 in are not wider than 9 in")
	assert.Equal(t, "gap", page.word("left"))
	browsertest.Eval[bool](page.Page, `document.getElementById("wider").value = "7", true`)
	page.until(5*time.Second, `window.tones > 0`)

	// Where the places are, worked out here by another way.
	d.stop(true)
	page.below()
	told := browsertest.Eval[[]string](page.Page, `[...document.querySelectorAll("#places li")].map(e => e.textContent)`)
	require.NotEmpty(t, told)
	var at [2]float64
	copy(at[:], browsertest.Eval[[]float64](page.Page, `window.cabPage.state().machines[0].at`))
	places := browsertest.Eval[[][]float64](page.Page, `window.cabPage.marks().map(m => m.at)`)
	require.Len(t, places, len(told))
	for i, text := range told {
		east, north := places[i][0]-at[0], places[i][1]-at[1]
		var feet, bearing float64
		_, way, found := strings.Cut(text, "; ")
		require.True(t, found, text)
		_, err := fmt.Sscanf(strings.ReplaceAll(way, ",", ""), "%f ft to the", &feet)
		require.NoError(t, err, text)
		_, err = fmt.Sscanf(way[strings.Index(way, "bearing "):], "bearing %f", &bearing)
		require.NoError(t, err, text)
		assert.InDelta(t, math.Hypot(east, north)/0.3048, feet, 1, text)
		assert.InDelta(t, east, feet*0.3048*math.Sin(bearing*math.Pi/180), feet*0.01+1, text)
		assert.InDelta(t, north, feet*0.3048*math.Cos(bearing*math.Pi/180), feet*0.01+1, text)
	}
	page.Quiet()
}

// The screen is kept awake where the browser allows it; elsewhere, over plain http from
// another device, the page says which setting does it, at the start and later on.
func TestCabPageStaysAwake(t *testing.T) {
	t.Parallel()
	p := startCab(t, cabJob(t), "--receiver", silent(t), "--listen", "0.0.0.0:0")
	page := viewCab(t, p.address+"#"+p.key, 390, 844)
	page.until(5*time.Second, `document.querySelector("#rest .awake").textContent === "The screen stays on while this page is in front."`)
	address := ""
	all, err := net.InterfaceAddrs()
	require.NoError(t, err)
	for _, a := range all {
		if at, err := netip.ParsePrefix(a.String()); err == nil && at.Addr().Is4() && at.Addr().IsGlobalUnicast() {
			address = at.Addr().String()
		}
	}
	if address == "" {
		t.Skip("this machine has no address but its own loopback")
	}
	away := cabView{browsertest.Visit(t, strings.Replace(p.address, "127.0.0.1", address, 1)+"#"+p.key, 390, 844)}
	away.until(10*time.Second, `document.getElementById("cautions").open`)
	assert.False(t, browsertest.Eval[bool](away.Page, `isSecureContext`))
	assert.Contains(t, away.text("cautions"), "Screen timeout")
	assert.Contains(t, away.text("cautions"), "Auto-Lock")
	assert.Contains(t, away.text("open"), "Anyone on this network can read along")
	away.Keep("cab-phone-awake.png")
}

// below has what stands below the drawing in sight: it is kept up to date only then.
func (v cabView) below() {
	v.T.Helper()
	browsertest.Eval[bool](v.Page, `document.getElementById("rest").scrollIntoView(), true`)
	time.Sleep(4 * time.Second) // these are written anew every three
}

// sameGround waits until two pages show the same, to the pixel.
func sameGround(t *testing.T, a, b cabView) {
	t.Helper()
	a.below()
	b.below()
	for _, id := range []string{"verdict", "also", "closed", "left-over", "opening", "works", "left", "right", "drive", "places", "tanks"} {
		require.Eventually(t, func() bool { return a.text(id) == b.text(id) }, 5*time.Second, 50*time.Millisecond, id)
	}
	require.Eventually(t, func() bool { return reflect.DeepEqual(a.picture(), b.picture()) }, 10*time.Second, 100*time.Millisecond, "the drawing")
}

// A connection that is lost: the cab says nothing for a while, or is killed and started
// again at the same address. The page says that, and of when what it shows is, and then
// catches up by itself, with all ground.
func TestCabPageCatchesUp(t *testing.T) {
	t.Parallel()
	dir := cabJob(t)
	d := newTractor(t, 2*time.Millisecond)
	free, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	listen := free.Addr().String()
	free.Close()
	args := []string{"--receiver", "tcp:" + d.listener.Addr().String(), "--listen", listen}
	p := startCab(t, dir, args...)
	page := viewCab(t, p.address+"#"+p.key, 390, 844)
	browsertest.Eval[bool](page.Page, `window.notReloaded = true`)
	far := func(passes int) {
		t.Helper()
		page.until(60*time.Second, fmt.Sprintf(`window.cabPage.ground().strips >= %d`, passes))
	}
	far(2)

	require.NoError(t, p.Process.Signal(syscall.SIGSTOP)) // the connection stands, and nothing comes
	began := time.Now()
	page.until(4*time.Second, `document.getElementById("signal").textContent.startsWith("No contact with the cab for ")`)
	assert.Contains(t, page.text("signal"), "What stands here is as of ")
	assert.Equal(t, "no contact", page.word("left"))
	assert.Equal(t, "no contact", page.word("right"))
	page.Keep("cab-phone-no-contact.png")
	time.Sleep(time.Until(began.Add(12 * time.Second)))
	require.NoError(t, p.Process.Signal(syscall.SIGCONT))
	page.until(5*time.Second, `document.getElementById("signal").textContent === ""`)
	far(4)

	require.NoError(t, p.Process.Kill())
	_ = p.Wait()
	page.until(4*time.Second, `document.getElementById("signal").textContent.startsWith("No contact with the cab for ")`)
	time.Sleep(3 * time.Second)
	again := startCab(t, dir, args...)
	require.Equal(t, p.key, again.key, "the keys are kept, so that pages go on")
	page.until(5*time.Second, `document.getElementById("signal").textContent === ""`)
	far(6)
	d.stop(true)
	time.Sleep(3 * time.Second) // until the last answer
	assert.True(t, browsertest.Eval[bool](page.Page, `window.notReloaded`))
	fresh := viewCab(t, again.address+"#"+again.key, 390, 844)
	sameGround(t, page, fresh)
	fresh.Quiet()
	page.Keep("cab-phone-caught-up.png")

	// Without the file of the keys a page is told that it needs the new address.
	require.NoError(t, again.Process.Kill())
	_ = again.Wait()
	require.NoError(t, os.Remove(filepath.Join(dir, "journal", "this-cab.json")))
	other := startCab(t, dir, args...)
	require.NotEqual(t, again.key, other.key)
	page.until(8*time.Second, `document.getElementById("signal").textContent.includes("open the address that it printed")`)
}

// The driver and two who look see the same, each as soon as the driver switches.
func TestCabPageOfSeveral(t *testing.T) {
	t.Parallel()
	d := newTractor(t, 5*time.Millisecond)
	d.stop(true) // until they look, or it has driven passes by then
	p := startCab(t, cabJob(t), "--receiver", "tcp:"+d.listener.Addr().String(), "--bar", "page")
	driver := viewCab(t, p.address+"#"+p.key, 390, 844)
	look := keyIn(driver.text("look"))
	first := viewCab(t, p.address+"#"+look, 390, 844)
	d.stop(false)
	p.steer(t, d, false, 331.4+150, 120*time.Second)
	d.stop(true) // amid a pass
	late := viewCab(t, p.address+"#"+look, 390, 844)
	d.stop(false)
	p.steer(t, d, true, 2*331.4+100, 120*time.Second)
	d.stop(true)
	for _, to := range []bool{true, false} {
		if driver.pressed("#bar") != to {
			driver.click("bar")
		}
		for _, v := range []cabView{driver, first, late} {
			v.until(2*time.Second, fmt.Sprintf(`window.cabPage.state().machines[0].down === %v`, to))
		}
	}
	time.Sleep(3 * time.Second) // until the last answer
	assert.GreaterOrEqual(t, browsertest.Eval[int](driver.Page, `window.cabPage.ground().strips`), 2)
	for _, looker := range []cabView{first, late} {
		sameGround(t, driver, looker)
		looker.Quiet()
	}
	driver.Quiet()
}

// The sample, played while its page is looked at.
func TestCabPageOfTheSample(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS("../../samples/tern-bank")))
	data, err := os.ReadFile(filepath.Join(dir, "job.yaml"))
	require.NoError(t, err)
	put(t, filepath.Join(dir, "job.yaml"), strings.Replace(string(data), "tracks: [drill.csv]", "tracks: []", 1))
	p := startCab(t, dir, "--receiver", "file:drill.csv?speed=150", "--units", "metric")
	page := viewCab(t, p.address+"#"+p.key, 390, 844)
	require.Eventually(t, func() bool { a := p.answer(t); return len(a.Passes) >= 38 && a.Now["drill"].Works }, 90*time.Second, 20*time.Millisecond)
	time.Sleep(time.Second) // well into the pass
	page.Keep("cab.png")
	assert.Contains(t, page.text("closed"), "Edge of the field closed along 9")
	page.Quiet()
}

// A field that is worked already, by a log of its job, is drawn before a fix comes.
func TestCabPageOfGroundBefore(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS("../../samples/tern-bank")))
	p := startCab(t, dir, "--receiver", silent(t))
	page := viewCab(t, p.address+"#"+p.key, 390, 844)
	page.until(20*time.Second, `window.cabPage.ground().strips >= 46`)
	assert.NotContains(t, page.text("left-over"), "done about", "no fix has come: nobody knows when")
	page.Keep("cab-phone-before.png")
	page.Quiet()
}

// keyIn is the key in an address.
func keyIn(link string) string {
	_, key, _ := strings.Cut(link, "#")
	return key
}
