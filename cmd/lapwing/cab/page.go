package cab

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"time"

	"lapwing/cmd/lapwing/serve"
	"lapwing/coverage/assess"
	"lapwing/coverage/machine"
	cabpage "lapwing/report/cab"
	"lapwing/report/last"
	"lapwing/report/mend"
)

// A waker wakes all goroutines that wait for a change. It does not say what changed: each
// asks for what is new to it.
type waker struct {
	mu      sync.Mutex
	changed chan struct{}
}

// wait returns what is closed at the next change.
func (w *waker) wait() <-chan struct{} {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.changed == nil {
		w.changed = make(chan struct{})
	}
	return w.changed
}

func (w *waker) wake() {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.changed != nil {
		close(w.changed)
		w.changed = nil
	}
}

// pageAssets is the page without anything of a field: that is given with a key only.
func (k *Cab) pageAssets() (map[string]serve.Asset, error) {
	if k.opt.NoPage {
		return nil, nil
	}
	p := cabpage.New(k.opt.Units, "Lapwing", serve.Enter, k.ammonia)
	var b bytes.Buffer
	if err := p.Write(&b); err != nil {
		return nil, err
	}
	return map[string]serve.Asset{"/": {Type: "text/html; charset=utf-8", Body: b.Bytes(), Policy: serve.Policy(string(p.CSS), string(p.JS))}}, nil
}

// scene gives a page what does not change during a run.
func (k *Cab) scene(w http.ResponseWriter, r *http.Request) {
	drives := serve.RoleOf(r) == serve.Drives
	var s cabpage.Scene
	if !k.on(r.Context(), func() {
		var machines []*machine.Machine
		var tanks []bool
		for i := range k.sources {
			machines = append(machines, k.engine.Machine(i))
			tanks = append(tanks, len(k.engine.Tanks(i)) > 0)
		}
		s = cabpage.SceneOf(k.opt.Units, k.engine.Land(), machines, tanks)
	}) {
		http.Error(w, "the cab has ended", http.StatusServiceUnavailable)
		return
	}
	s.Switches, s.Drives, s.Open = k.opt.Bar == "page", drives, k.open
	if drives {
		s.Look = k.nearBy(serve.Looks)
	}
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(s) // the client may have gone
}

const (
	// pageRate is the least time between two updates of a page: a slow page gets fewer and
	// larger ones, and holds up neither the engine nor other pages.
	pageRate = 50 * time.Millisecond
	// pageBeat is how often a page gets an update though nothing changed: so it can tell a
	// silent receiver from a lost connection.
	pageBeat = time.Second
)

// events streams updates to a page, each with what is new since what the page says it has.
func (k *Cab) events(w http.ResponseWriter, r *http.Request) {
	seen := k.seenBy(r)
	w.Header().Set("Content-Type", "text/event-stream")
	out := http.NewResponseController(w)
	for {
		changed := k.changed.wait()
		var up cabpage.Update
		if !k.on(r.Context(), func() { up = k.update(seen) }) {
			return
		}
		seen = seen.After(&up)
		data, err := json.Marshal(up)
		if err != nil {
			return
		}
		if _, err := fmt.Fprintf(w, "event: now\ndata: %s\n\n", data); err != nil || out.Flush() != nil {
			return
		}
		select {
		case <-r.Context().Done():
			return
		case <-time.After(pageRate):
		}
		if up.More {
			continue
		}
		select {
		case <-r.Context().Done():
			return
		case <-changed:
		case <-time.After(pageBeat):
		}
	}
}

// seenBy is what a page says that it has: nothing, where the numbers make no sense or are of
// another run.
func (k *Cab) seenBy(r *http.Request) cabpage.View {
	v := cabpage.Nothing(len(k.sources))
	if r.FormValue("run") != k.crew.run {
		return v
	}
	number := func(text string, into *int) {
		if n, err := strconv.Atoi(text); err == nil && n >= 0 {
			*into = n
		}
	}
	number(r.FormValue("answer"), &v.Answer)
	number(r.FormValue("strip"), &v.Strip)
	number(r.FormValue("back"), &v.Back)
	for i, text := range strings.Split(r.FormValue("bars"), ",") {
		if i < len(v.Bars) {
			number(text, &v.Bars[i])
		}
	}
	for _, text := range strings.Split(r.FormValue("others"), ",") {
		n, err := strconv.Atoi(text)
		if err != nil || n < 0 || len(v.Others) == mostOthers {
			break
		}
		v.Others = append(v.Others, n)
	}
	return v
}

// mostOthers bounds how many journals of other cabs a page may say that it has.
const mostOthers = 1000

func (k *Cab) update(seen cabpage.View) cabpage.Update {
	var sources []cabpage.Source
	for i, s := range k.sources {
		sources = append(sources, cabpage.Source{Signal: k.signal(i), Silent: !s.status.Open || s.status.Silence > 0, Down: s.down, Bits: s.sections})
	}
	up := cabpage.UpdateOf(k.opt.Units, k.engine, cabpage.Drawn{Run: k.crew.run, Answer: k.answers, Verdict: k.verdict, Ground: &k.ground}, sources, seen)
	up.Shares = cabpage.SharesOf(k.opt.Units, k.engine, k.shares())
	up.Others = cabpage.OthersOf(k.engine, len(k.sources), k.others(), seen.Others)
	return up
}

// signal is what is wrong with a source, its journal or its answer; "" while all is well.
func (k *Cab) signal(source int) string {
	s := k.sources[source]
	var all []string
	if s.status.Silence > 0 || s.status.Err != nil || s.status.Ended || !s.status.Open {
		all = append(all, s.status.String())
	}
	if s.waiting != "" {
		all = append(all, "the journal cannot be written ("+s.waiting+"): what comes waits in memory")
	}
	if k.unanswered != "" {
		all = append(all, "no exact answer since the last lift: "+k.unanswered)
	}
	return strings.Join(all, "; ")
}

// A pageWriter writes a page of the last answer.
type pageWriter func(a *assess.Assessment, w io.Writer) error

func lastPage(a *assess.Assessment, w io.Writer) error { return last.New(a).Page(w) }

func mendPage(a *assess.Assessment, w io.Writer) error {
	return (&mend.Document{Assessment: a, Last: true}).Page(w)
}

// ownPolicy finds the policy that a page of this program has in its head.
var ownPolicy = regexp.MustCompile(`http-equiv="?Content-Security-Policy"? content="([^"]+)"`)

// exact serves a page of the last exact answer.
func (k *Cab) exact(write pageWriter) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		var a *assess.Assessment
		if !k.on(r.Context(), func() {
			if answer := k.engine.Answer(); answer != nil {
				a = answer.Assessment
			}
		}) || a == nil {
			http.Error(w, "there is no answer yet: the first comes at the first lift", http.StatusServiceUnavailable)
			return
		}
		var b bytes.Buffer
		if err := write(a, &b); err != nil {
			http.Error(w, err.Error(), http.StatusInternalServerError)
			return
		}
		if own := ownPolicy.FindSubmatch(b.Bytes()); own != nil {
			w.Header().Set("Content-Security-Policy", string(own[1])+"; frame-ancestors 'none'")
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = w.Write(b.Bytes()) // the client may have gone
	}
}

// fill notes that the tanks of a machine were filled.
func (k *Cab) fill(w http.ResponseWriter, r *http.Request) {
	var order struct {
		Machine string `json:"machine"`
	}
	const want = `{"machine": "drill A"}`
	if err := json.NewDecoder(http.MaxBytesReader(w, r.Body, mostOrder)).Decode(&order); err != nil {
		http.Error(w, "found an order that is none, want "+want, http.StatusBadRequest)
		return
	}
	found := false
	if !k.on(r.Context(), func() {
		i := k.sourceOf(order.Machine)
		if found = i >= 0; found {
			k.crew.self.filled(k.sources[i].machine, k.engine.Fill(i))
			k.introduce()
			k.changed.wake()
		}
	}) {
		http.Error(w, "the cab has ended", http.StatusServiceUnavailable)
		return
	}
	if !found {
		http.Error(w, fmt.Sprintf("found the machine %q, want %s", order.Machine, want), http.StatusBadRequest)
		return
	}
	w.WriteHeader(http.StatusNoContent)
}
