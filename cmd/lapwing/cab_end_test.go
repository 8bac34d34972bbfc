//go:build linux

package main

import (
	"bufio"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/cmd/lapwing/cab"
	"lapwing/report/field"
)

// At the end of its input, at Ctrl-C on its terminal and at TERM a cab writes its whole
// answer within ten seconds and ends with 0, while fixes come and a page listens.
func TestCabEnds(t *testing.T) {
	t.Parallel()
	r := tern(t)
	for _, c := range []struct {
		name string
		end  func(c *exec.Cmd, input io.Closer, terminal *os.File) error
	}{
		{"end of input", func(_ *exec.Cmd, input io.Closer, _ *os.File) error { return input.Close() }},
		{"Ctrl-C", func(_ *exec.Cmd, _ io.Closer, terminal *os.File) error {
			_, err := terminal.WriteString("\x03")
			return err
		}},
		{"TERM", func(c *exec.Cmd, _ io.Closer, _ *os.File) error { return c.Process.Signal(syscall.SIGTERM) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := r.folder(t)
			in, input, err := os.Pipe()
			require.NoError(t, err)
			defer in.Close()
			defer input.Close()
			terminal, side, err := pty.Open() // its standard input is a pipe, its terminal is this
			require.NoError(t, err)
			defer terminal.Close()
			p := exec.Command("lapwing", "cab", "job.yaml", "--receiver", "-")
			p.Dir, p.Stdin, p.Stdout, p.Stderr = dir, in, side, side
			p.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true, Ctty: 1}
			require.NoError(t, p.Start())
			defer func() { _ = p.Process.Kill() }() // it has ended, but where the test failed
			side.Close()
			said := bufio.NewReader(terminal)
			line, err := said.ReadString('\n')
			require.NoError(t, err)
			link, is := strings.CutPrefix(strings.TrimSpace(line), "cab ")
			require.True(t, is, line)
			go func() { _, _ = io.Copy(io.Discard, said) }()
			of := &cabProcess{Cmd: p}
			of.address, of.key, _ = strings.Cut(link, "#")
			feeding := make(chan struct{})
			go func() {
				defer close(feeding)
				for _, e := range r.epochs {
					if _, err := io.WriteString(input, e); err != nil {
						return // it has ended
					}
					time.Sleep(500 * time.Microsecond)
				}
			}()
			require.Eventually(t, func() bool { return fixesIn(t, dir) > 500 }, 20*time.Second, 10*time.Millisecond)
			require.Contains(t, of.pageSays(t), `"machines"`)
			began := time.Now()
			require.NoError(t, c.end(p, input, terminal))
			require.NoError(t, p.Wait())
			took := time.Since(began)
			t.Logf("it ended after %v", took.Round(time.Millisecond))
			assert.Less(t, took, 10*time.Second)
			assert.Zero(t, p.ProcessState.ExitCode())
			input.Close()
			<-feeding
			for _, name := range append([]string{cab.JobFile, cab.SummaryFile}, field.Files.Names()...) {
				assert.FileExists(t, filepath.Join(dir, "assessment", name))
			}
			assert.Equal(t, fixesIn(t, dir), toldBy(t, dir).Fixes)
			holdsItsLaw(t, dir)
		})
	}
}
