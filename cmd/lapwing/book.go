package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"runtime"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/heap"
	"lapwing/cmd/lapwing/jobfiles"
	"lapwing/coverage/book"
	"lapwing/coverage/book/bucket"
	"lapwing/coverage/book/gpkg"
	"lapwing/coverage/book/postgis"
	"lapwing/report/words"
)

// addBook adds the flag that names a book.
func addBook(fs *pflag.FlagSet, address *string) {
	fs.StringVar(address, "book", "", "also keep all jobs in a book, and take from it what was done before: file:book.gpkg or postgres://host/database")
}

// openBook opens the book at an address, to ask one question of jobs. What is wrong
// there is wrong with the call.
func openBook(c *cobra.Command, address string, fresh bool, question string) (*book.Keeper, error) {
	store, err := storeAt(c.Context(), address)
	if err != nil {
		return nil, ofBook(c, err)
	}
	return &book.Keeper{Store: store, Inputs: disk.Inputs(nil), Program: bookProgram(), Question: question, Fresh: fresh}, nil
}

// ofBook makes an error one of the call, unless a signal ended that: what is wrong with its
// book is.
func ofBook(c *cobra.Command, err error) error {
	if c.Context().Err() != nil {
		return err
	}
	return &callError{"--book: " + oneLine(err)}
}

// A bookAt is where a book is: a file with its shelf, or a server.
type bookAt struct{ path, files, server string }

// bookOf reads the address of a book.
func bookOf(address string) (at bookAt, err error) {
	scheme, rest, _ := strings.Cut(address, ":")
	switch scheme {
	case "file":
		rest, files := bucket.Cut(rest)
		if own, ok := strings.CutPrefix(rest, "//localhost/"); ok {
			rest = "/" + own
		} else if own, ok := strings.CutPrefix(rest, "///"); ok {
			rest = "/" + own
		}
		path, err := url.PathUnescape(rest)
		if err != nil || path == "" || strings.HasPrefix(path, "//") {
			return at, fmt.Errorf("found %q, want the path of a GeoPackage of this computer, such as file:book.gpkg", "file:"+rest)
		}
		return bookAt{path: path, files: files}, nil
	case "postgres", "postgresql":
		return bookAt{server: address}, nil
	}
	return at, errors.New("found an address of another kind, want file:book.gpkg or postgres://host/database")
}

func storeAt(ctx context.Context, address string) (book.Owned, error) {
	at, err := bookOf(address)
	if err != nil {
		return nil, err
	}
	if at.server == "" {
		return gpkg.OpenWith(ctx, at.path, at.files)
	}
	b, err := postgis.Open(ctx, at.server)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", shownBook(address), err)
	}
	return b, nil
}

// farmNamed is the number of a farm of a book, which has it from then on.
func farmNamed(ctx context.Context, k *book.Keeper, name string) (int64, error) {
	return k.Store.(book.Owned).FarmNamed(ctx, name)
}

// shownBook is the address of a book without who opens it, and any password.
func shownBook(address string) string {
	u, err := url.Parse(address)
	if err != nil || u.Opaque != "" {
		scheme, _, _ := strings.Cut(address, ":")
		if scheme == "file" {
			address, _ = bucket.Cut(address)
			return address
		}
		return scheme + "://..."
	}
	u.User, u.RawQuery, u.Fragment = nil, "", ""
	return u.String()
}

// isDiskFull reports whether an error is that a disk is full: that of a book, or any.
func isDiskFull(err error) bool {
	var full *book.DiskError
	return errors.As(err, &full) || disk.IsFull(err)
}

// eachJob is jobfiles.Each for jobs that go into a book. It ends with the first that finds
// the disk of the book full: all others would find the same.
func eachJob(c *cobra.Command, jobs []jobfiles.Job, atOnce int, do func(context.Context, jobfiles.Job) (jobfiles.How, error)) (failed map[string]error, tally jobfiles.Tally, err error) {
	ctx, stop := context.WithCancelCause(c.Context())
	defer stop(nil)
	if len(jobs) > 1 {
		heap.Roomy()
	}
	failed, tally = jobfiles.Each(ctx, progress(c.ErrOrStderr()), jobs, atOnce, func(ctx context.Context, j jobfiles.Job) (jobfiles.How, error) {
		how, err := do(ctx, j)
		var full *book.DiskError
		if errors.As(err, &full) {
			stop(full)
		}
		return how, err
	})
	err = context.Cause(ctx)
	switch {
	case c.Context().Err() != nil:
		return nil, tally, fmt.Errorf("stopped with %d of %d jobs done; the same command goes on from there", len(jobs)-len(failed), len(jobs))
	case err != nil:
		return nil, tally, fmt.Errorf("%w; %d of %d jobs done, with room the same command goes on from there", err, len(jobs)-len(failed), len(jobs))
	}
	return failed, tally, nil
}

// sayBook says how much the book at an address holds.
func sayBook(ctx context.Context, w io.Writer, address string, k *book.Keeper) error {
	holds, err := k.Holds(ctx)
	if err != nil {
		return err
	}
	years := ""
	if holds.First > 0 {
		years = fmt.Sprintf(", %d", holds.First)
	}
	if holds.Last > holds.First {
		years += fmt.Sprintf(" to %d", holds.Last)
	}
	_, err = fmt.Fprintf(w, "The book %s holds %s, %s, %s and %s%s\n", shownBook(address), words.Count(holds.Fields, "field"),
		words.Count(holds.Assessments, "assessment"), words.Count(holds.Machines, "machine"), words.Count(holds.Operators, "operator"), years)
	return err
}

// sayUnkept warns of the jobs that a book could not keep.
func sayUnkept(c *cobra.Command, k *book.Keeper) {
	if k == nil {
		return
	}
	for _, path := range k.Unkept() {
		fmt.Fprintf(c.ErrOrStderr(), "warning: %s: not kept in the book: its paths lead too far out of its folder\n", path)
	}
}

// computer names this computer.
func computer() string {
	name, err := os.Hostname()
	if err != nil || name == "" {
		return "this computer"
	}
	return name
}

// bookProgram tells programs apart in a book: those built of one commit, without a change,
// by one compiler for one kind of processor find the same, whatever their system.
func bookProgram() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return programHash()
	}
	set := map[string]string{}
	for _, s := range info.Settings {
		set[s.Key] = s.Value
	}
	if commit := set["vcs.revision"]; commit != "" && set["vcs.modified"] == "false" {
		return strings.Join([]string{commit, info.GoVersion, runtime.GOARCH}, " ")
	}
	return programHash()
}
