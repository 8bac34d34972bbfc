package work

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"runtime/metrics"
	"strings"
	"time"

	"lapwing/cmd/lapwing/disk"
	"lapwing/coverage/book"
)

// unwanted and tooLarge are exit statuses of a process.
const (
	tooLarge = 3
	unwanted = 4
)

// Answer is a process of a job: it reads which from in, and writes what it finds to out.
func Answer(ctx context.Context, in io.Reader, out, says io.Writer) error {
	lines := bufio.NewReader(in)
	text, err := lines.ReadBytes('\n')
	if err != nil {
		return fmt.Errorf("found no order on standard input: %w", err)
	}
	var o order
	if err := json.Unmarshal(text, &o); err != nil {
		return err
	}
	go func() {
		_, _ = io.Copy(io.Discard, lines)
		os.RemoveAll(o.Dir) // the worker is gone, and cannot
		os.Exit(unwanted)
	}()
	go bound(o.Memory, says)
	stored, err := o.answer(ctx)
	if err != nil {
		return err
	}
	return json.NewEncoder(out).Encode(stored)
}

// bound ends the process once it has more memory than it may.
func bound(most int64, says io.Writer) {
	debug.SetMemoryLimit(most / 10 * 9) // rather collect more often
	has := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
	for {
		metrics.Read(has)
		if int64(has[0].Value.Uint64()-has[1].Value.Uint64()) > most {
			fmt.Fprintf(says, "lapwing: it takes more than %d MB of memory\n", most>>20)
			os.Exit(tooLarge)
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// answer measures the job of an order, and returns its parts as a book stores them.
func (o *order) answer(ctx context.Context) (stored [][]byte, err error) {
	var asked book.Question
	if err := json.Unmarshal(o.Job.Ask, &asked); err != nil {
		return nil, err
	}
	if q := asked.String(); q != o.Job.Question {
		return nil, fmt.Errorf("found the question %q under the name of %q", q, o.Job.Question)
	}
	in := disk.Inputs(nil)
	in.Files.Name = o.name
	// The files must be those of the key: its answer is given to every job that has it.
	now, err := book.Look(in, o.Path, "", "", nil)
	if err != nil {
		return nil, o.calledAs(err)
	}
	job, err := book.Seek(in, o.Path, now, o.Job.Program, o.Job.Question)
	if err != nil {
		return nil, o.calledAs(err)
	}
	if job.Key != o.Job.Key {
		return nil, errors.New("found other files in the book than those of the job")
	}
	names := book.NamesOf(o.Path)
	found, err := asked.Assess(ctx, names.Inputs(in), names.Path(), nil)
	if err != nil {
		return nil, o.calledAs(err)
	}
	for _, a := range found {
		p, err := book.PartOf(a)
		if err != nil {
			return nil, err
		}
		stored = append(stored, p.Stored)
	}
	return stored, nil
}

// name is the name on the disk of what a path of the job means.
func (o *order) name(path string) (string, error) {
	at, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	if !strings.HasPrefix(at, o.Dir+string(filepath.Separator)) {
		at = atAbsolute(o.Dir, at)
	}
	return disk.Name(at)
}

// calledAs makes an error one of the files as the job calls them.
func (o *order) calledAs(err error) error {
	text := book.NamesOf(filepath.Base(o.Path)).Real(err.Error())
	return &called{strings.ReplaceAll(text, filepath.Dir(o.Path)+string(filepath.Separator), ""), err}
}

// A called error is one in other words.
type called struct {
	text string
	of   error
}

func (c *called) Error() string { return c.text }

// Unwrap is the error itself.
func (c *called) Unwrap() error { return c.of }
