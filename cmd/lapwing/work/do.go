package work

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"lapwing/coverage/book"
	"lapwing/coverage/book/queue"
)

// Command is the name of the command that a process of a job is started with.
const Command = "answer-job"

// WrongInput is its exit status for a job whose input is wrong.
const WrongInput = 2

// A Doer does jobs with what a book has.
type Doer struct {
	Book   book.Store
	Dir    string        // where the files of jobs are laid while they are measured
	Time   time.Duration // that a job may take
	Memory int64         // bytes that it may take
}

// Do measures a job and puts what is found into the book, unless that has it already.
func (d *Doer) Do(ctx context.Context, j queue.Job) error {
	there, err := d.Book.Has(ctx, j.Key)
	if err != nil {
		return &queue.LaterError{Err: err}
	}
	if there { // its last worker was lost before it could say so
		return nil
	}
	dir, err := os.MkdirTemp(d.Dir, "")
	if err != nil {
		return &queue.LaterError{Err: err}
	}
	defer os.RemoveAll(dir)
	path, err := lay(ctx, d.Book, dir, j.Files)
	if err != nil {
		return err
	}
	stored, err := d.ask(ctx, &order{Dir: dir, Path: path, Job: j, Memory: d.Memory})
	if err != nil {
		return err
	}
	var parts []*book.Part
	for _, text := range stored {
		p, _, err := book.ReadPart(text)
		if err != nil {
			return err
		}
		parts = append(parts, p)
	}
	if err := d.Book.Put(ctx, "", j.Sought(), parts); err != nil {
		return &queue.LaterError{Err: err}
	}
	return nil
}

// An order is what a process is to do.
type order struct {
	Dir    string    `json:"dir"`  // where the job's files lie
	Path   string    `json:"path"` // of the job file
	Job    queue.Job `json:"job"`
	Memory int64     `json:"memory"`
}

// ask has a process carry out an order, and returns what it found.
func (d *Doer) ask(ctx context.Context, o *order) (stored [][]byte, err error) {
	program, err := os.Executable()
	if err != nil {
		return nil, &queue.LaterError{Err: err}
	}
	text, err := json.Marshal(o)
	if err != nil {
		return nil, err
	}
	bounded, cancel := context.WithTimeout(ctx, d.Time)
	defer cancel()
	c := exec.CommandContext(bounded, program, Command)
	c.Args[0] = os.Args[0] // by which name this one goes
	c.WaitDelay = time.Second
	wanted, err := c.StdinPipe() // open as long as this process lives
	if err != nil {
		return nil, &queue.LaterError{Err: err}
	}
	defer wanted.Close()
	var out, said bytes.Buffer
	c.Stdout, c.Stderr = &out, &said
	if err := c.Start(); err != nil {
		return nil, &queue.LaterError{Err: err}
	}
	_, _ = wanted.Write(append(text, '\n')) // one that ended by then says why
	err = c.Wait()
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if err != nil && bounded.Err() != nil {
		return nil, fmt.Errorf("it takes more than %v", d.Time)
	}
	const bySignal = 128 // and its number: a terminal sends it to all that run in it
	var failed *exec.ExitError
	switch {
	case errors.As(err, &failed) && failed.ExitCode() == WrongInput:
		return nil, &queue.WrongError{Text: lastWords(said.String())}
	case errors.As(err, &failed) && failed.ExitCode() > bySignal:
		return nil, &queue.LaterError{Err: errors.New(lastWords(said.String()))}
	case errors.As(err, &failed) && said.Len() > 0:
		return nil, errors.New(lastWords(said.String()))
	case err != nil:
		return nil, fmt.Errorf("its process ended: %w", err)
	}
	if err := json.Unmarshal(out.Bytes(), &stored); err != nil {
		return nil, fmt.Errorf("its process answered what cannot be read: %w", err)
	}
	return stored, nil
}

// lastWords is the line that says why a process ended: that of a crash, else the last.
func lastWords(said string) string {
	last := ""
	for line := range strings.Lines(said) {
		line = strings.TrimSpace(line)
		if strings.HasPrefix(line, "panic: ") || strings.HasPrefix(line, "fatal error: ") {
			return line
		}
		if line != "" {
			last = line
		}
	}
	return strings.TrimPrefix(last, "lapwing: ")
}

// The folders that files are laid in: those that a job names from its own folder, which
// may lead out of it by as many steps as book.Seek lets pass, and others.
const (
	around   = "around"
	absolute = "absolute"
	deep     = 16
)

// lay lays the files of a job out of a book as the job names them, and returns the path of
// the job file.
func lay(ctx context.Context, b book.Store, dir string, files []queue.File) (path string, err error) {
	home := filepath.Join(dir, around, filepath.Join(strings.Split(strings.Repeat("d", deep), "")...))
	for i, f := range files {
		at := filepath.Join(home, filepath.FromSlash(f.Name))
		if filepath.IsAbs(f.Name) {
			at = atAbsolute(dir, f.Name)
		}
		if in, err := filepath.Rel(dir, at); err != nil || !filepath.IsLocal(in) {
			return "", fmt.Errorf("found a file %q, want one in its place", f.Name)
		}
		if err := layOne(ctx, b, at, f.SHA256); err != nil {
			return "", fmt.Errorf("%s: %w", f.Name, err)
		}
		if i == 0 {
			path = at
		}
	}
	return path, nil
}

// atAbsolute is where the file of an absolute path is laid.
func atAbsolute(dir, path string) string {
	volume := filepath.VolumeName(path)
	return filepath.Join(dir, absolute, strings.NewReplacer(":", "", `\`, "").Replace(volume), path[len(volume):])
}

// layOne lays the file of a hash at a path.
func layOne(ctx context.Context, b book.Store, at, sha256 string) error {
	from, err := b.OpenFile(ctx, sha256)
	if errors.Is(err, book.ErrNotFound) {
		return err
	}
	if err != nil {
		return &queue.LaterError{Err: err}
	}
	defer from.Close()
	if err := os.MkdirAll(filepath.Dir(at), 0o700); err != nil {
		return &queue.LaterError{Err: err}
	}
	to, err := os.Create(at)
	if err != nil {
		return &queue.LaterError{Err: err}
	}
	defer to.Close()
	if _, err := io.Copy(to, from); err != nil {
		return &queue.LaterError{Err: err}
	}
	return to.Close()
}
