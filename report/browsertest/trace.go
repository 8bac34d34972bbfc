//go:build browser

package browsertest

import (
	"cmp"
	"context"
	"encoding/json"
	"slices"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/tracing"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// A traced is one event of a browser's trace, as far as it is read here.
type traced struct {
	Name  string  `json:"name"`
	PID   int     `json:"pid"`
	TID   int     `json:"tid"`
	At    float64 `json:"ts"`   // µs
	Took  float64 `json:"dur"`  // µs on the wall
	Spent float64 `json:"tdur"` // µs of the thread on a processor
}

// A Work is what the thread of a page did from one mark to the next, in the time that it
// had a processor: other programs on the computer do not count.
type Work struct {
	All time.Duration // all its tasks, also the browser's own, such as to hand on what came
	Own time.Duration // of these the page's: its scripts, style, layout, paint and commit
}

// own are the events of a trace that are the page's own work, as DevTools sums it up. None
// is part of another.
var own = []string{"FunctionCall", "UpdateLayoutTree", "Layout", "PrePaint", "Paint", "Layerize", "Commit", "MinorGC", "MajorGC"}

// WorkBetween tells what the page's thread did for each mark that the page sets by
// performance.mark(name) while during runs.
func (p *Page) WorkBetween(name string, during func()) []Work {
	p.T.Helper()
	return workOf(p.traceOf(during), name)
}

// LongestTask tells how long one task kept the page's thread at most, in the time that it
// had a processor, from the mark on that the page sets by performance.mark(name) while
// during runs.
func (p *Page) LongestTask(name string, during func()) time.Duration {
	p.T.Helper()
	events := p.traceOf(during)
	marked := slices.IndexFunc(events, func(e traced) bool { return e.Name == name })
	require.GreaterOrEqual(p.T, marked, 0, "no mark %q", name)
	mark := events[marked]
	tasks, longest := 0, 0.0
	for _, e := range events[marked:] {
		if e.Name == "RunTask" && e.PID == mark.PID && e.TID == mark.TID {
			tasks, longest = tasks+1, max(longest, e.Spent)
		}
	}
	require.Positive(p.T, tasks, "no task after the mark %q", name)
	return time.Duration(longest * float64(time.Microsecond))
}

// traceOf traces the browser while during runs. The events come in the order in which they
// began.
func (p *Page) traceOf(during func()) []traced {
	p.T.Helper()
	p.mu.Lock()
	p.trace, p.traceEnded = nil, false
	p.mu.Unlock()
	do := func(call func(ctx context.Context, tab *chromedp.Target) (cdp.Empty, error)) {
		p.T.Helper()
		_, err := chromedp.Run(p.Ctx, call)
		require.NoError(p.T, err)
	}
	do(func(ctx context.Context, tab *chromedp.Target) (cdp.Empty, error) {
		return cdp.Call(ctx, tab, tracing.Start, tracing.StartParams{TransferMode: tracing.StartTransferModeReportEvents,
			TraceConfig: &tracing.TraceConfig{IncludedCategories: []string{"blink.user_timing", "devtools.timeline", "disabled-by-default-devtools.timeline"}, ExcludedCategories: []string{"*"}}})
	})
	during()
	do(func(ctx context.Context, tab *chromedp.Target) (cdp.Empty, error) {
		return cdp.Call(ctx, tab, tracing.End, cdp.Empty{})
	})
	require.Eventually(p.T, func() bool { p.mu.Lock(); defer p.mu.Unlock(); return p.traceEnded }, time.Minute, 50*time.Millisecond)
	slices.SortFunc(p.trace, func(a, b traced) int { return cmp.Compare(a.At, b.At) })
	return p.trace
}

// workOf adds up what lies between the marks.
func workOf(events []traced, name string) []Work {
	var marks []traced
	for _, e := range events {
		if e.Name == name {
			marks = append(marks, e)
		}
	}
	if len(marks) < 2 {
		return nil
	}
	out := make([]Work, len(marks))
	for _, e := range events {
		if e.PID != marks[0].PID || e.TID != marks[0].TID {
			continue
		}
		// The mark that it holds, or else the one before it.
		of, _ := slices.BinarySearchFunc(marks, e.At+e.Took, func(m traced, at float64) int { return cmp.Compare(m.At, at) })
		if of == 0 {
			continue
		}
		spent := time.Duration(e.Spent * float64(time.Microsecond))
		switch {
		case e.Name == "RunTask":
			out[of-1].All += spent
		case slices.Contains(own, e.Name):
			out[of-1].Own += spent
		}
	}
	return out[:len(out)-1] // the last one is not whole
}

// traceData takes in a part of a trace.
func (p *Page) traceData(ev *tracing.EventDataCollected) {
	for _, value := range ev.Value {
		var e traced
		if json.Unmarshal(value, &e) == nil {
			p.trace = append(p.trace, e)
		}
	}
}
