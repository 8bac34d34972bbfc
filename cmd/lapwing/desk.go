package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"github.com/inconshreveable/mousetrap"
	"github.com/spf13/cobra"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/output"
	"lapwing/cmd/lapwing/serve"
	"lapwing/cmd/lapwing/shell"
	"lapwing/cmd/lapwing/signals"
	"lapwing/report/desk"
)

// leadOnFile is in the folder of a desk while it is open, and leads the browser of
// this user to it.
const leadOnFile = ".lapwing-open.html"

// deskFlags are the flags of desk.
type deskFlags struct {
	listen string
	watch  string
	noOpen bool
	book   string
}

func newDesk() *cobra.Command {
	var f deskFlags
	c := &cobra.Command{
		Use:   "desk [DIR]",
		Short: "Open a page in the browser: drop the files, read what was found",
		Long: `desk serves a page to the browser of this computer, and opens it: drop logs
and boundaries, a folder, a zip or a stick there, answer what they leave open, and
read the pages that assess, last, mend, waste and season write. Nothing leaves the
computer, and nobody else's program or page gets in without the key in the address
that is printed first.

All is kept in DIR (default a folder lapwing in your documents): what was dropped
in files, a job file for each field, the very one that the other commands read,
and the pages. A job file that you edited is not written over. Stop it with
Ctrl+C; whenever it is stopped or killed, DIR holds whole files only.

With --book the desk reads and writes a book too: what it works out is kept there,
what the book has of the same files is not worked out again, whoever did it, and the
fields that the book holds are listed beside those of the desk, to be brought onto it.
season --help says what a book is.

Opened by a double click, without arguments, lapwing does the same.`,
		Example: `  lapwing desk
  lapwing desk 2026 --watch /media/stick
  lapwing desk 2026 --book file:book.gpkg
  lapwing desk --listen 127.0.0.1:8080 --no-open`,
		Args: cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) > 1 {
				return &callError{fmt.Sprintf("found %q after the directory, want nothing there", args[1])}
			}
			dir := ""
			if len(args) == 1 {
				dir = args[0]
			}
			return f.serve(c, dir)
		},
	}
	fs := c.Flags()
	fs.SortFlags = false
	fs.StringVar(&f.listen, "listen", "127.0.0.1:0", "HOST:PORT of this computer to serve on; port 0 is any that is free")
	fs.StringVar(&f.watch, "watch", "", "a folder from which files are taken as they appear")
	addBook(fs, &f.book)
	fs.BoolVar(&f.noOpen, "no-open", false, "open no browser, only print the address")
	return c
}

// serve serves the desk in dir until a signal comes.
func (f *deskFlags) serve(c *cobra.Command, dir string) error {
	ctx := c.Context()
	signals.EndsInOrder(ctx)
	if dir == "" {
		documents, err := disk.Documents()
		if err != nil {
			return &callError{"found no folder for documents, want a directory for the desk: lapwing desk DIR"}
		}
		dir = filepath.Join(documents, "lapwing")
	}
	if err := f.checkWatch(dir); err != nil {
		return err
	}
	book, err := f.openBook(c, dir)
	if err != nil {
		return err
	}
	if book != nil {
		defer book.Store.Close()
	}
	door, err := serve.Open(serve.Options{Name: "desk", Listen: f.listen})
	if err != nil {
		var address *serve.AddressError
		if errors.As(err, &address) {
			return &callError{"--listen: " + err.Error()}
		}
		return err
	}
	defer door.Close()
	folder, err := output.OpenDeskFolder(dir)
	if err != nil {
		return err
	}
	defer folder.Close()
	s := &shell.Shell{Desk: desk.New(folder, desk.Options{Formats: disk.Formats, Program: programHash(), Book: book}), Folder: folder}
	if _, err := fmt.Fprintf(c.OutOrStdout(), "desk %s\n", door.Link(serve.Drives)); err != nil {
		return err
	}
	fmt.Fprintf(c.ErrOrStderr(), "The desk is open in the browser, its files are in %s. Ctrl+C closes it.\n", dir)
	if !f.noOpen {
		if err := serve.LeadOn(folder.Root(), leadOnFile, door.Link(serve.Drives)); err != nil {
			return folder.Failure(err)
		}
		defer folder.Root().Remove(leadOnFile)
		showPage(filepath.Join(dir, leadOnFile))
	}
	return f.attend(ctx, door, s)
}

// openBook opens the book for the desk in dir, and says what it holds; nil where none is
// asked for.
func (f *deskFlags) openBook(c *cobra.Command, dir string) (*desk.Book, error) {
	if f.book == "" {
		return nil, nil
	}
	at, err := disk.Name(dir)
	if err != nil {
		return nil, err
	}
	k, err := openBook(c, f.book, false, "")
	if err != nil {
		return nil, err
	}
	if err := sayBook(c.Context(), c.ErrOrStderr(), f.book, k); err != nil {
		return nil, errors.Join(err, k.Close())
	}
	return &desk.Book{Store: k.Store, Program: k.Program, Place: computer() + ":/" + at + "/"}, nil
}

// attend serves, and takes what appears in a watched folder, until ctx is done.
func (f *deskFlags) attend(ctx context.Context, door *serve.Door, s *shell.Shell) error {
	watching, stop := context.WithCancel(ctx)
	var watch sync.WaitGroup
	defer watch.Wait()
	defer stop()
	if f.watch != "" {
		watch.Go(func() { s.Watch(watching, shell.Watch{Folder: disk.RealPath(f.watch)}) })
	}
	return door.Serve(ctx, door.Guard(shell.Assets(), s.Pages()))
}

// checkWatch refuses a folder that is not there, or that what is taken would come to.
func (f *deskFlags) checkWatch(dir string) error {
	if f.watch == "" {
		return nil
	}
	info, err := os.Stat(f.watch)
	switch {
	case err != nil:
		return &callError{fmt.Sprintf("--watch: found no folder %q (%s), want one that is there", f.watch, disk.Reason(err))}
	case !info.IsDir():
		return &callError{fmt.Sprintf("--watch: found a file, %q, want a folder", f.watch)}
	case disk.IsBelow(f.watch, dir), disk.IsBelow(dir, f.watch):
		return &callError{fmt.Sprintf("--watch: found %q, in or around the desk's own directory %q, want another folder", f.watch, dir)}
	}
	return nil
}

// startedByExplorer reports whether a person opened the program by a double click on
// Windows. Elsewhere a file beside it in the release says so, by calling desk.
var startedByExplorer = mousetrap.StartedByExplorer

// doubleClick opens the desk in the documents, or shows the one that is open. The
// window goes with the program, so it stays until what is wrong has been read.
func doubleClick(c *cobra.Command) error {
	err := new(deskFlags).serve(c, "")
	if documents, failed := disk.Documents(); errors.Is(err, output.ErrHeld) && failed == nil {
		if at := filepath.Join(documents, "lapwing", leadOnFile); disk.Exists(at) && serve.Show(at) {
			return nil
		}
	}
	if err != nil {
		fmt.Fprintf(c.ErrOrStderr(), "lapwing: %s\nEnter closes this window.", strings.Join(strings.Fields(err.Error()), " "))
		_, _ = fmt.Fscanln(c.InOrStdin()) // whatever comes
	}
	return err
}
