//go:build browser

package browsertest

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// PeakMemory is the most that the process of the page has held so far, in bytes: its
// scripts, workers and WebAssembly, and what it shares with other processes.
func (p *Page) PeakMemory() (most int64) {
	p.T.Helper()
	for _, dir := range p.renderers() {
		status, err := os.ReadFile(filepath.Join(dir, "status"))
		require.NoError(p.T, err)
		_, rest, _ := strings.Cut(string(status), "VmHWM:")
		line, _, _ := strings.Cut(rest, "kB")
		kB, err := strconv.ParseInt(strings.TrimSpace(line), 10, 64)
		require.NoError(p.T, err)
		most = max(most, kB<<10)
	}
	return most
}

// ProcessorTime is how long the workers of the page have been on a processor so far,
// which other programs of the machine hardly change, and how long all its threads have.
func (p *Page) ProcessorTime() (workers, all time.Duration) {
	p.T.Helper()
	for _, dir := range p.renderers() {
		threads, err := filepath.Glob(filepath.Join(dir, "task", "*", "stat"))
		require.NoError(p.T, err)
		for _, thread := range threads {
			text, err := os.ReadFile(thread)
			if err != nil {
				continue // it has ended
			}
			// proc_pid_stat(5): after the name in brackets, utime and stime are the 12th and
			// 13th, in hundredths of a second.
			name, rest, _ := strings.Cut(string(text), ") ")
			fields := strings.Fields(rest)
			var took time.Duration
			for _, i := range []int{11, 12} {
				n, err := strconv.Atoi(fields[i])
				require.NoError(p.T, err)
				took += time.Duration(n) * 10 * time.Millisecond
			}
			all += took
			if strings.Contains(name, "DedicatedWorker") {
				workers += took
			}
		}
	}
	return workers, all
}

// renderers are the folders in /proc of the processes that show pages.
func (p *Page) renderers() (dirs []string) {
	p.T.Helper()
	var all struct {
		ProcessInfo []struct {
			Type string `json:"type"`
			ID   int    `json:"id"`
		} `json:"processInfo"`
	}
	require.NoError(p.T, chromedp.FromContext(p.Ctx).Browser.Call(p.Ctx, "SystemInfo.getProcessInfo", struct{}{}, &all))
	for _, process := range all.ProcessInfo {
		if dir := fmt.Sprintf("/proc/%d", process.ID); process.Type == "renderer" {
			if _, err := os.Stat(filepath.Join(dir, "status")); err == nil {
				dirs = append(dirs, dir)
			}
		}
	}
	if len(dirs) == 0 {
		p.T.Skip("only Linux tells what a process takes")
	}
	return dirs
}
