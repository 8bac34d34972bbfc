//go:build browser

package browsertest

import (
	"bytes"
	"fmt"
	"os"
	"strconv"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// PeakMemory is the most that the process of the page has held so far, in bytes: its
// scripts, workers and WebAssembly, and what it shares with other processes.
func (p *Page) PeakMemory() int64 {
	p.T.Helper()
	var all struct {
		ProcessInfo []struct {
			Type string `json:"type"`
			ID   int    `json:"id"`
		} `json:"processInfo"`
	}
	require.NoError(p.T, chromedp.FromContext(p.Ctx).Browser.Call(p.Ctx, "SystemInfo.getProcessInfo", struct{}{}, &all))
	var most int64
	for _, process := range all.ProcessInfo {
		status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", process.ID))
		if err != nil || process.Type != "renderer" {
			continue
		}
		_, rest, _ := bytes.Cut(status, []byte("VmHWM:"))
		line, _, _ := bytes.Cut(rest, []byte("kB"))
		if kB, err := strconv.ParseInt(string(bytes.TrimSpace(line)), 10, 64); err == nil {
			most = max(most, kB<<10)
		}
	}
	if most == 0 {
		p.T.Skip("the memory of a process is told by Linux alone")
	}
	return most
}
