// Command lapwing tells which ground a seeding crew really covered: the skips
// and overlaps of a field, and whether its headland closed, from the field's
// boundary and the machines' GNSS logs.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/heap"
	"lapwing/cmd/lapwing/output"
	"lapwing/cmd/lapwing/signals"
	"lapwing/coverage/job"
)

func main() {
	if os.Getenv("GOGC") == "" {
		heap.Pace()
	}
	os.Exit(signals.Attend(func(ctx context.Context) int {
		return run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	}, output.Clear, os.Stderr))
}

// Exit statuses. That of a run that a signal ended is [StopError.Status].
const (
	done       = 0
	failed     = 1 // this machine or this program
	wrongInput = 2 // the input or the call, or where the output was to go
)

// run carries out one call and returns its exit status.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	root := newRoot()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	addCompletion(root)
	err := root.ExecuteContext(ctx)
	if err == nil {
		return done
	}
	stop := signals.StoppedBy(ctx)
	if stop != nil && errors.Is(err, context.Canceled) {
		err = stop
	} else if signals.InOrder(ctx) { // the signal was its end, and the error came of what it then did
		stop = nil
	}
	text := strings.Join(strings.Fields(err.Error()), " ") // one line, whatever it is made of
	signals.LastWord(ctx, func() { fmt.Fprintf(stderr, "lapwing: %s\n", text) })
	if stop != nil {
		return stop.Status()
	}
	var input *job.InputError
	var call *callError
	if errors.As(err, &input) || errors.As(err, &call) || disk.IsOfFiles(err) || isDiskFull(err) {
		return wrongInput
	}
	return failed
}

// A callError says that the command line is wrong.
type callError struct{ text string }

func (e *callError) Error() string { return e.text }

// oneLine is the text of an error in one line.
func oneLine(err error) string { return strings.Join(strings.Fields(err.Error()), " ") }
