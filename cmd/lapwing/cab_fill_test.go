//go:build unix

package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What the button told of a tank is known after kill -9 and a new start: no journal tells it.
func TestCabKnowsTheLastFillAgain(t *testing.T) {
	t.Parallel()
	dir := cabJob(t)
	job, err := os.ReadFile(filepath.Join(dir, "job.yaml"))
	require.NoError(t, err)
	put(t, filepath.Join(dir, "job.yaml"), string(job)+"\nproducts:\n  - {name: starter, rate: 100 L/ha, tank: 500 L, fill: 100 %}\n")
	d := newTractor(t, 5*time.Millisecond)
	start := func() *cabProcess {
		return startCab(t, dir, "--receiver", "tcp:"+d.listener.Addr().String(), "--bar", "page")
	}
	tank := func(p *cabProcess) (acres float64) {
		var up struct {
			Machines []struct {
				Tanks []string `json:"tanks"`
			} `json:"machines"`
		}
		require.NoError(t, json.Unmarshal([]byte(p.pageSays(t)), &up))
		require.Len(t, up.Machines, 1)
		require.Len(t, up.Machines[0].Tanks, 1)
		_, err := fmt.Sscanf(up.Machines[0].Tanks[0], "starter: %f ac to go on this fill", &acres)
		require.NoError(t, err, up.Machines[0].Tanks[0])
		return acres
	}
	p := start()
	p.steer(t, d, false, 150, 30*time.Second)
	status, said := p.ask(t, "POST", "fill", p.key, `{"machine": "drill"}`)
	require.Equal(t, 204, status, said)
	p.steer(t, d, true, 310, 30*time.Second)
	require.Eventually(t, func() bool { return len(p.answer(t).Passes) == 1 }, 10*time.Second, 20*time.Millisecond)
	before := tank(p)
	require.NoError(t, p.Process.Kill())
	_ = p.Wait()

	p = start()
	require.Eventually(t, func() bool { return len(p.answer(t).Passes) == 1 }, 10*time.Second, 20*time.Millisecond)
	// The 150 m before the button took half an acre, which would count again.
	assert.InDelta(t, before, tank(p), 0.05)
	kept, err := os.ReadFile(filepath.Join(dir, "journal", "this-cab.json"))
	require.NoError(t, err)
	assert.Contains(t, string(kept), `"fills":{"drill":["`)
	p.end(t, syscall.SIGTERM)
}
