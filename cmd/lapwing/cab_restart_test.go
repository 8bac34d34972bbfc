//go:build unix

package main

import (
	"math"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/journal"
)

// A cab that is started again after a day of 12 hours at 10 Hz hears fixes within two
// seconds, and says how the bar laps the ground of that day as soon as it has measured
// it. A part of a day by default; with LAPWING_LONG the whole.
func TestCabStartsAgain(t *testing.T) {
	t.Parallel()
	fixes := 432_000 / 24
	// A start takes the machine's own time too: what is promised is asked of one that does
	// nothing else, and a machine that does ten other things has room here.
	within := 10 * time.Second
	if os.Getenv("LAPWING_LONG") != "" {
		fixes, within = 432_000, 2*time.Second
	}
	dir := cabJob(t)
	// The field of the tractor, as far east as it comes in a day.
	across := 10 * math.Ceil(float64(fixes)*0.25/331.4+40)
	put(t, filepath.Join(dir, "field.geojson"), tractorField(across))
	require.NoError(t, os.Mkdir(filepath.Join(dir, "journal"), 0o755))
	root, err := os.OpenRoot(filepath.Join(dir, "journal"))
	require.NoError(t, err)
	defer root.Close()
	begin := time.Date(2026, 5, 4, 8, 0, 0, 0, time.UTC)
	j, err := journal.Create(journal.In(root), "drill", begin, journal.Options{Sync: -1})
	require.NoError(t, err)
	d := newTractor(t, 5*time.Millisecond)
	for n := range fixes {
		x, y := d.at(n)
		r := journal.Record{Machine: "drill", Working: "0", Fix: geo.Fix{Time: geo.InstantOf(begin.Add(time.Duration(n) * 100 * time.Millisecond)),
			At: tractorFrame.FromMetres(x, y), Quality: geo.Fixed, Speed: 2.5, Heading: geo.Bearing(math.NaN())}}
		if math.Mod(float64(n)*0.25, 331.4) < 300 {
			r.Working = "1"
		}
		require.NoError(t, j.Append(r))
		if n%10_000 == 0 {
			require.NoError(t, j.Sync())
		}
	}
	require.NoError(t, j.Close())
	tear(t, filepath.Join(dir, "journal"), seeded(t))
	d.next = fixes

	p := startCab(t, dir, "--receiver", "tcp:"+d.listener.Addr().String(), "--bar", "page")
	said := time.Since(p.started)
	require.Eventually(t, func() bool { a := p.answer(t); return a.Now["drill"].Age != nil }, 20*time.Second, 5*time.Millisecond)
	heard := time.Since(p.started)
	p.steer(t, d, false, float64(fixes)*0.25+30, 20*time.Second)
	require.Eventually(t, func() bool { return len(p.answer(t).Passes) > int(float64(fixes)*0.25/331.4) }, 60*time.Second, 20*time.Millisecond)
	measured := time.Since(p.started)
	t.Logf("%d fixes: it said its address after %v, heard a fix after %v and had measured the day after %v", fixes, said, heard, measured)
	assert.Less(t, heard, within)
	status, _ := p.ask(t, "POST", "bar", p.key, `{"down": true}`)
	assert.Equal(t, 204, status)
	require.Eventually(t, func() bool { n := p.answer(t).Now["drill"]; return n.Works && (n.Left != nil || n.Right != nil) }, 30*time.Second, 20*time.Millisecond,
		"the ground of the day is beside")
	p.end(t, syscall.SIGTERM)
	holdsItsLaw(t, dir)
}
