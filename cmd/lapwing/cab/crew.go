package cab

import (
	"crypto/x509"
	"encoding/json"
	"encoding/pem"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"lapwing/cmd/lapwing/crew"
	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/serve"
	"lapwing/coverage/live"
	"lapwing/geo"
)

// A cabCrew is what a cab knows of the others of its field. The goroutine of [Cab.Run]
// owns it; one goroutine for each --share asks, and hands on what comes:
//
//	--share URL --> listing --> which journals go on --> pieces --> copy on the disk --> engine
//
// Copies lie in the journals' directory, in a folder for each cab that wrote them, with
// its machines as its own job has them:
//
//	journal/this-cab.json                       who this cab is to others
//	journal/cab-k7q2xm4a/machines.json
//	journal/cab-k7q2xm4a/drill-B-20260504T140311Z.csv
type cabCrew struct {
	self       thisCab
	run        string // of this process
	fresh      bool   // this run made self
	introduced bool   // this run made self, and wrote it down
	trusted    []*x509.Certificate
	wrong      []string // what is wrong with each --share that is no address
	sharers    []*sharer
	guests     []*guest // in the order in which they came
	copies     []*copyOf
	names      []string       // of the machines of the job itself
	own        []crew.Machine // this cab's, as it tells others of them
	roots      map[string]*os.Root

	bound    []boundGuest // the machines of other cabs in the engine's job
	live     *live.Crew   // the engine's
	joining  bool         // a job with more machines is being read
	ended    bool         // no machine joins any more
	answered time.Time    // when the last answer came
	began    time.Time
}

// thisCab is this-cab.json: who a cab is to others, and its keys, from one start to the
// next. So a page that was open when the computer lost its power goes on by itself once
// the power is back. Where the file is deleted, the next start makes new keys.
type thisCab struct {
	Cab   string `json:"cab"`
	Look  string `json:"look"`  // the key that may look
	Drive string `json:"drive"` // the key that may switch the bar
	// Fills are when the tanks of each machine were filled, as the button told.
	Fills map[string][]time.Time `json:"fills,omitempty"`
}

// mostFills bounds how many fills of a machine are kept. Only the last one counts, unless a
// clock was set back. Judgement.
const mostFills = 100

// filled notes that the tanks of a machine were filled.
func (c *thisCab) filled(name string, at geo.Instant) {
	if c.Fills == nil {
		c.Fills = map[string][]time.Time{}
	}
	all := append(c.Fills[name], at.Time())
	c.Fills[name] = all[max(0, len(all)-mostFills):]
}

const (
	thisCabFile  = "this-cab.json"
	machinesFile = "machines.json"
	cabFolder    = "cab-" // and the name of the cab
)

// knows reads under which name and keys this cab is known, or makes them, and the addresses
// of the cabs that it is to ask.
func (k *Cab) knows() error {
	k.crew = cabCrew{run: serve.NewKey(), began: time.Now(), roots: map[string]*os.Root{}}
	data, err := os.ReadFile(filepath.Join(k.opt.Journal, thisCabFile))
	if err == nil {
		err = json.Unmarshal(data, &k.crew.self)
	}
	if self := &k.crew.self; err == nil && (!crew.IsCab(self.Cab) || !serve.IsKey(self.Look) || !serve.IsKey(self.Drive) || self.Look == self.Drive) {
		err = errors.New("found no cab with its two keys")
	}
	if err != nil {
		if !errors.Is(err, os.ErrNotExist) {
			fmt.Fprintf(k.stderr, "warning: %s: %s; new keys are made, and pages must be opened again\n", filepath.Join(k.opt.Journal, thisCabFile), disk.Reason(err))
		}
		k.crew.self = thisCab{Cab: crew.NewCab(), Look: serve.NewKey(), Drive: serve.NewKey()}
		k.crew.fresh = true
	}
	for _, file := range k.opt.ShareCerts {
		found, err := certificatesIn(file)
		if err != nil {
			return &CallError{"--share-cert: " + err.Error()}
		}
		k.crew.trusted = append(k.crew.trusted, found...)
	}
	for _, text := range k.opt.Shares {
		at, err := crew.ParseAddress(text)
		if err != nil {
			k.crew.wrong = append(k.crew.wrong, "--share: "+err.Error())
			fmt.Fprintf(k.stderr, "warning: --share: %v; it is left out\n", err)
			continue
		}
		k.crew.sharers = append(k.crew.sharers, &sharer{client: crew.NewClient(at, k.crew.trusted), said: map[string]bool{}, elsewhere: map[guestKey]string{}})
	}
	return nil
}

// certificatesIn reads the certificates of a file.
func certificatesIn(file string) (out []*x509.Certificate, err error) {
	data, err := os.ReadFile(file)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return nil, fmt.Errorf("%s: no such file, want a file of certificates in PEM", file)
	case err != nil:
		return nil, fmt.Errorf("%s: found that it cannot be read (%s), want a file of certificates in PEM", file, disk.Reason(err))
	}
	for {
		var block *pem.Block
		if block, data = pem.Decode(data); block == nil {
			break
		}
		if one, err := x509.ParseCertificate(block.Bytes); block.Type == "CERTIFICATE" && err == nil {
			out = append(out, one)
		}
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("%s: found no certificate, want some in PEM", file)
	}
	return out, nil
}

// introduce writes this-cab.json: the name and the keys of this cab, and when the button told
// that tanks were filled, which no journal says.
func (k *Cab) introduce() {
	data, err := json.Marshal(k.crew.self)
	if err == nil {
		err = k.root.WriteFile(thisCabFile+".new", append(data, '\n'), 0o600)
	}
	if err == nil {
		err = k.root.Rename(thisCabFile+".new", thisCabFile)
	}
	k.crew.introduced = k.crew.fresh && err == nil
	if err != nil {
		fmt.Fprintf(k.stderr, "warning: %s: %s; the next start has other keys, and does not know when a button told that tanks were filled\n", filepath.Join(k.opt.Journal, thisCabFile), disk.Reason(err))
	}
}

// onLast carries out something in the goroutine that owns the cab, also after the run was
// told to stop, but before its answer is written.
func (k *Cab) onLast(do func()) {
	done := make(chan struct{})
	k.asks <- func() { do(); close(done) }
	<-done
}
