//go:build linux

package main

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

// A disk that is full stops nobody: the cab says so, goes on answering, and writes what
// waited, in order, when there is room.
func TestCabDiskFull(t *testing.T) {
	t.Parallel()
	dir := cabJob(t)
	full := filepath.Join(dir, "journal")
	require.NoError(t, os.Mkdir(full, 0o755))
	if err := syscall.Mount("tmpfs", full, "tmpfs", 0, "size=64k"); err != nil {
		t.Skipf("no small disk can be mounted here (%v): a full one was not tried", err)
	}
	t.Cleanup(func() { _ = syscall.Unmount(full, syscall.MNT_DETACH) })
	d := newTractor(t, 2*time.Millisecond)
	p := startCab(t, dir, "--receiver", "tcp:"+d.listener.Addr().String())
	said := func(text string) bool {
		p.stderr.Lock()
		defer p.stderr.Unlock()
		return strings.Contains(p.stderr.String(), text)
	}
	require.Eventually(t, func() bool { return said("the journal cannot be written (no space left on device)") }, 20*time.Second, 10*time.Millisecond)
	then := d.fixes(time.Now())
	require.Eventually(t, func() bool { return d.fixes(time.Now()) > then+500 }, 20*time.Second, 10*time.Millisecond)
	a := p.answer(t)
	assert.Less(t, *a.Now["drill"].Age, 1.0, "it goes on")
	assert.Contains(t, a.Now["drill"].Signal, "the journal cannot be written (no space left on device)")
	require.NoError(t, syscall.Mount("tmpfs", full, "tmpfs", syscall.MS_REMOUNT, "size=64m"))
	require.Eventually(t, func() bool { return said("the journal is written again, and nothing is left waiting") }, 20*time.Second, 10*time.Millisecond)
	p.end(t, syscall.SIGTERM)
	holdsItsLaw(t, dir)
	assert.Greater(t, len(recordsIn(t, full)), then+500)
	var last geo.Instant
	for _, f := range appended(t, full) {
		require.Greater(t, f.Time, last, "what waited is in its place")
		last = f.Time
	}
	told := toldBy(t, dir)
	assert.Zero(t, told.Machines[0].Waiting+told.Machines[0].Lost)
}
