package cab

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/output"
	"lapwing/cmd/lapwing/serve"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/job"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/live"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/journal"
	"lapwing/geo/receiver"
)

// Options are what a call asks of a run.
type Options struct {
	Job        string             // the path of its file
	Receivers  []receiver.Address // one for each machine that is heard
	Listen     string             // HOST:PORT to be asked at; port 0 is any that is free
	CertFile   string             // the path of the certificate; "" for none
	KeyFile    string             // the path of its key
	Journal    string             // the directory of the journals; "" is journal beside the job
	Bar        string             // where the bar works: logged, inferred or page
	Shares     []string           // addresses of other cabs of the field, with their keys
	ShareCerts []string           // the paths of certificates that those may show
	Out        string             // the directory that the answer is written into
	Units      quantity.Units
	NoPage     bool // give no page, only answer.json
}

// A CallError says that the call is wrong: of a flag, what was found and what was wanted.
type CallError struct{ text string }

func (e *CallError) Error() string { return e.text }

// The names of what a cab writes beside what assess writes: the job with the journals
// added, and what was heard.
const (
	JobFile     = "cab-job.yaml"
	SummaryFile = "cab.json"
)

// Open makes a run ready: the job with its earlier journals, the engine, the door, and a new
// journal for each machine.
//
// What the call has wrong is a [CallError]; errors of the input are those of the job,
// of the journals and of where the answer is to go.
func Open(opt Options, stdin io.Reader, stderr io.Writer) (*Cab, error) {
	if opt.Journal == "" {
		opt.Journal = filepath.Join(filepath.Dir(opt.Job), "journal")
	}
	k := &Cab{opt: opt, stderr: stderr, stdin: stdin, asks: make(chan func()), heard: make(chan heard)}
	for _, step := range []func() error{k.knows, k.listens, k.writesOut, k.before, k.load, k.begin} {
		if err := step(); err != nil {
			k.Close()
			return nil, err
		}
	}
	return k, nil
}

// listens opens the door.
func (k *Cab) listens() (err error) {
	f := k.opt
	k.door, err = serve.Open(serve.Options{Name: "cab", Listen: f.Listen, Anywhere: true, CertFile: f.CertFile, KeyFile: f.KeyFile,
		Keys: map[serve.Role]string{serve.Looks: k.crew.self.Look, serve.Drives: k.crew.self.Drive}})
	var wrong *serve.AddressError
	switch {
	case errors.As(err, &wrong):
		return &CallError{"--listen: " + wrong.Error()}
	case err != nil:
		return &CallError{err.Error()}
	}
	return nil
}

// writesOut makes sure that the answer can be written.
func (k *Cab) writesOut() (err error) {
	k.out, err = output.Open(k.opt.Out, append([]string{JobFile, SummaryFile}, reports.Names()...)...)
	return err
}

func journalError(path string, err error) error {
	return &job.InputError{File: path, Where: "--journal", Found: "found that it cannot be written (" + disk.Reason(err) + ")", Want: "a directory with room that may be written into"}
}

// before finds the journals of earlier runs, by machine, and repairs their ends.
func (k *Cab) before() (err error) {
	k.earlier = map[string][]string{}
	k.root, err = os.OpenRoot(k.opt.Journal)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	} else if err != nil {
		return journalError(k.opt.Journal, err)
	}
	entries, err := os.ReadDir(k.opt.Journal)
	if err != nil {
		return journalError(k.opt.Journal, err)
	}
	for _, e := range entries {
		if !e.Type().IsRegular() || filepath.Ext(e.Name()) != ".csv" || !k.isJournal(e.Name()) {
			continue
		}
		was := written{name: e.Name()}
		found, err := journal.Mend(journal.In(k.root), e.Name(), func(r journal.Record) {
			was.until = max(was.until, r.Time)
			was.extent.Add(r.At)
		})
		if err != nil {
			return journalError(k.opt.Journal, err)
		}
		path := filepath.Join(k.opt.Journal, e.Name())
		for _, w := range found.Warnings() {
			fmt.Fprintf(k.stderr, "warning: %s: %s\n", path, w)
		}
		if found.Records > 0 {
			k.earlier[found.Machine] = append(k.earlier[found.Machine], path)
			was.machine, was.size = found.Machine, found.Size
			if f, err := k.root.Open(e.Name()); err == nil {
				was.identity = journal.Identity(f)
				f.Close()
			}
			if was.identity != "" {
				k.written = append(k.written, was)
			}
		}
	}
	k.copiesBefore(entries)
	return nil
}

// isJournal reports whether a file begins as a journal does. Other files are left alone.
func (k *Cab) isJournal(name string) bool {
	file, err := k.root.Open(name)
	if err != nil {
		return false
	}
	defer file.Close()
	head := make([]byte, len(journal.Header))
	n, _ := file.Read(head)
	return string(head[:n]) == journal.Header
}

// load reads the job, with the earlier journals among its logs and the machines of other
// cabs, as it will be written.
func (k *Cab) load() error {
	at := filepath.Join(k.opt.Out, JobFile)
	bare, err := k.filesWith(at, spec.Crew{})
	if err != nil {
		return err
	}
	read, err := spec.Read(bare.Files, at)
	if err != nil {
		return err
	}
	for _, m := range read.Machines {
		k.crew.names = append(k.crew.names, m.Name)
	}
	_, k.crew.bound = k.binding()
	k.job, err = k.loadWith(at, spec.Crew{Guests: guestsOf(k.crew.bound), Logs: k.earlier, Without: k.comesFromOthers()})
	return err
}

// filesWith are the files of this computer, and at a path the job with its journals and
// guests.
func (k *Cab) filesWith(at string, with spec.Crew) (job.Inputs, error) {
	in := disk.Inputs(nil, k.opt.Job)
	text, err := k.text("", with)
	if err != nil {
		return in, err
	}
	name, err := disk.Name(at)
	in.FS = disk.Overlay{Name: name, Data: text}
	return in, err
}

// loadWith reads the job with its journals and guests, as it will be written at a path.
func (k *Cab) loadWith(at string, with spec.Crew) (*job.Live, error) {
	in, err := k.filesWith(at, with)
	if err != nil {
		return nil, err
	}
	return job.LoadLive(in, at, job.Overrides{})
}

// text is the job with its journals and guests, and the run that wrote it.
func (k *Cab) text(run string, with spec.Crew) ([]byte, error) {
	in := disk.Inputs(nil, k.opt.Job)
	text, err := spec.Retrack(in.Files, k.opt.Job, filepath.Join(k.opt.Out, JobFile), with)
	if err != nil {
		return nil, err
	}
	const head = "# Written by lapwing cab, run %s: the job with the journals added. lapwing assess takes it.\n"
	return append(fmt.Appendf(nil, head, run), text...), nil
}

// begin makes the engine and the journals.
func (k *Cab) begin() error {
	names, err := k.machines()
	if err != nil {
		return err
	}
	names = names[:len(names)-len(k.crew.bound)] // those of other cabs stand last
	for _, of := range slices.Sorted(maps.Keys(k.earlier)) {
		if !slices.Contains(names, of) {
			fmt.Fprintf(k.stderr, "warning: %s: %d journals of machine %q, which is not in the job; they are left out\n", k.opt.Journal, len(k.earlier[of]), of)
		}
	}
	var sources []live.Source
	for _, a := range k.opt.Receivers {
		name, err := whose(a, names)
		if err != nil {
			return err
		}
		rule := k.job.Rule(name)
		if k.opt.Bar != "logged" && rule.Told() || k.opt.Bar == "page" && rule.Inferred() {
			return &job.InputError{Where: "--bar", Found: fmt.Sprintf("found %q, but the job itself says where %s works", k.opt.Bar, name), Want: "one of them"}
		}
		sources = append(sources, live.Source{Machine: name})
	}
	if k.engine, err = live.New(k.job, sources); err != nil {
		return err
	}
	if err := os.MkdirAll(k.opt.Journal, 0o755); err != nil {
		return journalError(k.opt.Journal, err)
	}
	if k.root == nil {
		if k.root, err = os.OpenRoot(k.opt.Journal); err != nil {
			return journalError(k.opt.Journal, err)
		}
	}
	if k.crew.fresh {
		k.introduce()
	}
	for i, s := range sources {
		j, err := journal.Create(journal.In(k.root), s.Machine, time.Now(), journal.Options{})
		var waits *journal.WaitingError
		if j == nil || err != nil && !errors.As(err, &waits) {
			return journalError(k.opt.Journal, err)
		}
		path := filepath.Join(k.opt.Journal, j.Name())
		k.sources = append(k.sources, &cabSource{address: k.opt.Receivers[i], machine: s.Machine, path: path, journal: j})
		k.engine.Keep(i, path)
		for _, at := range k.crew.self.Fills[s.Machine] {
			k.engine.FilledBefore(i, geo.InstantOf(at))
		}
	}
	if k.crew.own, err = k.ownMachines(); err != nil {
		return err
	}
	return k.joinFound()
}

// machines are the names of those in the job.
func (k *Cab) machines() ([]string, error) {
	j, err := k.job.With(nil)
	if err != nil {
		return nil, err
	}
	if len(j.Fields) > 1 || len(j.Works()) > 1 {
		return nil, &job.InputError{File: k.opt.Job, Where: "boundary", Found: fmt.Sprintf("found %d fields", len(j.Works())), Want: "one"}
	}
	k.ammonia = slices.ContainsFunc(j.Products, func(p agronomy.Product) bool { return p.IsAmmonia() })
	var names []string
	for i := range j.Machines {
		names = append(names, j.Machines[i].Name)
	}
	return names, nil
}

// whose is the name of the machine that a receiver is on.
func whose(a receiver.Address, names []string) (string, error) {
	switch {
	case a.Machine == "" && len(names) == 1:
		return names[0], nil
	case a.Machine == "":
		return "", &CallError{fmt.Sprintf("--receiver: %q: found no machine, want ?machine= with one of %s", a, strings.Join(names, ", "))}
	}
	for _, name := range names {
		if strings.EqualFold(name, a.Machine) {
			return name, nil
		}
	}
	want := "one of " + strings.Join(names, ", ")
	if near := quantity.Nearest(a.Machine, names); near != "" {
		want = strconv.Quote(near)
	}
	return "", &CallError{fmt.Sprintf("--receiver: %q: found the machine %q, want %s", a, a.Machine, want)}
}

// Link is the address of the page, with the key that may switch the bar.
func (k *Cab) Link() string { return k.door.Link(serve.Drives) }

// Invite says how others come in, where the address can be reached from other computers: on a
// terminal a QR code for a phone, the address for those who only look, and a warning where
// there is no certificate.
func (k *Cab) Invite(out io.Writer, terminal bool) error {
	if loopback(k.opt.Listen) {
		return nil
	}
	fmt.Fprintf(k.stderr, "cab: whoever only looks, and other cabs of this field with --share: %s\n", k.nearBy(serve.Looks))
	if k.opt.CertFile == "" {
		k.open = "Anyone on this network can read along: there is no certificate."
		fmt.Fprintln(k.stderr, "cab: anyone on this network can read along: there is no certificate (--tls-cert, --tls-key)")
	}
	if !terminal {
		return nil
	}
	code, err := qrText(k.nearBy(serve.Drives))
	if err == nil {
		fmt.Fprint(out, code)
	}
	return err
}

// nearBy is the address with a key, as a phone on the same network reaches it. Where the door
// is on all addresses of this computer, it is the first that others can reach.
func (k *Cab) nearBy(role serve.Role) string {
	host, _, _ := net.SplitHostPort(k.opt.Listen)
	at, err := netip.ParseAddr(host)
	if host != "" && (err != nil || !at.IsUnspecified()) {
		return k.door.Link(role)
	}
	addresses, _ := net.InterfaceAddrs()
	for _, a := range addresses {
		if p, err := netip.ParsePrefix(a.String()); err == nil && p.Addr().IsGlobalUnicast() && p.Addr().Is4() {
			return k.door.At(p.Addr().String()) + "#" + k.door.Key(role)
		}
	}
	return k.door.Link(role)
}

// loopback reports whether only this computer can reach an address.
func loopback(listen string) bool {
	host, _, err := net.SplitHostPort(listen)
	at, wrong := netip.ParseAddr(host)
	return err == nil && (host == "localhost" || wrong == nil && at.IsLoopback())
}
