package cab

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"slices"
	"strings"
	"time"

	"lapwing/cmd/lapwing/crew"
	"lapwing/coverage/assess"
	"lapwing/coverage/live"
	"lapwing/coverage/machine"
	"lapwing/geo"
	cabpage "lapwing/report/cab"
	"lapwing/report/last"
)

// answer answers the engine's question, and draws the ground on the plane of a frame, with
// the ground of other cabs' machines apart. Any goroutine may call it.
func (k *Cab) answer(q *live.Question, frame *geo.Frame, others []string) answered {
	a, err := q.Answer(assess.Options{Units: k.opt.Units})
	if err != nil {
		return answered{err: err}
	}
	opt := assess.Options{Units: k.opt.Units, Last: &assess.LastQuestion{Machine: -1}, Mend: &assess.MendQuestion{Machine: -1}}
	if q.HasOthers() { // their last passes are asked about in their own cabs
		opt.Last.Among = []int{}
		for _, s := range k.sources {
			opt.Last.Among = append(opt.Last.Among, slices.IndexFunc(a.Map.Machines, func(m machine.Machine) bool { return m.Name == s.machine }))
		}
		opt.Mend.Machine = a.Map.LastAmong(opt.Last.Among)
	}
	if a.Assessment, err = a.Asked(opt); err != nil {
		return answered{err: err}
	}
	var b bytes.Buffer
	d := last.New(a.Assessment)
	err = d.JSON(&b)
	u := k.opt.Units
	out := answered{answer: a, last: b.Bytes(), verdict: []string{d.Headline(u), strings.TrimSpace(strings.Join(append(d.Also(u), d.Beyond(u)), " "))}, err: err}
	if !k.opt.NoPage {
		out.strips = cabpage.StripsOf(a.Assessment, frame, others)
	}
	return out
}

// handler answers the requests that come through the door.
func (k *Cab) handler() http.Handler {
	m := http.NewServeMux()
	m.HandleFunc("GET /answer.json", k.tell)
	m.HandleFunc("POST /bar", k.switchBar)
	m.HandleFunc("POST /fill", k.fill)
	crew.Handle(m, k)
	if !k.opt.NoPage {
		m.HandleFunc("GET /scene.json", k.scene)
		m.HandleFunc("GET /events", k.events)
		m.HandleFunc("GET /last.html", k.exact(lastPage))
		m.HandleFunc("GET /mend.html", k.exact(mendPage))
	}
	return m
}

// A BesideNow is how a bar laps what lies beside it, in metres: above 0 is a lap, below 0 a
// gap, and null is no neighbour.
type BesideNow struct {
	Left  *float64 `json:"left_m"`
	Right *float64 `json:"right_m"`
	Age   *float64 `json:"age_s"` // of the last fix; none before the first
	Works bool     `json:"working"`
	// Signal is what is wrong with its receiver or its journal, such as "no signal for 3 s:
	// no bytes come"; "" while all is well.
	Signal string `json:"signal"`
}

// tell answers with summary.json as of the last lift, by machine how its last pass
// joined (last) and how its bar lies as of its last fix (now), and what other cabs share.
func (k *Cab) tell(w http.ResponseWriter, r *http.Request) {
	var summary, lastJSON []byte
	now, shared := map[string]BesideNow{}, []Shared{}
	if !k.on(r.Context(), func() {
		if a := k.engine.Answer(); a != nil {
			summary, lastJSON = a.Summary, k.last
		}
		for i, s := range k.sources {
			now[s.machine] = k.besideNow(i)
		}
		shared = k.sharedNow()
	}) {
		http.Error(w, "the cab has ended", http.StatusServiceUnavailable)
		return
	}
	out, err := answerJSON(summary, lastJSON, now, shared)
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(out)
}

func (k *Cab) besideNow(source int) BesideNow {
	n := k.engine.Now(source)
	b := BesideNow{Works: n.Works, Left: lapOf(n.Left), Right: lapOf(n.Right), Signal: k.signal(source)}
	if s := k.sources[source]; !s.heard.IsZero() {
		age := round(time.Since(s.heard).Seconds(), 1)
		b.Age = &age
	}
	return b
}

func lapOf(s live.Side) *float64 {
	if !s.Beside {
		return nil
	}
	by := round(s.By.Metres(), 3)
	return &by
}

// round rounds to so many decimals.
func round(x float64, decimals int) float64 {
	scale := math.Pow10(decimals)
	return math.Round(x*scale) / scale
}

// answerJSON adds last, now and shared to summary.json. Before the first answer summary is
// nil, and only these stand there.
func answerJSON(summary, lastJSON []byte, now map[string]BesideNow, shared []Shared) ([]byte, error) {
	out := map[string]json.RawMessage{}
	if summary != nil {
		if err := json.Unmarshal(summary, &out); err != nil {
			return nil, err
		}
	}
	var told struct {
		Verdict json.RawMessage   `json:"verdict"`
		Passes  []json.RawMessage `json:"passes"`
	}
	if lastJSON != nil {
		if err := json.Unmarshal(lastJSON, &told); err != nil {
			return nil, err
		}
	}
	last := map[string]json.RawMessage{}
	for _, p := range told.Passes {
		var of struct {
			Machine string `json:"machine"`
		}
		if err := json.Unmarshal(p, &of); err != nil {
			return nil, err
		}
		last[of.Machine] = p
	}
	for name, what := range map[string]any{"last": last, "now": now, "shared": shared} {
		data, err := json.Marshal(what)
		if err != nil {
			return nil, err
		}
		out[name] = data
	}
	if told.Verdict != nil {
		out["verdict"] = told.Verdict
	}
	return json.Marshal(out)
}

// A barOrder says where the bar is from now on.
type barOrder struct {
	Down     *bool   `json:"down"`
	Machine  string  `json:"machine"`
	Sections *string `json:"sections"` // "1" or "0" for each, from left to right; "" for all
}

// mostOrder is how many bytes the body of an order may have: one has under a hundred.
const mostOrder = 4 << 10

// switchBar takes an order that says where the bar is.
func (k *Cab) switchBar(w http.ResponseWriter, r *http.Request) {
	var order barOrder
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, mostOrder))
	d.DisallowUnknownFields()
	const want = `{"down": true, "machine": "drill A"}`
	if err := d.Decode(&order); err != nil || order.Down == nil && order.Sections == nil {
		http.Error(w, "found an order that is none, want "+want, http.StatusBadRequest)
		return
	}
	if _, err := d.Token(); err != io.EOF {
		http.Error(w, "found more than one order, want "+want, http.StatusBadRequest)
		return
	}
	status, text := 0, ""
	if !k.on(r.Context(), func() { status, text = k.carryOut(order) }) {
		http.Error(w, "the cab has ended", http.StatusServiceUnavailable)
		return
	}
	if status != http.StatusNoContent {
		http.Error(w, text, status)
		return
	}
	w.WriteHeader(status)
}

// carryOut switches the bar. Where it does not, text says why.
func (k *Cab) carryOut(order barOrder) (status int, text string) {
	if k.opt.Bar != "page" {
		return http.StatusConflict, fmt.Sprintf("found --bar %s, want --bar page for a bar that is switched from here", k.opt.Bar)
	}
	i := k.sourceOf(order.Machine)
	if i < 0 {
		return http.StatusBadRequest, fmt.Sprintf("found the machine %q, want one of %s", order.Machine, strings.Join(k.machineNames(), ", "))
	}
	s := k.sources[i]
	if order.Sections != nil {
		if n := len(k.engine.Machine(i).Implement.Sections); *order.Sections != "" && (len(*order.Sections) != n || strings.Trim(*order.Sections, "01") != "") {
			return http.StatusBadRequest, fmt.Sprintf("found the sections %.40q, want %d of 0 and 1", *order.Sections, n)
		}
		s.sections = *order.Sections
	}
	if order.Down != nil {
		s.down = *order.Down
	}
	k.changed.wake()
	return http.StatusNoContent, ""
}
