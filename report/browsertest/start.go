//go:build browser

package browsertest

import (
	"context"
	"os"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// Main runs the tests of a package, whose pages share one browser: to start one takes
// longer than most pages do.
func Main(m interface{ Run() int }) int {
	all.on = true
	status := m.Run()
	if all.stop != nil {
		all.stop()
	}
	return status
}

// all is the browser that the tests of a package share, where [Main] runs them.
var all struct {
	sync.Mutex
	on   bool
	ctx  context.Context // nil before the first page
	stop context.CancelFunc
}

// shared is the browser that tests share, in which a page stores what no other page sees;
// or one for a test alone where they share none.
func shared(t *testing.T) (context.Context, []chromedp.ContextOption) {
	t.Helper()
	if !all.on {
		return alone()(t)
	}
	all.Lock()
	defer all.Unlock()
	if all.ctx == nil {
		all.ctx, all.stop = browser(t, compiledOnce)
	}
	return all.ctx, []chromedp.ContextOption{chromedp.WithNewBrowserContext()}
}

// alone is a browser that ends with a test, with options beside the usual ones. Without any
// it compiles as people's do, so that what is timed is timed in such.
func alone(options ...chromedp.ExecAllocatorOption) func(*testing.T) (context.Context, []chromedp.ContextOption) {
	return func(t *testing.T) (context.Context, []chromedp.ContextOption) {
		t.Helper()
		ctx, stop := browser(t, options...)
		t.Cleanup(stop)
		return ctx, nil
	}
}

// compiledOnce keeps a browser from compiling a page's engine again, for speed: mostly it
// runs for a second, and that takes a processor longer.
var compiledOnce = chromedp.Flag("js-flags", "--liftoff-only")

// browser starts a browser, with options beside the usual ones. It skips the test where there is none.
func browser(t *testing.T, options ...chromedp.ExecAllocatorOption) (ctx context.Context, stop context.CancelFunc) {
	t.Helper()
	path := os.Getenv("LAPWING_CHROMIUM")
	if path == "" {
		path = "/usr/bin/chromium"
	}
	if _, err := os.Stat(path); err != nil {
		t.Skipf("no browser at %s: set LAPWING_CHROMIUM to one", path)
	}
	options = append(options, chromedp.ExecPath(path), chromedp.Headless, chromedp.NoFirstRun, chromedp.NoSandbox,
		chromedp.DisableGPU, chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		// No process is started ahead, for a page that never comes.
		chromedp.Flag("disable-features", "Translate,BlinkGenPropertyTrees,SpareRendererForSitePerProcess"))
	alloc, kill := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, end := chromedp.NewContext(alloc)
	stop = func() {
		end()
		kill()
	}
	if err := chromedp.Do(ctx); err != nil { // without a deadline: the first call starts the browser
		stop()
		require.NoError(t, err)
	}
	return ctx, stop
}
