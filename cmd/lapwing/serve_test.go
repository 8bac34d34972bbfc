//go:build unix

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/cmd/lapwing/office"
	"lapwing/coverage/book"
	"lapwing/coverage/book/gpkg"
	"lapwing/coverage/book/postgis"
	"lapwing/coverage/book/postgis/pgtest"
	"lapwing/report/desk/front"
)

// A crowd is a book that is served, and its people: max manages the book, ada Aspen, al looks
// at Aspen, bo works for Birch, and cy may nothing.
type crowd struct {
	t            *testing.T
	office       *office.Office
	server       *httptest.Server
	said         *lockedBuffer // the log
	served       book.Served
	now          *time.Time
	aspen, birch string // numbers of farms
	field        string // the path of the field of Aspen, to its last slash
	job          string // the key of its job
}

// A lockedBuffer is a log that is read while it is written.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// A visitor is a browser or a program of somebody.
type visitor struct {
	c     *crowd
	http  *http.Client
	token string
	base  string // of another server than the crowd's
}

// A reply is what came back.
type reply struct {
	status int
	text   string
	header http.Header
}

func (c *crowd) visitor() *visitor {
	jar, err := cookiejar.New(nil)
	require.NoError(c.t, err)
	return &visitor{c: c, http: &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
}

func (v *visitor) do(method, path string, form url.Values, headers ...string) reply {
	v.c.t.Helper()
	var body io.Reader
	if form != nil {
		body = strings.NewReader(form.Encode())
	}
	return v.send(method, path, body, append([]string{"Accept", "text/html", "Content-Type", "application/x-www-form-urlencoded"}, headers...)...)
}

func (v *visitor) send(method, path string, body io.Reader, headers ...string) reply {
	v.c.t.Helper()
	base := v.base
	if base == "" {
		base = v.c.server.URL
	}
	r, err := http.NewRequest(method, base+path, body)
	require.NoError(v.c.t, err)
	if v.token != "" {
		r.Header.Set("Authorization", "Bearer "+v.token)
	}
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	answer, err := v.http.Do(r)
	require.NoError(v.c.t, err)
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	require.NoError(v.c.t, err)
	return reply{answer.StatusCode, string(text), answer.Header}
}

// in is somebody who has signed in.
func (c *crowd) in(name, password string) *visitor {
	c.t.Helper()
	v := c.visitor()
	r := v.do("POST", "/sign-in", url.Values{"name": {name}, "password": {password}})
	require.Equal(c.t, http.StatusSeeOther, r.status, r.text)
	return v
}

const password = "a drill in the rain"

// keptOnce is how the password is kept.
var keptOnce = sync.OnceValue(func() string {
	kept, err := office.Keep(context.Background(), password)
	if err != nil {
		panic(err) // nothing ends it
	}
	return kept
})

// newCrowd serves a book to people. What happens is said by pages and forms alone.
func newCrowd(t *testing.T, owner book.Owned, served book.Served, set ...func(*office.Options)) *crowd {
	t.Helper()
	now := time.Now() // sessions end by the clock of the computer too
	c := &crowd{t: t, said: &lockedBuffer{}, served: served, now: &now}
	kept := keptOnce()
	require.NoError(t, owner.AddManager(t.Context(), book.NewPerson{SignIn: "max", Name: "Max", Password: kept}))
	f := serveFlags{desks: t.TempDir()}
	o := office.Options{Book: served, Log: slog.New(slog.NewTextHandler(c.said, nil)), Now: func() time.Time { return now },
		Desk: func(farm int64) (office.Desk, error) { return f.deskOf(served, farm) }}
	o.DeskPage = front.ServedTo
	for _, set := range set {
		set(&o)
	}
	c.office = office.New(o)
	require.NoError(t, mount(c.office, served, "", o.Log))
	t.Cleanup(func() { assert.NoError(t, c.office.Close()) })
	c.server = httptest.NewServer(c.office.Handler())
	t.Cleanup(c.server.Close)

	max := c.in("Max", password)
	for _, name := range []string{"ada", "al", "cy"} {
		_, err := served.AddPerson(book.As(t.Context(), book.Asks{Person: c.id("max")}), book.NewPerson{SignIn: name, Name: strings.ToUpper(name), Password: kept})
		require.NoError(t, err)
	}
	r := max.do("POST", "/people", url.Values{"sign_in": {"bo"}, "name": {"BO"}})
	require.Equal(t, http.StatusOK, r.status, r.text)
	first := onceIn(t, r.text)
	r = c.in("bo", first).do("POST", "/account/password", url.Values{"old": {first}, "new": {password}})
	require.Contains(t, r.text, "Your password is changed")
	for name, id := range map[string]*string{"Aspen": &c.aspen, "Birch": &c.birch} {
		require.Equal(t, http.StatusSeeOther, max.do("POST", "/farms", url.Values{"name": {name}}).status)
		*id = regexp.MustCompile(`<bdi>` + name + `</bdi></strong>, you may manage\s*<a href="/farm/(\d+)/desk/"`).FindStringSubmatch(max.do("GET", "/", nil).text)[1]
	}
	for _, a := range [][3]string{{"ada", "manage", c.aspen}, {"al", "look", c.aspen}, {"bo", "work", c.birch}} {
		require.Equal(t, http.StatusSeeOther, max.do("POST", "/people/allow", url.Values{"sign_in": {a[0]}, "may": {a[1]}, "farm": {a[2]}}).status)
	}
	ada := c.in("ada", password)
	c.drop(ada, c.aspen)
	list := ada.do("GET", "/", nil).text
	at := regexp.MustCompile(`href="(/farm/\d+/field/([0-9a-f]{64})/0/)report.html"`).FindStringSubmatch(list)
	require.NotEmpty(t, at, list)
	c.field, c.job = at[1], at[2]
	return c
}

// onceIn is the secret that a page shows once.
func onceIn(t *testing.T, text string) string {
	t.Helper()
	found := regexp.MustCompile(`shown this once: <code>([^<]+)</code>`).FindStringSubmatch(text)
	require.NotEmpty(t, found, text)
	return found[1]
}

// drop has somebody put a sample field on the desk of a farm, and ask for its page.
func (c *crowd) drop(v *visitor, farm string) {
	c.t.Helper()
	desk := "/farm/" + farm + "/desk/"
	for _, name := range []string{"boundary.geojson", "drill.csv"} {
		text, err := os.ReadFile(filepath.Join("../../samples/tern-bank", name))
		require.NoError(c.t, err)
		r := v.send("POST", desk+"files?name=bank/"+name, bytes.NewReader(text))
		require.Equal(c.t, http.StatusOK, r.status, r.text)
	}
	state := c.ask(v, farm, `{"do": "look"}`)
	var s struct {
		Jobs     []struct{ Job string }
		Machines []struct{ Machine string }
	}
	require.NoError(c.t, json.Unmarshal([]byte(state.text), &s), state.text)
	require.Len(c.t, s.Jobs, 1, state.text)
	for _, m := range s.Machines {
		r := c.ask(v, farm, fmt.Sprintf(`{"do": "answer", "machine": %q, "key": "width", "value": "9 m"}`, m.Machine))
		require.Equal(c.t, http.StatusOK, r.status, r.text)
	}
	made := c.ask(v, farm, fmt.Sprintf(`{"do": "assess", "job": %q}`, s.Jobs[0].Job))
	require.Equal(c.t, http.StatusOK, made.status, made.text)
}

func (c *crowd) ask(v *visitor, farm, message string) reply {
	c.t.Helper()
	return v.send("POST", "/farm/"+farm+"/desk/ask", strings.NewReader(message), "Content-Type", "application/json")
}

// newFileCrowd is a crowd at a book in a file.
func newFileCrowd(t *testing.T, set ...func(*office.Options)) *crowd {
	t.Helper()
	path := filepath.Join(t.TempDir(), "book.gpkg")
	owner, err := gpkg.Open(t.Context(), path)
	require.NoError(t, err)
	t.Cleanup(func() { owner.Close() })
	served, err := gpkg.Serve(t.Context(), path, "")
	require.NoError(t, err)
	t.Cleanup(func() { served.Close() })
	return newCrowd(t, owner, served, set...)
}

// onBoth tries a served book in a file and in PostgreSQL.
func onBoth(t *testing.T, try func(t *testing.T, c *crowd)) {
	t.Run("file", func(t *testing.T) {
		t.Parallel()
		try(t, newFileCrowd(t))
	})
	t.Run("PostgreSQL", func(t *testing.T) {
		t.Parallel()
		roles := pgtest.Shared(t).Roles(t)
		owner, err := postgis.Open(t.Context(), roles.Owner)
		require.NoError(t, err)
		t.Cleanup(func() { owner.Close() })
		require.NoError(t, owner.Admit(t.Context()))
		roles.Grant()
		served, err := postgis.Serve(t.Context(), roles.Web)
		require.NoError(t, err)
		t.Cleanup(func() { served.Close() })
		try(t, newCrowd(t, owner, served))
	})
}

// Every route, as each of those who are not to have what it gives: nothing of Aspen's is in
// any answer, and nothing of Aspen's is changed.
func TestServeKeepsFarmsApart(t *testing.T) {
	onBoth(t, func(t *testing.T, c *crowd) {
		ada := c.in("ada", password)
		require.Equal(t, http.StatusOK, ada.do("POST", c.field+"link", url.Values{"days": {"1"}}).status)
		notes := len(c.notes(t))
		people, err := c.served.People(book.As(t.Context(), book.Asks{Person: c.id("max")}))
		require.NoError(t, err)
		strangers := map[string]*visitor{"nobody": c.visitor(), "bo": c.in("bo", password), "cy": c.in("cy", password), "a wrong token": {c: c, http: c.visitor().http, token: "x"}}
		before := c.fieldNames("ada")
		for _, route := range c.office.Routes() {
			method, pattern, _ := strings.Cut(route.Pattern, " ")
			for _, path := range c.pathsOf(pattern, people) {
				for name, v := range strangers {
					if strings.HasPrefix(path, "/sign-") || path == "/account/password" {
						continue // they sign themselves in and out
					}
					r := v.do(method, path, url.Values{"name": {"x"}, "sign_in": {"bo"}, "may": {"manage"}, "farm": {c.aspen}, "days": {"9"}})
					what := fmt.Sprintf("%s, %s %s: %d %s", name, method, path, r.status, r.text)
					for _, secret := range []string{"Tern", "Pit Field", c.job, "ADA", "AL<", "Aspen"} {
						said := strings.NewReplacer(url.QueryEscape(path), "", path, "").Replace(r.text) // what was asked may be said again
						assert.NotContains(t, said, secret, what)
					}
					given := regexp.MustCompile(`^/(features|map|years)/`).MatchString(path) // to each what is theirs
					if given && (name == "nobody" || name == "a wrong token") {
						assert.GreaterOrEqual(t, r.status, 300, what)
					}
					if !given && path != "/" && path != "/account" && path != "/health" && path != "/account/tokens" && !strings.HasPrefix(path, "/farm/"+c.birch) {
						assert.GreaterOrEqual(t, r.status, 300, what)
					}
					assert.Less(t, r.status, 500, what)
				}
			}
		}
		assert.Contains(t, ada.do("GET", "/features/collections/fields/items", nil).text, "Pit Field")
		assert.Contains(t, ada.do("GET", "/years/", nil).text, "Aspen")
		assert.Contains(t, ada.do("GET", "/map/view?box=-180,-90,180,90&season=2025&size=800,600", nil).text, "fields")
		assert.Equal(t, http.StatusOK, ada.do("GET", strings.Replace(c.field, "/farm/"+c.aspen, "", 1)+"report.html", nil).status)
		// Who only looks changes nothing.
		al := c.in("al", password)
		assert.Equal(t, http.StatusOK, al.do("GET", c.field+"report.html", nil).status)
		for _, path := range []string{c.field + "link", "/farms", "/people", "/people/allow", fmt.Sprintf("/people/%d/end", c.id("ada")), fmt.Sprintf("/people/%d/password", c.id("ada"))} {
			r := al.do("POST", path, url.Values{"name": {"x"}, "sign_in": {"al"}, "may": {"manage"}, "farm": {c.aspen}, "days": {"9"}})
			assert.Contains(t, []int{http.StatusForbidden, http.StatusNotFound, http.StatusUnprocessableEntity}, r.status, "%s: %s", path, r.text)
		}
		assert.Equal(t, http.StatusForbidden, c.ask(al, c.aspen, `{"do": "look"}`).status)
		assert.Equal(t, http.StatusForbidden, al.send("POST", "/farm/"+c.aspen+"/desk/files?name=x.csv", strings.NewReader("x")).status)
		// What Ada may is as it was.
		assert.Equal(t, before, c.fieldNames("ada"))
		again, err := c.served.People(book.As(t.Context(), book.Asks{Person: c.id("max")}))
		require.NoError(t, err)
		assert.Equal(t, people, again)
		assert.GreaterOrEqual(t, len(c.notes(t)), notes)
		assert.NotContains(t, c.said.String(), password)
		assert.NotContains(t, c.said.String(), "level=ERROR")
	})
}

// id is the number of who signs in by a name.
func (c *crowd) id(name string) int64 {
	c.t.Helper()
	who, err := c.served.PersonWhoSignsIn(c.t.Context(), name)
	require.NoError(c.t, err)
	return who.ID
}

func (c *crowd) notes(t *testing.T) []book.Note {
	t.Helper()
	notes, err := c.served.Notes(book.As(t.Context(), book.Asks{Person: c.id("max")}), 1000)
	require.NoError(t, err)
	return notes
}

func (c *crowd) fieldNames(who string) (names []string) {
	c.t.Helper()
	list, _, err := c.served.Standing(book.As(c.t.Context(), book.Asks{Person: c.id(who)}), book.Choice{Most: 100})
	require.NoError(c.t, err)
	for _, s := range list {
		names = append(names, s.Field)
	}
	return names
}

// pathsOf are the paths of a pattern that lead to what is Aspen's, and to what its keys name
// elsewhere.
func (c *crowd) pathsOf(pattern string, people []book.Person) (paths []string) {
	links, err := c.served.Links(book.As(c.t.Context(), book.Asks{Person: c.id("ada")}), *c.now)
	require.NoError(c.t, err)
	require.NotEmpty(c.t, links)
	if strings.HasSuffix(pattern, "/") && pattern != "/" { // another room answers below
		return c.pathsBelow(pattern)
	}
	for _, farm := range []string{c.aspen, c.birch, "0", "x"} {
		for _, file := range []string{"report.html", "summary.json", "coverage.geojson", "products.csv"} {
			for _, rest := range []string{"events", "files/bank/job.yaml", "pages/bank/report.html", "ask", "files"} {
				paths = append(paths, strings.NewReplacer("{$}", "", "{farm}", farm, "{job}", c.job, "{part}", "0", "{file}", file, "{rest...}", rest,
					"{person}", fmt.Sprint(c.id("ada")), "{link}", fmt.Sprint(links[0].ID), "{secret}", "guessed", "{token}", "1").Replace(pattern))
			}
		}
	}
	seen := map[string]bool{}
	var once []string
	for _, p := range paths {
		if !seen[p] && !strings.HasSuffix(p, "/events") { // it goes on for as long as one listens
			once = append(once, p)
		}
		seen[p] = true
	}
	return once
}

// pathsBelow are paths of the rooms that an office mounts.
func (c *crowd) pathsBelow(pattern string) []string {
	below := map[string][]string{
		"/features/": {"", "conformance", "api", "collections", "collections/fields", "collections/fields/items", "collections/ground/items?limit=10", "collections/skips/items",
			"collections/passes/items", "collections/overlaps/items", "collections/fields/items?field=Tern%20Bank,%20Pit%20Field", "collections/fields/items?farm=Aspen", "collections/fields/items/1",
			"collections/ground/items.parquet", "export.gpkg", "collections/skips/items?bbox=2,54,3,55", "tiles/fields/0/0/0.mvt", "tiles/skips/14/8297/5172.mvt"},
		"/map/":   {"", "view", "view?box=-180,-90,180,90&season=2025&size=800,600", "field?id=1", "field?id=2", "chosen"},
		"/years/": {"", "?farm=" + c.aspen, "?farm=0"},
	}[pattern]
	require.NotEmpty(c.t, below, "a room is mounted at %s whose paths this test does not know", pattern)
	for i, path := range below {
		below[i] = pattern + path
	}
	return below
}

// The way in: what lets somebody in, for how long, and how often they may try.
func TestServeLetsIn(t *testing.T) {
	onBoth(t, func(t *testing.T, c *crowd) {
		v := c.visitor()
		r := v.do("GET", c.field+"report.html", nil)
		assert.Equal(t, http.StatusSeeOther, r.status)
		assert.Equal(t, "/sign-in?then="+url.QueryEscape(c.field+"report.html"), r.header.Get("Location"))
		r = v.do("POST", "/sign-in", url.Values{"name": {"ada"}, "password": {"wrong"}, "then": {c.field + "report.html"}})
		assert.Equal(t, http.StatusForbidden, r.status)
		assert.Contains(t, r.text, "Name or password is wrong.")
		other := v.do("POST", "/sign-in", url.Values{"name": {"nobody"}, "password": {"wrong"}})
		assert.Equal(t, r.status, other.status)
		assert.Equal(t, strings.ReplaceAll(r.text, "ada", ""), strings.ReplaceAll(strings.ReplaceAll(other.text, "nobody", ""), `value="/"`, `value="`+c.field+`report.html"`), "that nobody is called so is not told")
		r = v.do("POST", "/sign-in", url.Values{"name": {"Ada"}, "password": {password}, "then": {c.field + "report.html"}})
		assert.Equal(t, c.field+"report.html", r.header.Get("Location"))
		for _, then := range []string{"//elsewhere.example/", "https://elsewhere.example/", `/\elsewhere.example`} {
			assert.Equal(t, "/", c.visitor().do("POST", "/sign-in", url.Values{"name": {"ada"}, "password": {password}, "then": {then}}).header.Get("Location"), then)
		}

		// A session's secret is another one once somebody is in, and out of use once they are out.
		before := v.http.Jar.Cookies(mustURL(c.server.URL))[0].Value
		r = v.do("POST", "/sign-in", url.Values{"name": {"ada"}, "password": {password}})
		cookie := r.header.Get("Set-Cookie")
		assert.Contains(t, cookie, "HttpOnly")
		assert.Contains(t, cookie, "SameSite=Lax")
		after := v.http.Jar.Cookies(mustURL(c.server.URL))[0].Value
		assert.NotEqual(t, before, after)
		require.Equal(t, http.StatusSeeOther, v.do("POST", "/sign-out", nil).status)
		thief := c.visitor()
		assert.Equal(t, http.StatusSeeOther, thief.do("GET", "/", nil, "Cookie", "lapwing="+after).status)

		// Another site's page posts nothing.
		ada := c.in("ada", password)
		assert.Equal(t, http.StatusForbidden, ada.do("POST", "/sign-out", nil, "Sec-Fetch-Site", "cross-site").status)
		assert.Equal(t, http.StatusForbidden, ada.do("POST", "/account/tokens", url.Values{"name": {"x"}}, "Origin", "https://elsewhere.example").status)

		// A new password ends all sessions but this one.
		second := c.in("ada", password)
		r = second.do("POST", "/account/password", url.Values{"old": {password}, "new": {"short"}})
		assert.Equal(t, http.StatusUnprocessableEntity, r.status)
		assert.Contains(t, r.text, "want 12 or more")
		require.Equal(t, http.StatusOK, second.do("POST", "/account/password", url.Values{"old": {password}, "new": {"another " + password}}).status)
		assert.Equal(t, http.StatusOK, second.do("GET", "/", nil).status)
		assert.Equal(t, http.StatusSeeOther, ada.do("GET", "/", nil).status)

		// Sessions end.
		*c.now = c.now.Add(8 * 24 * time.Hour)
		assert.Equal(t, http.StatusSeeOther, second.do("GET", "/", nil).status)

		// So often and no oftener, for a name and for an address.
		statuses := map[int]int{}
		for range 20 {
			r := c.visitor().do("POST", "/sign-in", url.Values{"name": {"bo"}, "password": {"wrong"}})
			statuses[r.status]++
			if r.status == http.StatusTooManyRequests {
				assert.NotEmpty(t, r.header.Get("Retry-After"))
			}
		}
		assert.Equal(t, 8, statuses[http.StatusForbidden])
		assert.Equal(t, 12, statuses[http.StatusTooManyRequests])
		assert.Equal(t, http.StatusTooManyRequests, c.visitor().do("POST", "/sign-in", url.Values{"name": {"bo"}, "password": {password}}).status, "also with the right one")
		*c.now = c.now.Add(time.Hour)
		c.in("bo", password)
		for i := range 30 {
			r = c.visitor().do("POST", "/sign-in", url.Values{"name": {fmt.Sprint("guess", i)}, "password": {"wrong"}})
		}
		assert.Equal(t, http.StatusTooManyRequests, r.status)
	})
}

func mustURL(text string) *url.URL {
	u, err := url.Parse(text)
	if err != nil {
		panic(err)
	}
	return u
}

// Programs send a token, and a client has a link.
func TestServeTokensAndLinks(t *testing.T) {
	onBoth(t, func(t *testing.T, c *crowd) {
		ada := c.in("ada", password)
		token := func(may string) *visitor {
			v := c.visitor()
			v.token = onceIn(t, ada.do("POST", "/account/tokens", url.Values{"name": {"for " + may}, "may": {may}, "days": {"9"}}).text)
			return v
		}
		looks, works := token("look"), token("work")
		r := looks.send("GET", c.field+"summary.json", nil)
		require.Equal(t, http.StatusOK, r.status, r.text)
		var summary struct {
			Schema string
			Field  struct{ Name string }
		}
		require.NoError(t, json.Unmarshal([]byte(r.text), &summary))
		assert.Equal(t, "lapwing/assessment/1", summary.Schema)
		assert.NotContains(t, r.text, "job-5b0c7d93", "names are those that people know")
		r = c.ask(looks, c.aspen, `{"do": "look"}`)
		assert.Equal(t, http.StatusForbidden, r.status)
		assert.Contains(t, r.text, "This token may not do that: it is one to look.")
		assert.Equal(t, http.StatusOK, c.ask(works, c.aspen, `{"do": "look"}`).status)
		assert.Equal(t, http.StatusForbidden, works.send("POST", "/account/tokens", nil).status)
		assert.Contains(t, works.send("GET", "/farm/"+c.aspen+"/desk/", nil).text, "whoever works for Aspen sees it")
		assert.Equal(t, http.StatusForbidden, works.send("GET", "/metrics", nil).status)

		// Metrics are for who manages the book, and name nobody.
		max := c.in("max", password)
		r = max.do("GET", "/metrics", nil)
		require.Equal(t, http.StatusOK, r.status)
		assert.Contains(t, r.text, `lapwing_requests_total{route="GET /farm/{farm}/field/{job}/{part}/{file}",status="200"} `)
		for _, name := range []string{"ADA", "Aspen", c.job, c.aspen} {
			assert.NotContains(t, r.text, name)
		}
		assert.Equal(t, http.StatusNotFound, ada.do("GET", "/metrics", nil).status)
		assert.Equal(t, "well\n", c.visitor().do("GET", "/health", nil).text)

		// A link shows its field's page, and nothing else, until its day.
		link := onceIn(t, ada.do("POST", c.field+"link", url.Values{"days": {"2"}}).text)
		path := strings.TrimPrefix(link, c.server.URL)
		require.NotEqual(t, link, path)
		client := c.visitor()
		r = client.do("GET", path, nil)
		require.Equal(t, http.StatusOK, r.status)
		assert.Contains(t, r.text, "<h1>")
		assert.Equal(t, "no-referrer", r.header.Get("Referrer-Policy"))
		assert.Equal(t, http.StatusSeeOther, client.do("GET", c.field+"report.html", nil).status)
		assert.NotContains(t, c.said.String(), strings.TrimPrefix(path, "/link/"), "no secret is in the log")
		assert.NotContains(t, c.said.String(), looks.token)
		*c.now = c.now.Add(48 * time.Hour)
		assert.Equal(t, http.StatusNotFound, client.do("GET", path, nil).status)

		link = onceIn(t, ada.do("POST", c.field+"link", url.Values{"days": {"2"}}).text)
		id := regexp.MustCompile(`action="(/links/\d+/end)"`).FindStringSubmatch(ada.do("GET", "/account", nil).text)[1]
		require.Equal(t, http.StatusSeeOther, ada.do("POST", id, nil).status)
		assert.Equal(t, http.StatusNotFound, client.do("GET", strings.TrimPrefix(link, c.server.URL), nil).status)

		for _, end := range regexp.MustCompile(`action="(/account/tokens/\d+/end)"`).FindAllStringSubmatch(ada.do("GET", "/account", nil).text, -1) {
			require.Equal(t, http.StatusSeeOther, ada.do("POST", end[1], nil).status)
		}
		assert.Equal(t, http.StatusUnauthorized, looks.send("GET", c.field+"summary.json", nil).status)

		trail := ada.do("GET", "/trail", nil)
		require.Equal(t, http.StatusOK, trail.status)
		for _, did := range []string{"gave a link", "put a file in"} {
			assert.Contains(t, trail.text, did)
		}
		assert.Contains(t, max.do("GET", "/trail", nil).text, "made a token to look")
	})
}

// A job that is dropped on a farm's desk opens the files of that desk and no others, by
// whatever name.
func TestServeOpensNoOthersFiles(t *testing.T) {
	onBoth(t, func(t *testing.T, c *crowd) {
		bo := c.in("bo", password)
		c.drop(bo, c.birch)
		other := fmt.Sprintf("../../farm-%s/files/bank/boundary.geojson", c.aspen)
		for _, name := range []string{other, "../" + other, "/etc/passwd", "../../../../../../etc/passwd"} {
			job := fmt.Sprintf("field: theirs\nboundary: %s\nmachines:\n  - {name: a, implement: {width: 10 m}, tracks: [%s]}\n", name, name)
			r := bo.send("POST", "/farm/"+c.birch+"/desk/files?name=theirs.yaml", strings.NewReader(job))
			require.Equal(t, http.StatusOK, r.status, r.text)
			state := c.ask(bo, c.birch, `{"do": "look"}`)
			assert.NotContains(t, state.text, "root:")
			made := c.ask(bo, c.birch, `{"do": "assess", "job": "theirs.yaml"}`)
			assert.Equal(t, http.StatusUnprocessableEntity, made.status, made.text)
		}
		for _, name := range []string{"../farm-" + c.aspen + "/x.csv", "/etc/x.csv", "a/../../x.csv"} {
			r := bo.send("POST", "/farm/"+c.birch+"/desk/files?name="+url.QueryEscape(name), strings.NewReader("x"))
			require.Equal(t, http.StatusOK, r.status, r.text)
			var kept struct{ Name string }
			require.NoError(t, json.Unmarshal([]byte(r.text), &kept))
			assert.True(t, filepath.IsLocal(kept.Name) && strings.HasPrefix(kept.Name, "files/"), kept.Name)
		}
		for _, path := range []string{"files/..%2f..%2ffarm-" + c.aspen + "/files/bank/job.yaml", "files/../../farm-" + c.aspen + "/files/bank/job.yaml", "pages/%2e%2e/%2e%2e/"} {
			r := bo.do("GET", "/farm/"+c.birch+"/desk/"+path, nil)
			assert.GreaterOrEqual(t, r.status, 300, r.text)
			assert.NotContains(t, r.text, "boundary:")
		}
		assert.Equal(t, []string{c.fieldNames("ada")[0]}, c.fieldNames("bo"), "of the same files the same field, each for its own farm")
	})
}

// Who is let in no more is out at once, and who may nothing any more sees nothing.
func TestServeLetsInNoMore(t *testing.T) {
	onBoth(t, func(t *testing.T, c *crowd) {
		max, bo := c.in("max", password), c.in("bo", password)
		require.Equal(t, http.StatusSeeOther, max.do("POST", fmt.Sprintf("/people/%d/end", c.id("bo")), nil).status)
		assert.Equal(t, http.StatusSeeOther, bo.do("GET", "/", nil).status, "who is let in no more is out at once")
		assert.Equal(t, http.StatusForbidden, c.visitor().do("POST", "/sign-in", url.Values{"name": {"bo"}, "password": {password}}).status)
		r := max.do("POST", fmt.Sprintf("/people/%d/end", c.id("max")), nil)
		assert.Equal(t, http.StatusUnprocessableEntity, r.status)
		require.Equal(t, http.StatusSeeOther, max.do("POST", "/people/allow", url.Values{"sign_in": {"al"}, "may": {"nothing"}, "farm": {c.aspen}}).status)
		assert.Empty(t, c.fieldNames("al"))
	})
}
