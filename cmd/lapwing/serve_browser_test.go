//go:build browser && unix

package main

import (
	"fmt"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"

	"lapwing/report/browsertest"
)

// The pages of a served book on a phone and on a screen: the way in, the fields, people, an
// account, and the desk of a farm, where all is as on a desk of one's own.
func TestBrowserServe(t *testing.T) {
	c := newFileCrowd(t)
	for _, s := range []struct {
		name          string
		width, height int64
	}{{"phone", 390, 844}, {"screen", 1280, 800}} {
		t.Run(s.name, func(t *testing.T) {
			p := cabView{browsertest.VisitFor(t, 2*time.Minute, c.server.URL+"/", s.width, s.height)}
			p.until(20*time.Second, `document.querySelector("input[name=password]")`)
			p.Accessible()
			p.Keep(fmt.Sprintf("serve-sign-in-%s.png", s.name))
			p.Do(chromedp.SendKeys("input[name=name]", "max"), chromedp.SendKeys("input[name=password]", password), chromedp.Click("form.entry button"))
			p.until(20*time.Second, `document.querySelector("#fields-h")`)
			p.Accessible()
			p.Keep(fmt.Sprintf("serve-fields-%s.png", s.name))
			assert.LessOrEqual(t, browsertest.Eval[float64](p.Page, `document.documentElement.scrollWidth`), float64(s.width), "wider than the window")
			for path, has := range map[string]string{"people": "form[action='/people/allow']", "account": "#tokens-h", "trail": "main table"} {
				p.Do(chromedp.Navigate(c.server.URL + "/" + path))
				p.until(20*time.Second, `document.querySelector("`+has+`")`)
				p.Accessible()
				p.Keep(fmt.Sprintf("serve-%s-%s.png", path, s.name))
				assert.LessOrEqual(t, browsertest.Eval[float64](p.Page, `document.documentElement.scrollWidth`), float64(s.width), "%s: wider than the window", path)
			}
			p.Quiet()
			p.Do(chromedp.Navigate(c.server.URL + "/map/"))
			p.until(20*time.Second, `document.getElementById("status").textContent.includes("in view")`)
			p.Quiet()
			p.Keep(fmt.Sprintf("serve-map-%s.png", s.name))
			p.Do(chromedp.Navigate(c.server.URL + "/years/"))
			p.until(20*time.Second, `document.querySelector("main table")`)
			p.Quiet()
			p.Keep(fmt.Sprintf("serve-years-%s.png", s.name))
			p.Do(chromedp.Navigate(c.server.URL + c.field + "report.html"))
			p.until(20*time.Second, `document.querySelector("#map")`)
			p.Do(chromedp.Navigate(c.server.URL + "/farm/" + c.aspen + "/desk/"))
			p.until(20*time.Second, `document.querySelector("#fields")`)
			p.Keep(fmt.Sprintf("serve-desk-%s.png", s.name))
		})
	}
}
