//go:build linux

package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A season, a worker and what they keep of files on a disk that is full: each says so in
// one line and ends with 2; with room again the same command ends whole, with the files
// that it would have written, and the book has each job once.
func TestBookOnAFullDisk(t *testing.T) {
	t.Parallel() // a lost job is seen after a while
	const fields = 8
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), fields)
	lapwingIn(t, work, "season", "jobs", "--out", "plain")
	// In a shell's words: a command that finds the disk full, and what it leaves there.
	const functions = `
full() { timeout 60 "$@" 2>said; s=$?; echo "status $s, lines $(grep -c . said)"; cat said; }
`
	fill := func(kB string) string {
		return "head -c 64m /dev/zero >full/filler 2>/dev/null; truncate -s -" + kB + "k full/filler; "
	}
	const handOut = "lapwing season jobs --out OUT --book file:full/book.gpkg --workers >season.said 2>&1 & until grep -q 'Left to workers' season.said 2>/dev/null; do sleep 0.05; done; "
	const wait = "rm -f full/filler; lapwing work --book file:full/book.gpkg --until-empty || exit 98; wait; lapwing season jobs --out OUT --book file:full/book.gpkg"
	for _, c := range []struct{ name, script string }{
		{"no room for a book", "mount -t tmpfs -o size=100k none full || exit 99; full lapwing season jobs --out OUT --book file:full/book.gpkg; mount -o remount,size=64m full; lapwing season jobs --out OUT --book file:full/book.gpkg"},
		{"no room for its tables to grow", "mount -t tmpfs -o size=1m none full || exit 99; full lapwing season jobs --out OUT --book file:full/book.gpkg; mount -o remount,size=64m full; lapwing season jobs --out OUT --book file:full/book.gpkg"},
		{"no room for files beside it", "mount -t tmpfs -o size=150k none full || exit 99; mkdir -p full/book.files; ln -s full/book.files book.files; full lapwing season jobs --out OUT --book file:book.gpkg; mount -o remount,size=64m full; lapwing season jobs --out OUT --book file:book.gpkg"},
		{"no room to hand out jobs", "mount -t tmpfs -o size=500k none full || exit 99; full lapwing season jobs --out OUT --book file:full/book.gpkg --workers; mount -o remount,size=64m full; " + handOut + wait},
		{"a worker without any room", "mount -t tmpfs -o size=64m none full || exit 99; " + handOut + fill("0") + "full lapwing work --book file:full/book.gpkg; " + wait},
		{"a worker with room for some jobs", "mount -t tmpfs -o size=64m none full || exit 99; " + handOut + fill("600") + "full lapwing work --book file:full/book.gpkg --until-empty; " + wait},
		{"a worker without room of its own", "mount -t tmpfs -o size=100k none full || exit 99; mkdir other; mount -t tmpfs -o size=64m none other; " + strings.ReplaceAll(handOut, "full/", "other/") + "TMPDIR=$PWD/full full lapwing work --book file:other/book.gpkg; " + strings.ReplaceAll(wait, "full/", "other/")},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			require.NoError(t, os.Mkdir(filepath.Join(dir, "full"), 0o755))
			require.NoError(t, os.Symlink(filepath.Join(work, "jobs"), filepath.Join(dir, "jobs")))
			// In a space of its own anybody may mount a disk.
			sh := exec.Command("unshare", "--map-root-user", "--mount", "--user", "sh", "-c", functions+strings.ReplaceAll(c.script, "OUT", "out"))
			sh.Dir = dir
			out, err := sh.CombinedOutput()
			said := string(out)
			if sh.ProcessState == nil || sh.ProcessState.ExitCode() == 99 || bytes.HasPrefix(out, []byte("unshare")) {
				t.Skip("this system mounts no disk for a test: " + said)
			}
			require.NoError(t, err, said)
			assert.Regexp(t, `(?m)^status 2, lines 1\nlapwing: .*(the disk of the book is full|no space left on device)`, said)
			assert.Contains(t, said, "holds 8 fields, 8 assessments,")
			assert.NotRegexp(t, regexp.MustCompile(`failed|warning|set aside: [1-9]`), said)
			sameFiles(t, filepath.Join(work, "plain"), filepath.Join(dir, "out"))
		})
	}
}
