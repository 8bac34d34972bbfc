//go:build unix

// Package pgtest starts a PostgreSQL of its own for tests, in a temporary directory.
package pgtest

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// Password is that of the owner of the databases, who has to tell it.
const Password = "wren:nest/42"

// A Server is a PostgreSQL that runs until the end of a test.
type Server struct {
	dir     string
	port    int
	bin     string
	as      *syscall.Credential // nil for whoever runs the test
	process *exec.Cmd

	mu   sync.Mutex
	made int
}

// Main runs the tests of a package, which may share one server, see [Shared].
func Main(m interface{ Run() int }) int {
	all.on = true
	status := m.Run()
	if all.server != nil {
		all.server.end()
	}
	return status
}

// all is the server that the tests of a package share, where [Main] runs them.
var all struct {
	sync.Mutex
	on     bool
	server *Server // nil before the first test that wants it
}

// Shared is a server that the tests of a package share, each with databases of its own: to
// make a server takes longer than most tests do. It ends with the package, or with the test
// where they share none. A test that kills its server starts one for itself.
func Shared(t testing.TB) *Server {
	t.Helper()
	all.Lock()
	defer all.Unlock()
	if !all.on {
		return Start(t)
	}
	if all.server == nil {
		all.server = begin(t)
	}
	return all.server
}

// Start starts a server that ends with a test. PostgreSQL refuses to run as root: then
// it runs as postgres or nobody. Without PostgreSQL and PostGIS the test is skipped,
// unless LAPWING_STRANGERS=all forbids that.
func Start(t testing.TB) *Server {
	t.Helper()
	s := begin(t)
	t.Cleanup(s.end)
	return s
}

// begin makes a server and runs it.
func begin(t testing.TB) *Server {
	t.Helper()
	s := &Server{bin: programs(t)}
	var err error
	if s.dir, err = os.MkdirTemp("", "lapwing-pg-"); err != nil {
		t.Fatal(err)
	}
	begun := false
	defer func() {
		if !begun {
			s.end()
		}
	}()
	if os.Getuid() == 0 {
		s.as = other(t)
		if err := os.Chown(s.dir, int(s.as.Uid), int(s.as.Gid)); err != nil {
			t.Fatal(err)
		}
	}
	secret := filepath.Join(s.dir, "password")
	if err := os.WriteFile(secret, []byte(Password), 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := s.command("initdb", "-D", filepath.Join(s.dir, "data"), "-U", "owner", "-A", "scram-sha-256", "--pwfile", secret,
		"-E", "UTF8", "--locale=C.UTF-8", "--no-sync").CombinedOutput(); err != nil {
		t.Fatalf("initdb: %v\n%s", err, out)
	}
	s.port = freePort(t)
	s.Run(t)
	s.exec(t, "postgres", "CREATE DATABASE template_gis")
	s.exec(t, "template_gis", "CREATE EXTENSION postgis")
	begun = true
	return s
}

// end kills the server, and takes its files away.
func (s *Server) end() {
	s.Kill()
	os.RemoveAll(s.dir)
}

// programs is the folder of PostgreSQL's programs.
func programs(t testing.TB) string {
	t.Helper()
	missing := t.Skipf
	if os.Getenv("LAPWING_STRANGERS") == "all" {
		missing = t.Fatalf
	}
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/initdb") // Debian's
	if path, err := exec.LookPath("initdb"); len(found) == 0 && err == nil {
		found = []string{path}
	}
	if len(found) == 0 {
		missing("no PostgreSQL (Debian's postgresql): it was not asked")
	}
	bin := filepath.Dir(found[len(found)-1])
	share, err := exec.Command(filepath.Join(bin, "pg_config"), "--sharedir").Output()
	if err != nil { // Debian has it in a package for programmers
		share = []byte("/usr/share/postgresql/" + filepath.Base(filepath.Dir(bin)))
	}
	if _, err := os.Stat(filepath.Join(strings.TrimSpace(string(share)), "extension", "postgis.control")); err != nil {
		missing("no PostGIS (Debian's postgresql-15-postgis-3): it was not asked")
	}
	return bin
}

// other is whom the server runs as where the test runs as root.
func other(t testing.TB) *syscall.Credential {
	t.Helper()
	for _, name := range []string{"postgres", "nobody"} {
		u, err := user.Lookup(name)
		if err != nil {
			continue
		}
		uid, err := strconv.ParseUint(u.Uid, 10, 32)
		if err != nil {
			continue
		}
		gid, err := strconv.ParseUint(u.Gid, 10, 32)
		if err == nil {
			return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
		}
	}
	t.Fatal("found no user postgres or nobody to run PostgreSQL as")
	return nil
}

// freePort is a port on which nothing listens, below those that Linux gives to whoever asks
// for any: a server that is run again finds it free.
func freePort(t testing.TB) int {
	t.Helper()
	for range 1000 {
		port := 12_000 + rand.IntN(8_000)
		if l, err := net.Listen("tcp", fmt.Sprintf("127.0.0.1:%d", port)); err == nil {
			l.Close()
			return port
		}
	}
	t.Fatal("no port is free")
	return 0
}

// command is a program of PostgreSQL, as whom the server runs as.
func (s *Server) command(name string, args ...string) *exec.Cmd {
	c := exec.Command(filepath.Join(s.bin, name), args...)
	c.Dir = s.dir
	c.SysProcAttr = &syscall.SysProcAttr{Credential: s.as}
	return c
}

// Run runs the server, and returns once it takes connections.
func (s *Server) Run(t testing.TB) {
	t.Helper()
	said, err := os.Create(filepath.Join(s.dir, "log"))
	if err != nil {
		t.Fatal(err)
	}
	defer said.Close()
	s.process = s.command("postgres", "-D", filepath.Join(s.dir, "data"), "-p", strconv.Itoa(s.port), "-k", s.dir,
		"-c", "listen_addresses=127.0.0.1", "-c", "fsync=off")
	s.process.Stdout, s.process.Stderr = said, said
	if err := s.process.Start(); err != nil {
		t.Fatal(err)
	}
	for tries := 0; ; tries++ {
		c, err := pgx.Connect(context.Background(), s.Address("postgres"))
		if err == nil {
			c.Close(context.Background())
			return
		}
		if tries == 300 {
			text, _ := os.ReadFile(said.Name())
			t.Fatalf("PostgreSQL does not start: %v\n%s", err, text)
		}
		time.Sleep(100 * time.Millisecond)
	}
}

// Kill ends the server in an instant, as a power cut does to its connections.
func (s *Server) Kill() {
	if s.process != nil {
		_ = s.process.Process.Signal(syscall.SIGQUIT) // immediate shutdown
		_ = s.process.Wait()
		s.process = nil
	}
}

// Own gives a directory to the user that the server runs as.
func (s *Server) Own(t testing.TB, dir string) {
	t.Helper()
	if s.as == nil {
		return
	}
	if err := os.Chown(dir, int(s.as.Uid), int(s.as.Gid)); err != nil {
		t.Fatal(err)
	}
}

// Programs is the folder of PostgreSQL's programs, such as pg_dump.
func (s *Server) Programs() string { return s.bin }

// Address is the address of a database, with the password.
func (s *Server) Address(database string) string {
	u := url.URL{Scheme: "postgres", User: url.UserPassword("owner", Password), Host: fmt.Sprintf("127.0.0.1:%d", s.port), Path: "/" + database}
	return u.String()
}

// Database makes an empty database with PostGIS, and returns its address.
func (s *Server) Database(t testing.TB) string {
	t.Helper()
	s.mu.Lock() // one at a time: a template may have one copier
	defer s.mu.Unlock()
	s.made++
	name := fmt.Sprintf("book%d", s.made)
	s.exec(t, "postgres", "CREATE DATABASE "+name+" TEMPLATE template_gis")
	return s.Address(name)
}

// Roles are the addresses of an empty database for three who are no superusers: its owner,
// who may make roles, who serves a book in it, and who works for it.
type Roles struct {
	Owner, Web, Worker string
	// Grant puts the last two in the roles that the book has for them, once those are there.
	Grant func()
}

// Roles makes an empty database with PostGIS, and roles for it.
func (s *Server) Roles(t testing.TB) Roles {
	t.Helper()
	u, err := url.Parse(s.Database(t))
	if err != nil {
		t.Fatal(err)
	}
	name := strings.TrimPrefix(u.Path, "/")
	as := func(role string) string {
		at := *u
		at.User = url.UserPassword(role+"_"+name, "x")
		return at.String()
	}
	s.exec(t, "postgres", fmt.Sprintf(`CREATE ROLE owner_%[1]s LOGIN PASSWORD 'x' CREATEROLE; CREATE ROLE web_%[1]s LOGIN PASSWORD 'x';
		CREATE ROLE worker_%[1]s LOGIN PASSWORD 'x'; ALTER DATABASE %[1]s OWNER TO owner_%[1]s`, name))
	return Roles{as("owner"), as("web"), as("worker"), func() {
		s.exec(t, "postgres", fmt.Sprintf("GRANT lapwing_serve TO web_%[1]s; GRANT lapwing_work TO worker_%[1]s", name))
	}}
}

func (s *Server) exec(t testing.TB, database, statement string) {
	t.Helper()
	c, err := pgx.Connect(context.Background(), s.Address(database))
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close(context.Background())
	if _, err := c.Exec(context.Background(), statement); err != nil {
		t.Fatal(err)
	}
}
