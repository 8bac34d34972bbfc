//go:build linux

package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A disk that is full, and a directory that may not be written into, are the
// call's fault; what was there stays.
func TestUnwritable(t *testing.T) {
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), 1)
	put(t, filepath.Join(work, "closed", "notes.txt"), "mine")
	for _, tc := range []struct {
		name, before string // a shell's words
		dir          string
		run          string
	}{
		{"a full disk", "mount -t tmpfs -o size=24k none full && echo lapwing 1 >full/summary.json", "full", "assess jobs/field-000/job.yaml --out full"},
		{"a season on a full disk", "mount -t tmpfs -o size=24k none full && echo lapwing 1 >full/season.csv", "full", "season jobs --out full"},
		{"a demo on a full disk", "mount -t tmpfs -o size=24k none full", "full", "demo full --no-open"},
		{"a disk that is read only", "mount -t tmpfs none full && echo lapwing 1 >full/summary.json && mount -o remount,ro full", "full", "assess jobs/field-000/job.yaml --out full"},
		{"a directory without permission", "chmod 555 closed", "closed", "assess jobs/field-000/job.yaml --out closed"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			require.NoError(t, os.MkdirAll(filepath.Join(work, "full"), 0o755))
			script := tc.before + " || exit 99; find " + tc.dir + " -type f; lapwing " + tc.run + "; s=$?; echo --; find " + tc.dir + " -type f; exit $s"
			// In a space of its own anybody may mount a disk, and root is nobody.
			space := []string{"--user", "sh", "-c", script}
			if strings.HasPrefix(tc.before, "mount") {
				space = append([]string{"--map-root-user", "--mount"}, space...)
			}
			c := exec.Command("unshare", space...)
			c.Dir = work
			var out, errs bytes.Buffer
			c.Stdout, c.Stderr = &out, &errs
			_ = c.Run() // its status is looked at
			if c.ProcessState == nil || c.ProcessState.ExitCode() == 99 || strings.HasPrefix(errs.String(), "unshare") {
				t.Skip("this system mounts no disk for a test: " + errs.String())
			}
			assert.Equal(t, wrongInput, c.ProcessState.ExitCode(), errs.String())
			before, after, _ := strings.Cut(out.String(), "--\n")
			assert.Equal(t, before, after)
			lines := strings.Split(strings.TrimSuffix(errs.String(), "\n"), "\n")
			assert.Contains(t, lines[len(lines)-1], "lapwing: ")
			assert.Regexp(t, `no space left on device|read-only file system|permission denied`, errs.String())
		})
	}
}
