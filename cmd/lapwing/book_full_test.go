//go:build linux

package main

import (
	"bufio"
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book/postgis/pgtest"
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

// The same where the disk of a PostgreSQL is full: the tables of the book stand in a
// tablespace on a disk of their own, which is filled.
func TestBookOnAServersFullDisk(t *testing.T) {
	if os.Getuid() != 0 {
		t.Skip("only root mounts a disk that a server of another user may use")
	}
	const fields = 8
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), fields)
	lapwingIn(t, work, "season", "jobs", "--out", "plain")
	disk, err := os.MkdirTemp("", "lapwing-full-") // the server's user comes to it
	require.NoError(t, err)
	t.Cleanup(func() { os.Remove(disk) })
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=96m", "none", disk).CombinedOutput(); err != nil {
		t.Skipf("this system mounts no disk for a test: %s", out)
	}
	t.Cleanup(func() { _ = exec.Command("umount", disk).Run() }) // after the server has ended
	server := pgtest.Start(t)
	server.Own(t, disk)
	c, err := pgx.Connect(t.Context(), server.Address("postgres"))
	require.NoError(t, err)
	defer c.Close(t.Context())
	_, err = c.Exec(t.Context(), "CREATE TABLESPACE full_disk LOCATION '"+disk+"'")
	require.NoError(t, err)
	filler := filepath.Join(disk, "filler")
	fill := func(leave int64) {
		t.Helper()
		var room syscall.Statfs_t
		require.NoError(t, syscall.Statfs(disk, &room))
		require.NoError(t, os.WriteFile(filler, make([]byte, max(0, int64(room.Bavail)*room.Bsize-leave)), 0o666))
	}
	run := func(dir, book string, args ...string) (status int, said string) {
		t.Helper()
		cmd := exec.Command("lapwing", append(args, "--book", book)...)
		cmd.Dir = dir
		var errors bytes.Buffer
		cmd.Stderr = &errors
		out, _ := cmd.Output() // its status is looked at
		return cmd.ProcessState.ExitCode(), errors.String() + string(out)
	}
	for name, how := range map[string]struct {
		leave   int64
		workers bool
	}{"no room for tables": {200 << 10, false}, "room for some jobs": {700 << 10, false}, "a worker": {0, true}} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			require.NoError(t, os.Symlink(filepath.Join(work, "jobs"), filepath.Join(dir, "jobs")))
			database := "full_" + strings.ReplaceAll(name, " ", "_")
			_, err := c.Exec(t.Context(), "CREATE DATABASE "+database+" TEMPLATE template_gis TABLESPACE full_disk")
			require.NoError(t, err)
			book := server.Address(database)
			if how.workers {
				var wait sync.WaitGroup
				season := exec.Command("lapwing", "season", "jobs", "--out", "out", "--book", book, "--workers")
				season.Dir = dir
				stderr, err := season.StderrPipe()
				require.NoError(t, err)
				require.NoError(t, season.Start())
				lines := bufio.NewScanner(stderr)
				for lines.Scan() && !strings.Contains(lines.Text(), "Left to workers") {
				}
				wait.Go(func() {
					for lines.Scan() {
					}
				})
				fill(how.leave)
				status, said := run(dir, book, "work", "--until-empty")
				assert.Equal(t, 2, status, said)
				assert.Contains(t, said, "the disk of the book is full")
				require.NoError(t, os.Remove(filler))
				status, said = run(dir, book, "work", "--until-empty")
				assert.Equal(t, 0, status, said)
				wait.Wait()
				_ = season.Wait() // what it says is said again below
			} else {
				fill(how.leave)
				status, said := run(dir, book, "season", "jobs", "--out", "out")
				assert.Equal(t, 2, status, said)
				assert.Regexp(t, `(?m)^lapwing: .*the disk of the book is full`, said)
				require.NoError(t, os.Remove(filler))
			}
			status, said := run(dir, book, "season", "jobs", "--out", "out")
			require.Equal(t, 0, status, said)
			assert.Contains(t, said, "holds 8 fields, 8 assessments,")
			sameFiles(t, filepath.Join(work, "plain"), filepath.Join(dir, "out"))
			_, err = c.Exec(t.Context(), "DROP DATABASE "+database+" WITH (FORCE)")
			require.NoError(t, err)
		})
	}
}
