package main

import (
	"errors"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"lapwing/cmd/lapwing/cab"
	"lapwing/cmd/lapwing/signals"
	"lapwing/geo/receiver"
)

// cabFlags are the flags of cab.
type cabFlags struct {
	cab.Options
	receivers []string
	units     string
	look      bool
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
the key as Authorization: Bearer KEY. Both keys stay as they are from run to run, in
this-cab.json beside the journals: a page that is open goes on when the program is
started again. Without the file there are new ones.

Cabs of one field share their ground: --share names the address of another, with the key
that only looks (http://HOST:PORT/#KEY). Its journals are fetched in the background as
they grow, and after hours without a net; they are kept beside this cab's own, count as
ground from the moment that they come, and stand in cab-job.yaml with their machines. What
this cab has of others it passes on. Machines of one name in two cabs stay two. With https
the other cab's certificate must be one that this computer trusts, or be named by
--share-cert; whatever is wrong with another cab is one line, and this one goes on.

It is no guidance and no safety device: it says where ground was worked, from positions
that may be wrong, and never commands a machine. Eyes on the field.`,
		Example: `  lapwing cab field.yaml --receiver serial:/dev/ttyUSB0
  lapwing cab field.yaml --receiver "gpsd:127.0.0.1:2947?machine=drill A"
  lapwing cab field.yaml --receiver "file:day1.nmea?speed=20"
  lapwing cab field.yaml --receiver serial:COM3 --listen 0.0.0.0:8080 --share http://192.168.4.7:8080/#KEY
  lapwing cab --look`,
		Args: cobra.ArbitraryArgs,
		RunE: f.run,
	}
	fs := c.Flags()
	fs.SortFlags = false
	fs.StringArrayVar(&f.receivers, "receiver", nil, "where a machine's receiver is heard; once for each machine")
	fs.StringVar(&f.Listen, "listen", "127.0.0.1:0", "HOST:PORT to be asked at; port 0 is any that is free")
	fs.StringVar(&f.CertFile, "tls-cert", "", "file of the certificate, for an address that others reach")
	fs.StringVar(&f.KeyFile, "tls-key", "", "file of the certificate's key")
	fs.StringVar(&f.Journal, "journal", "", "directory of the journals (default journal beside the job)")
	fs.StringVar(&f.Bar, "bar", "logged", "where the bar works: logged by the source, else worked out; inferred; or page, by POST /bar")
	fs.StringArrayVar(&f.Shares, "share", nil, "address of another cab of this field with the key that looks, or https://HOST/farm/FARM/crew/#TOKEN of a served book; once for each")
	fs.StringArrayVar(&f.ShareCerts, "share-cert", nil, "file of a certificate that a cab of --share shows, where no authority signed it")
	fs.StringVar(&f.Out, "out", "assessment", "directory to write into at the end, made if missing")
	fs.StringVar(&f.units, "units", "us", "us or metric")
	fs.BoolVar(&f.NoPage, "no-page", false, "give no page, only answer.json")
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
	k, err := cab.Open(f.Options, c.InOrStdin(), c.ErrOrStderr())
	var wrong *cab.CallError
	switch {
	case errors.As(err, &wrong):
		return &callError{wrong.Error()}
	case err != nil:
		return err
	}
	defer k.Close()
	signals.EndsInOrder(c.Context())
	fmt.Fprintln(c.OutOrStdout(), "cab", k.Link())
	if err := k.Invite(c.OutOrStdout(), onTerminal(c.OutOrStdout())); err != nil {
		return err
	}
	return k.Run(c.Context())
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
	case !slices.Contains([]string{"logged", "inferred", "page"}, f.Bar):
		return &callError{fmt.Sprintf("--bar: found %q, want logged, inferred or page", f.Bar)}
	case (f.CertFile == "") != (f.KeyFile == ""):
		return &callError{"found one of --tls-cert and --tls-key, want both or neither"}
	}
	f.Job = args[0]
	stdin := 0
	for _, text := range f.receivers {
		a, err := receiver.ParseAddress(text)
		if err != nil {
			return &callError{"--receiver: " + err.Error()}
		}
		if a.Kind == receiver.Stdin {
			stdin++
		}
		f.Receivers = append(f.Receivers, a)
	}
	if stdin > 1 {
		return &callError{"--receiver: found - twice, want standard input for one machine"}
	}
	f.Units, err = unitsOf(f.units)
	return err
}
