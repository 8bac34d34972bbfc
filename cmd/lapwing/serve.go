package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/office"
	"lapwing/cmd/lapwing/office/features"
	"lapwing/cmd/lapwing/office/overview"
	"lapwing/cmd/lapwing/office/years"
	"lapwing/cmd/lapwing/output"
	"lapwing/cmd/lapwing/relay"
	"lapwing/cmd/lapwing/serve"
	"lapwing/cmd/lapwing/shell"
	"lapwing/cmd/lapwing/signals"
	"lapwing/coverage/book"
	"lapwing/coverage/book/gpkg"
	"lapwing/coverage/book/postgis"
	"lapwing/coverage/book/queue"
	"lapwing/report/desk"
	"lapwing/report/desk/front"
	fieldreport "lapwing/report/field"
)

// serveFlags are the flags of serve.
type serveFlags struct {
	book        string
	listen      string
	cert, key   string
	behindProxy bool
	desks       string
	prepare     bool
	addPerson   string
	openID      string
	client      string
	public      string
}

// secretOfOpenID is where the secret of an OpenID client stands.
const secretOfOpenID = "LAPWING_OPENID_SECRET"

func newServe() *cobra.Command {
	var f serveFlags
	c := &cobra.Command{
		Use:   "serve --book URL --listen HOST:PORT",
		Short: "Open a book to many people, who each see their own farms",
		Long: `serve lets people at a book over HTTP: they sign in, see the fields of their farms
and the pages that assess writes, and who works for a farm has a desk for it, where
files are dropped and questions answered as on a desk of one's own. Farms keep apart:
in PostgreSQL by its row-level security, in a file by the program.

First put a season into the book, for a farm, and make the first person, who manages
the whole book and adds the others. The password is asked for, or read from standard
input:

  lapwing season 2026 --book file:book.gpkg --farm "Long Reach"
  lapwing serve --book file:book.gpkg --add-person NAME
  lapwing serve --book file:book.gpkg

In PostgreSQL the book is owned by one role and served as another, which owns nothing:
run --add-person as the owner, or --prepare after an update of the program; both make the
roles lapwing_serve and lapwing_work where they may, and say what an administrator is to
run where not. Then serve as a role that is in lapwing_serve: CREATE ROLE web LOGIN
PASSWORD '...' IN ROLE lapwing_serve.

On an address that other computers reach it serves https, with --tls-cert and --tls-key,
or stands behind a proxy that does, with --behind-proxy. What is asked is told on
standard error, a line each, by route and never by name. GET /health says whether the
book answers, GET /metrics counts for who manages the book. Programs send a token, which
people make under Account: curl -H "Authorization: Bearer TOKEN". Ctrl+C ends it in
order.`,
		Example: `  lapwing serve --book file:book.gpkg --add-person ada
  lapwing serve --book postgres://web@db/farm --listen 0.0.0.0:443 --tls-cert c.pem --tls-key k.pem
  lapwing serve --book postgres://web@db/farm --listen 10.0.0.2:8080 --behind-proxy`,
		Args: surplus,
		RunE: func(c *cobra.Command, _ []string) error {
			if f.book == "" {
				return &callError{"found no --book, want the book to serve: --book file:book.gpkg or --book postgres://host/database"}
			}
			switch {
			case c.Flags().Changed("add-person"):
				return f.add(c)
			case f.prepare:
				return f.makeReady(c)
			}
			return f.run(c)
		},
	}
	fs := c.Flags()
	fs.SortFlags = false
	fs.StringVar(&f.book, "book", "", "the book: file:book.gpkg or postgres://host/database")
	fs.StringVar(&f.listen, "listen", "127.0.0.1:0", "HOST:PORT to serve on; port 0 is any that is free")
	fs.StringVar(&f.cert, "tls-cert", "", "certificate to serve https with")
	fs.StringVar(&f.key, "tls-key", "", "its key")
	fs.BoolVar(&f.behindProxy, "behind-proxy", false, "a proxy in front serves https, and says in X-Forwarded-For who comes")
	fs.StringVar(&f.desks, "desks", "desks", "directory for the desks of the farms")
	fs.BoolVar(&f.prepare, "prepare", false, "as who owns the book: make its tables, roles and rights as this version has them, and end")
	fs.StringVar(&f.addPerson, "add-person", "", "add somebody of this name who manages the whole book, and end")
	fs.StringVar(&f.openID, "openid", "", "issuer of OpenID Connect that signs people in too, https://...; the client's secret stands in "+secretOfOpenID)
	fs.StringVar(&f.client, "openid-client", "", "what the issuer calls this client")
	fs.StringVar(&f.public, "public", "", "address by which people call, https://host: where the issuer sends them back")
	return c
}

// add adds the first person, or another who manages the whole book.
func (f *serveFlags) add(c *cobra.Command) error {
	name := strings.Join(strings.Fields(f.addPerson), " ")
	if name == "" || len(name) > 100 {
		return &callError{fmt.Sprintf("--add-person: found %d letters, want a name of 1 to 100", len(name))}
	}
	password, err := f.readPassword(c, name)
	if err != nil {
		return err
	}
	if err := office.CheckPassword(password); err != nil {
		return &callError{err.Error()}
	}
	kept, err := office.Keep(c.Context(), password)
	if err != nil {
		return err
	}
	store, err := f.ready(c)
	if err != nil {
		return err
	}
	defer store.Close()
	err = store.AddManager(c.Context(), book.NewPerson{SignIn: name, Name: name, Password: kept})
	if errors.Is(err, book.ErrTaken) {
		return &callError{fmt.Sprintf("--add-person: found that somebody signs in as %q already, want another name", strings.ToLower(name))}
	}
	if err != nil {
		return ofBook(c, err)
	}
	_, err = fmt.Fprintf(c.OutOrStdout(), "%s manages the book %s, and signs in as %s\n", name, shownBook(f.book), strings.ToLower(name))
	return err
}

// makeReady makes the book ready to be served, and says so.
func (f *serveFlags) makeReady(c *cobra.Command) error {
	store, err := f.ready(c)
	if err != nil {
		return err
	}
	defer store.Close()
	_, err = fmt.Fprintf(c.OutOrStdout(), "The book %s is ready to be served\n", shownBook(f.book))
	return err
}

// ready opens the book as who owns it. In a server it has then, beside its tables, the queue
// for workers, and the rights of who serves it and who works for it.
func (f *serveFlags) ready(c *cobra.Command) (book.Owned, error) {
	store, err := storeAt(c.Context(), f.book)
	if err != nil {
		return nil, ofBook(c, err)
	}
	if b, ok := store.(*postgis.Book); ok {
		_, err := queue.InPostgreSQL(c.Context(), b, bookProgram())
		if err == nil {
			err = b.Admit(c.Context())
		}
		if err != nil {
			return nil, ofBook(c, errors.Join(err, store.Close()))
		}
	}
	return store, nil
}

// readPassword asks for a password twice, where a person sits before a terminal, else takes
// the first line of standard input.
func (f *serveFlags) readPassword(c *cobra.Command, name string) (string, error) {
	in, ok := c.InOrStdin().(*os.File)
	if !ok || !term.IsTerminal(int(in.Fd())) {
		line, err := bufio.NewReader(io.LimitReader(c.InOrStdin(), 4096)).ReadString('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return "", err
		}
		return strings.TrimRight(line, "\r\n"), nil
	}
	var typed [2]string
	for i, ask := range []string{"Password of " + name + ": ", "Once more: "} {
		fmt.Fprint(c.ErrOrStderr(), ask)
		text, err := term.ReadPassword(int(in.Fd()))
		fmt.Fprintln(c.ErrOrStderr())
		if err != nil {
			return "", err
		}
		typed[i] = string(text)
	}
	if typed[0] != typed[1] {
		return "", &callError{"found two passwords that differ, want the same one twice"}
	}
	return typed[0], nil
}

// run serves until a signal comes.
func (f *serveFlags) run(c *cobra.Command) error {
	ctx := c.Context()
	signals.EndsInOrder(ctx)
	if err := f.checkListen(); err != nil {
		return err
	}
	served, err := f.open(ctx)
	if err != nil {
		return ofBook(c, err)
	}
	defer served.Close()
	o := office.Options{
		Book: served, Log: slog.New(slog.NewTextHandler(c.ErrOrStderr(), nil)),
		Secure: f.cert != "" || f.behindProxy, BehindProxy: f.behindProxy,
		Desk: func(farm int64) (office.Desk, error) { return f.deskOf(served, farm) },
	}
	o.DeskPage = front.ServedTo
	if f.openID != "" {
		if o.OpenID, err = f.openIDs(ctx); err != nil {
			return err
		}
	}
	door, err := serve.Open(serve.Options{Name: "serve", Listen: f.listen, Anywhere: true, CertFile: f.cert, KeyFile: f.key})
	if err != nil {
		var address *serve.AddressError
		if errors.As(err, &address) {
			return &callError{"--listen: " + err.Error()}
		}
		return &callError{oneLine(err)}
	}
	defer door.Close()
	at := office.New(o)
	defer at.Close()
	if err := mount(at, served, strings.TrimSuffix(f.public, "/"), o.Log); err != nil {
		return err
	}
	if _, err := fmt.Fprintf(c.OutOrStdout(), "serve %s\n", door.Address()); err != nil {
		return err
	}
	return door.Serve(ctx, at.Handler())
}

// mount has an office answer for its other rooms too. public is the address by which people
// call, where that is known.
func mount(at *office.Office, served book.Served, public string, log *slog.Logger) error {
	failed := func(err error) { log.Error("failed", "error", err.Error()) }
	others, err := features.New(served, public+"/features", failed)
	if err != nil {
		return err
	}
	at.Mount("/features/", "", others)
	pageOf := func(job string, part int) string {
		return fmt.Sprintf("/field/%s/%d/%s", job, part, fieldreport.PageFile)
	}
	at.Mount("/map/", "Map", http.StripPrefix("/map", overview.New(served, overview.Options{Back: "/", FieldPage: pageOf, Failed: at.Fail})))
	at.Mount("/years/", "Over years", years.New(served, years.Options{Back: "/", FieldPage: pageOf, Failed: at.Fail}))
	return nil
}

// checkListen refuses to serve others by plain http.
func (f *serveFlags) checkListen() error {
	host, _, err := net.SplitHostPort(f.listen)
	switch {
	case err != nil:
		return &callError{fmt.Sprintf("--listen: found %q, want HOST:PORT such as 127.0.0.1:8080", f.listen)}
	case (f.cert == "") != (f.key == ""):
		return &callError{"found one of --tls-cert and --tls-key, want both or none"}
	case f.cert != "" && f.behindProxy:
		return &callError{"found --tls-cert and --behind-proxy, want one of them: either this program serves https or the proxy does"}
	case f.cert != "" || f.behindProxy || serve.IsLoopback(host):
		return nil
	}
	return &callError{fmt.Sprintf("--listen: found %s, which other computers reach, want --tls-cert and --tls-key, or --behind-proxy where a proxy serves https", strconv.Quote(f.listen))}
}

// open opens the book to people.
func (f *serveFlags) open(ctx context.Context) (book.Served, error) {
	at, err := bookOf(f.book)
	if err != nil {
		return nil, err
	}
	if at.server == "" {
		return gpkg.Serve(ctx, at.path, at.files)
	}
	b, err := postgis.Serve(ctx, at.server)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", shownBook(f.book), err)
	}
	return b, nil
}

// deskOf opens the desk of a farm, in a directory of its own.
func (f *serveFlags) deskOf(served book.Served, farm int64) (office.Desk, error) {
	folder, err := output.OpenDeskFolder(filepath.Join(f.desks, fmt.Sprintf("farm-%d", farm)))
	if err != nil {
		return office.Desk{}, err
	}
	of := &desk.Book{Store: served, Program: bookProgram(), Place: fmt.Sprintf("farm:%d/", farm)}
	s := &shell.Shell{Desk: desk.New(folder, desk.Options{Formats: disk.Formats, Program: programHash(), Book: of}), Folder: folder}
	cabs, err := openRelay(filepath.Join(f.desks, fmt.Sprintf("farm-%d-crew", farm)))
	if err != nil {
		return office.Desk{}, errors.Join(err, folder.Close())
	}
	return office.Desk{Pages: s.Pages(), Crew: cabs.Handler(office.PersonOf), Close: func() error { return errors.Join(folder.Close(), cabs.Close()) }}, nil
}

// openRelay opens the relay for the cabs of a farm.
func openRelay(dir string) (*relay.Relay, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, err
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	y, err := relay.Open(root)
	if err != nil {
		return nil, errors.Join(err, root.Close())
	}
	return y, nil
}

// openIDs asks the issuer how it signs people in.
func (f *serveFlags) openIDs(ctx context.Context) (*office.OpenID, error) {
	secret := os.Getenv(secretOfOpenID)
	switch {
	case f.client == "" || f.public == "":
		return nil, &callError{"found --openid alone, want --openid-client and --public beside it"}
	case secret == "":
		return nil, &callError{"found no secret of the OpenID client, want it in " + secretOfOpenID}
	}
	name := strings.TrimPrefix(strings.TrimPrefix(f.openID, "https://"), "http://")
	id, err := office.NewOpenID(ctx, name, f.openID, f.client, secret, strings.TrimSuffix(f.public, "/"))
	if err != nil {
		return nil, &callError{"--openid: " + oneLine(err)}
	}
	return id, nil
}
