package main

import (
	"errors"
	"fmt"
	"maps"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/output"
	"lapwing/cmd/lapwing/serve"
	"lapwing/cmd/lapwing/signals"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/job"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/live"
	"lapwing/coverage/quantity"
	"lapwing/geo/journal"
	"lapwing/geo/receiver"
)

// cabFlags are the flags of cab.
type cabFlags struct {
	receivers []string
	listen    string
	certFile  string
	keyFile   string
	journal   string
	bar       string
	out       string
	units     string
	look      bool
	noPage    bool
	reads     []receiver.Address
	unitsOf   quantity.Units
	job       string
}

func newCab() *cobra.Command {
	var f cabFlags
	c := &cobra.Command{
		Use:   "cab JOB.yaml --receiver SOURCE",
		Short: "Answer live, from the receivers of machines at work",
		Long: `cab listens to the GNSS receivers of machines at work and says at once how the bar
laps what lies beside it, and after each lift what last and assess would say. What it
hears it writes into a journal first, a log that assess reads; ground in earlier
journals, and in logs that the job names, is worked already. At the end of the
input, or when it is told to stop, it writes into --out what assess writes, the job
with the journals added (cab-job.yaml), and cab.json.

SOURCE is serial:PORT, tcp:HOST:PORT, udp:HOST:PORT, gpsd:HOST:PORT, - for standard
input, or file:LOG, a log that is played. Options follow ?, joined by &: machine, the
name of the machine in the job; baud, of a serial port; speed, how many times as fast
as it was logged a log is played, 0 for as fast as it goes. Most receivers put out
sentences of NMEA 0183 once that is switched on; cab --look lists the serial ports and
what speaks on them.

The first line that is printed is the address of the page for the phone or tablet in the
cab, with the key that may switch the bar; the page has another for those who only look.
Programs ask GET /answer.json, and POST /bar {"down": true, "machine": "drill A"}, with
the key as Authorization: Bearer KEY.

It is no guidance and no safety device: it says where ground was worked, from positions
that may be wrong, and never commands a machine. Eyes on the field.`,
		Example: `  lapwing cab field.yaml --receiver serial:/dev/ttyUSB0
  lapwing cab field.yaml --receiver "gpsd:127.0.0.1:2947?machine=drill A"
  lapwing cab field.yaml --receiver "file:day1.nmea?speed=20"
  lapwing cab --look`,
		Args: cobra.ArbitraryArgs,
		RunE: f.run,
	}
	fs := c.Flags()
	fs.SortFlags = false
	fs.StringArrayVar(&f.receivers, "receiver", nil, "where a machine's receiver is heard; once for each machine")
	fs.StringVar(&f.listen, "listen", "127.0.0.1:0", "HOST:PORT to be asked at; port 0 is any that is free")
	fs.StringVar(&f.certFile, "tls-cert", "", "file of the certificate, for an address that others reach")
	fs.StringVar(&f.keyFile, "tls-key", "", "file of the certificate's key")
	fs.StringVar(&f.journal, "journal", "", "directory of the journals (default journal beside the job)")
	fs.StringVar(&f.bar, "bar", "logged", "where the bar works: logged by the source, else worked out; inferred; or page, by POST /bar")
	fs.StringVar(&f.out, "out", "assessment", "directory to write into at the end, made if missing")
	fs.StringVar(&f.units, "units", "us", "us or metric")
	fs.BoolVar(&f.noPage, "no-page", false, "give no page, only answer.json")
	fs.BoolVar(&f.look, "look", false, "list the serial ports and what speaks on them")
	return c
}

// run listens until there is no more to hear, and writes the answer.
func (f *cabFlags) run(c *cobra.Command, args []string) error {
	if f.look {
		return f.lookAround(c, args)
	}
	if err := f.check(args); err != nil {
		return err
	}
	k, err := f.open(c)
	if err != nil {
		return err
	}
	defer k.close()
	signals.EndsInOrder(c.Context())
	fmt.Fprintln(c.OutOrStdout(), "cab", k.door.Link(serve.Drives))
	if !loopback(f.listen) {
		if err := k.invite(c); err != nil {
			return err
		}
	}
	return k.run(c.Context())
}

// invite shows a terminal the way in for a phone near by, and says who else can read along.
func (k *cab) invite(c *cobra.Command) error {
	if k.flags.certFile == "" {
		k.open = "Anyone on this network can read along: there is no certificate."
		fmt.Fprintln(k.stderr, "cab: anyone on this network can read along: there is no certificate (--tls-cert, --tls-key)")
	}
	if !onTerminal(c.OutOrStdout()) {
		return nil
	}
	code, err := qrText(k.nearBy(serve.Drives))
	if err == nil {
		fmt.Fprint(c.OutOrStdout(), code)
	}
	return err
}

// nearBy is the address with a key as a phone on the same network calls it: where the
// door is on all addresses of this machine, by the first that others reach.
func (k *cab) nearBy(role serve.Role) string {
	host, _, _ := net.SplitHostPort(k.flags.listen)
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

// loopback reports whether an address is this machine's alone.
func loopback(listen string) bool {
	host, _, err := net.SplitHostPort(listen)
	at, wrong := netip.ParseAddr(host)
	return err == nil && (host == "localhost" || wrong == nil && at.IsLoopback())
}

// lookAround lists the serial ports.
func (f *cabFlags) lookAround(c *cobra.Command, args []string) error {
	if len(args)+len(f.receivers) > 0 {
		return &callError{"found --look beside a job or a receiver, want it alone"}
	}
	ports, err := receiver.Look(c.Context())
	if err != nil {
		return err
	}
	if len(ports) == 0 {
		fmt.Fprintln(c.OutOrStdout(), "no serial port")
	}
	for _, p := range ports {
		fmt.Fprintln(c.OutOrStdout(), p)
	}
	return nil
}

// check understands the call.
func (f *cabFlags) check(args []string) (err error) {
	switch {
	case len(args) == 0:
		return &callError{"no job, want a job file, such as field.yaml; lapwing new writes one"}
	case len(args) > 1:
		return &callError{fmt.Sprintf("found %q after the job file, want one job file", args[1])}
	case len(f.receivers) == 0:
		return &callError{"no --receiver, want one for each machine, such as --receiver serial:/dev/ttyUSB0; lapwing cab --look lists serial ports"}
	case !slices.Contains([]string{"logged", "inferred", "page"}, f.bar):
		return &callError{fmt.Sprintf("--bar: found %q, want logged, inferred or page", f.bar)}
	case (f.certFile == "") != (f.keyFile == ""):
		return &callError{"found one of --tls-cert and --tls-key, want both or neither"}
	}
	f.job = args[0]
	stdin := 0
	for _, text := range f.receivers {
		a, err := receiver.ParseAddress(text)
		if err != nil {
			return &callError{"--receiver: " + err.Error()}
		}
		if a.Kind == receiver.Stdin {
			stdin++
		}
		f.reads = append(f.reads, a)
	}
	if stdin > 1 {
		return &callError{"--receiver: found - twice, want standard input for one machine"}
	}
	f.unitsOf, err = unitsOf(f.units)
	return err
}

// cabFiles are the names of what cab writes beside what assess writes.
const (
	cabJobFile = "cab-job.yaml"
	cabFile    = "cab.json"
)

// open makes everything ready: the job with its earlier journals, the engine, the door,
// and a new journal for each machine.
func (f *cabFlags) open(c *cobra.Command) (*cab, error) {
	k := &cab{flags: f, stderr: c.ErrOrStderr(), stdin: c.InOrStdin(), asks: make(chan func()), heard: make(chan heard)}
	if f.journal == "" {
		f.journal = filepath.Join(filepath.Dir(f.job), "journal")
	}
	for _, step := range []func() error{k.listens, k.writesOut, k.before, k.load, k.begin} {
		if err := step(); err != nil {
			k.close()
			return nil, err
		}
	}
	return k, nil
}

// listens opens the door.
func (k *cab) listens() (err error) {
	f := k.flags
	k.door, err = serve.Open(serve.Options{Name: "cab", Listen: f.listen, Anywhere: true, CertFile: f.certFile, KeyFile: f.keyFile})
	var wrong *serve.AddressError
	switch {
	case errors.As(err, &wrong):
		return &callError{"--listen: " + wrong.Error()}
	case err != nil:
		return &callError{err.Error()}
	}
	return nil
}

// writesOut makes sure that the answer can be written.
func (k *cab) writesOut() (err error) {
	k.out, err = output.Open(k.flags.out, append([]string{cabJobFile, cabFile}, cabReports.Names()...)...)
	return err
}

func journalError(path string, err error) error {
	return &job.InputError{File: path, Where: "--journal", Found: "found that it cannot be written (" + disk.Reason(err) + ")", Want: "a directory with room that may be written into"}
}

// before finds the journals that are there, by machine, and mends them.
func (k *cab) before() (err error) {
	k.earlier = map[string][]string{}
	k.root, err = os.OpenRoot(k.flags.journal)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	} else if err != nil {
		return journalError(k.flags.journal, err)
	}
	entries, err := os.ReadDir(k.flags.journal)
	if err != nil {
		return journalError(k.flags.journal, err)
	}
	for _, e := range entries {
		if !e.Type().IsRegular() || filepath.Ext(e.Name()) != ".csv" || !k.isJournal(e.Name()) {
			continue
		}
		found, err := journal.Mend(journal.In(k.root), e.Name(), nil)
		if err != nil {
			return journalError(k.flags.journal, err)
		}
		path := filepath.Join(k.flags.journal, e.Name())
		for _, w := range found.Warnings() {
			fmt.Fprintf(k.stderr, "warning: %s: %s\n", path, w)
		}
		if found.Records > 0 {
			k.earlier[found.Machine] = append(k.earlier[found.Machine], path)
		}
	}
	return nil
}

// isJournal reports whether a file begins as a journal does. What does not is left alone.
func (k *cab) isJournal(name string) bool {
	file, err := k.root.Open(name)
	if err != nil {
		return false
	}
	defer file.Close()
	head := make([]byte, len(journal.Header))
	n, _ := file.Read(head)
	return string(head[:n]) == journal.Header
}

// load reads the job, with the earlier journals among its logs, as it will be written.
func (k *cab) load() error {
	in := disk.Inputs(nil, k.flags.job)
	text, err := k.text("", k.earlier)
	if err != nil {
		return err
	}
	at := filepath.Join(k.flags.out, cabJobFile)
	name, err := disk.Name(at)
	if err != nil {
		return err
	}
	in.FS = disk.Overlay{Name: name, Data: text}
	loaded, err := job.LoadLive(in, at, job.Overrides{})
	if err != nil {
		return err
	}
	k.job = loaded
	return nil
}

// text is the job with journals among its logs, and the run that wrote it.
func (k *cab) text(run string, journals map[string][]string) ([]byte, error) {
	in := disk.Inputs(nil, k.flags.job)
	text, err := spec.Retrack(in.Files, k.flags.job, filepath.Join(k.flags.out, cabJobFile), journals)
	if err != nil {
		return nil, err
	}
	const head = "# Written by lapwing cab, run %s: the job with the journals added. lapwing assess takes it.\n"
	return append(fmt.Appendf(nil, head, run), text...), nil
}

// begin makes the engine and the journals.
func (k *cab) begin() error {
	names, err := k.machines()
	if err != nil {
		return err
	}
	for _, of := range slices.Sorted(maps.Keys(k.earlier)) {
		if !slices.Contains(names, of) {
			fmt.Fprintf(k.stderr, "warning: %s: %d journals of machine %q, which is not in the job; they are left out\n", k.flags.journal, len(k.earlier[of]), of)
		}
	}
	var sources []live.Source
	for _, a := range k.flags.reads {
		name, err := whose(a, names)
		if err != nil {
			return err
		}
		rule := k.job.Rule(name)
		if k.flags.bar != "logged" && rule.Told() || k.flags.bar == "page" && rule.Inferred() {
			return &job.InputError{Where: "--bar", Found: fmt.Sprintf("found %q, but the job itself says where %s works", k.flags.bar, name), Want: "one of them"}
		}
		sources = append(sources, live.Source{Machine: name})
	}
	if k.engine, err = live.New(k.job, sources); err != nil {
		return err
	}
	if err := os.MkdirAll(k.flags.journal, 0o755); err != nil {
		return journalError(k.flags.journal, err)
	}
	if k.root == nil {
		if k.root, err = os.OpenRoot(k.flags.journal); err != nil {
			return journalError(k.flags.journal, err)
		}
	}
	for i, s := range sources {
		j, err := journal.Create(journal.In(k.root), s.Machine, time.Now(), journal.Options{})
		var waits *journal.WaitingError
		if j == nil || err != nil && !errors.As(err, &waits) {
			return journalError(k.flags.journal, err)
		}
		path := filepath.Join(k.flags.journal, j.Name())
		k.sources = append(k.sources, &cabSource{address: k.flags.reads[i], machine: s.Machine, path: path, journal: j})
		k.engine.Keep(i, path)
	}
	return nil
}

// machines are the names of those in the job.
func (k *cab) machines() ([]string, error) {
	j, err := k.job.With(nil)
	if err != nil {
		return nil, err
	}
	if len(j.Fields) > 1 || len(j.Works()) > 1 {
		return nil, &job.InputError{File: k.flags.job, Where: "boundary", Found: fmt.Sprintf("found %d fields", len(j.Works())), Want: "one"}
	}
	k.ammonia = slices.ContainsFunc(j.Products, func(p agronomy.Product) bool { return p.IsAmmonia() })
	var names []string
	for i := range j.Machines {
		names = append(names, j.Machines[i].Name)
	}
	return names, nil
}

// whose finds the machine of a source.
func whose(a receiver.Address, names []string) (string, error) {
	switch {
	case a.Machine == "" && len(names) == 1:
		return names[0], nil
	case a.Machine == "":
		return "", &callError{fmt.Sprintf("--receiver: %q: found no machine, want ?machine= with one of %s", a, strings.Join(names, ", "))}
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
	return "", &callError{fmt.Sprintf("--receiver: %q: found the machine %q, want %s", a, a.Machine, want)}
}
