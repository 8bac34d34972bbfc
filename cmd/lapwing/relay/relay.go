// Package relay keeps journals that cabs bring to it, for cabs that do not reach each other:
// to them it is one more that gives what it has (package crew). Each cab is of the person
// that brought it first; only that person adds to its journals.
//
//	PUT  /journals.json            what a cab has -> how far the relay has it
//	POST /journals/CAB/NAME?from=N the records from a byte on
package relay

import (
	"bytes"
	"crypto/rand"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"os"
	"path"
	"strconv"
	"sync"
	"time"

	"lapwing/cmd/lapwing/crew"
	"lapwing/geo/journal"
)

// A Relay keeps journals in a folder. It is a [crew.Shelf].
type Relay struct {
	root     *os.Root
	cab, run string
	clock    func() time.Time

	mu   sync.Mutex
	cabs map[string]*brought
}

// brought is what a cab told of itself; it is kept beside its journals.
type brought struct {
	Owner    int64                 `json:"owner"`
	Machines []crew.Machine        `json:"machines"`
	Entries  map[string]crew.Entry `json:"entries"`
	At       time.Time             `json:"at"`

	sizes map[string]int64 // of the journals that are here
}

const (
	relayFile   = "relay.json"
	broughtFile = "brought.json"
)

// Bounds of what is brought: a day of 12 hours at 10 Hz is 40 MB, a season of them some
// hundred journals.
const (
	mostJournal  = 1 << 30
	mostJournals = 2000
	mostCabs     = 200
	mostPiece    = 1 << 20
)

// Open opens the relay of a folder. Records that were cut off in the middle are taken
// away: the cab brings them again.
func Open(root *os.Root) (*Relay, error) {
	y := &Relay{root: root, run: rand.Text(), clock: time.Now, cabs: map[string]*brought{}}
	var self struct {
		Cab string `json:"cab"`
	}
	data, err := root.ReadFile(relayFile)
	if err == nil {
		err = json.Unmarshal(data, &self)
	}
	if err != nil || !crew.IsCab(self.Cab) {
		self.Cab = crew.NewCab()
		if err := y.write(relayFile, self); err != nil {
			return nil, err
		}
	}
	y.cab = self.Cab
	dir, err := root.Open(".")
	if err != nil {
		return nil, err
	}
	defer dir.Close()
	names, err := dir.Readdirnames(-1)
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		if !crew.IsCab(name) {
			continue
		}
		b := &brought{Entries: map[string]crew.Entry{}, sizes: map[string]int64{}}
		if data, err := root.ReadFile(path.Join(name, broughtFile)); err != nil || json.Unmarshal(data, b) != nil {
			continue // it was begun, and nothing of it is here
		}
		for file := range b.Entries {
			if err := y.recall(b, path.Join(name, file), file); err != nil {
				return nil, err
			}
		}
		y.cabs[name] = b
	}
	return y, nil
}

// recall finds how far a journal is here, to the end of its last whole record.
func (y *Relay) recall(b *brought, at, name string) error {
	data, err := y.root.ReadFile(at)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	p, _ := journal.Cut(data[min(len(data), len(journal.Header)):], int64(len(journal.Header)), b.Entries[name].Machine)
	if end := int64(len(journal.Header) + len(p.Lines)); len(p.Records) > 0 {
		b.sizes[name] = end
		if end < int64(len(data)) {
			f, err := y.root.OpenFile(at, os.O_WRONLY, 0)
			if err != nil {
				return err
			}
			return errors.Join(f.Truncate(end), f.Close())
		}
		return nil
	}
	return y.root.Remove(at)
}

// write writes a small file, whole or not at all.
func (y *Relay) write(name string, v any) error {
	data, err := json.Marshal(v)
	if err != nil {
		return err
	}
	if err := y.root.WriteFile(name+".new", data, 0o644); err != nil {
		return err
	}
	return y.root.Rename(name+".new", name)
}

// Close closes the folder.
func (y *Relay) Close() error { return y.root.Close() }

// Handler answers cabs; of whom a request is tells person.
func (y *Relay) Handler(person func(*http.Request) int64) http.Handler {
	m := http.NewServeMux()
	crew.Handle(m, y)
	m.HandleFunc("PUT /journals.json", func(w http.ResponseWriter, r *http.Request) { y.tell(w, r, person(r)) })
	m.HandleFunc("POST /journals/{cab}/{name}", func(w http.ResponseWriter, r *http.Request) { y.take(w, r, person(r)) })
	return m
}

// List is [crew.Shelf]'s.
func (y *Relay) List(*http.Request) (*crew.Listing, bool) {
	y.mu.Lock()
	defer y.mu.Unlock()
	list := &crew.Listing{Schema: crew.Schema, Cab: y.cab, Run: y.run, Takes: true, Machines: []crew.Machine{}, Journals: []crew.Entry{}}
	for _, b := range y.cabs {
		list.Machines = append(list.Machines, b.Machines...)
		for name, e := range b.Entries {
			if size := b.sizes[name]; size > 0 {
				e.Size = size
				e.Age += max(0, y.clock().Sub(b.At).Seconds())
				list.Journals = append(list.Journals, e)
			}
		}
	}
	return list, true
}

// Open is [crew.Shelf]'s.
func (y *Relay) Open(_ *http.Request, of crew.Key) (*crew.Opened, bool) {
	y.mu.Lock()
	defer y.mu.Unlock()
	b := y.cabs[of.Cab]
	if b == nil || b.sizes[of.Name] == 0 {
		return nil, false
	}
	f, err := y.root.Open(path.Join(of.Cab, of.Name))
	if err != nil {
		return nil, false
	}
	return &crew.Opened{ReadSeeker: io.NewSectionReader(f, 0, b.sizes[of.Name]), Identity: b.Entries[of.Name].Identity, Close: func() { f.Close() }}, true
}

// tell takes in what a cab has, and says how far it is here.
func (y *Relay) tell(w http.ResponseWriter, r *http.Request, person int64) {
	var list crew.Listing
	data, err := io.ReadAll(http.MaxBytesReader(w, r.Body, crew.MostListing))
	if err != nil || json.Unmarshal(data, &list) != nil || list.Schema != crew.Schema || !crew.IsCab(list.Cab) || len(list.Journals) > mostJournals {
		http.Error(w, "found no listing of a cab", http.StatusBadRequest)
		return
	}
	y.mu.Lock()
	defer y.mu.Unlock()
	b := y.cabs[list.Cab]
	switch {
	case list.Cab == y.cab, b != nil && b.Owner != person:
		http.Error(w, "another brought this cab's journals before", http.StatusForbidden)
		return
	case b == nil && len(y.cabs) >= mostCabs:
		http.Error(w, "too many cabs", http.StatusInsufficientStorage)
		return
	case b == nil:
		b = &brought{Owner: person, Entries: map[string]crew.Entry{}, sizes: map[string]int64{}}
	}
	b.Machines, b.At = nil, y.clock()
	for _, m := range list.Machines {
		if m.Cab == list.Cab {
			b.Machines = append(b.Machines, m)
		}
	}
	for _, e := range list.Journals {
		known, there := b.Entries[e.Name]
		if e.Cab == list.Cab && e.Sensible() && (!there || known.Identity == e.Identity && known.Machine == e.Machine) {
			b.Entries[e.Name] = e
		}
	}
	if err := y.root.Mkdir(list.Cab, 0o755); err != nil && !errors.Is(err, os.ErrExist) {
		http.Error(w, "cannot be kept", http.StatusInsufficientStorage)
		return
	}
	if err := y.write(path.Join(list.Cab, broughtFile), b); err != nil {
		http.Error(w, "cannot be kept", http.StatusInsufficientStorage)
		return
	}
	y.cabs[list.Cab] = b
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(crew.Reached{Sizes: b.sizes}) // the person who asked may have gone
}

// take takes records of a journal that go on where it ends here.
func (y *Relay) take(w http.ResponseWriter, r *http.Request, person int64) {
	data, err := io.ReadAll(http.MaxBytesReader(w, r.Body, mostPiece)) // before any lock: a link may be slow
	if err != nil {
		http.Error(w, "did not come whole", http.StatusBadRequest)
		return
	}
	cab, name := r.PathValue("cab"), r.PathValue("name")
	from, err := strconv.ParseInt(r.URL.Query().Get("from"), 10, 64)
	if err != nil {
		http.Error(w, "found no place that it is from", http.StatusBadRequest)
		return
	}
	y.mu.Lock()
	defer y.mu.Unlock()
	b := y.cabs[cab]
	if b == nil || b.Owner != person {
		http.Error(w, "found no such cab of yours", http.StatusNotFound)
		return
	}
	e, known := b.Entries[name]
	switch {
	case !known:
		http.Error(w, "found no such journal", http.StatusNotFound)
		return
	case from != b.sizes[name]:
		http.Error(w, "it does not go on there", http.StatusConflict)
		return
	case from+int64(len(data)) > mostJournal:
		http.Error(w, "too long a journal", http.StatusInsufficientStorage)
		return
	}
	lines := data
	if from == 0 {
		if lines, known = bytes.CutPrefix(data, []byte(journal.Header)); !known || journal.Identity(bytes.NewReader(data)) != e.Identity {
			http.Error(w, "found another journal than was told", http.StatusUnprocessableEntity)
			return
		}
		from = int64(len(journal.Header))
	}
	p, damaged := journal.Cut(lines, from, e.Machine)
	if damaged != nil || len(p.Lines) != len(lines) || len(p.Records) == 0 {
		http.Error(w, "found what is no whole records", http.StatusUnprocessableEntity)
		return
	}
	if err := y.add(path.Join(cab, name), b.sizes[name], data); err != nil {
		http.Error(w, "cannot be kept", http.StatusInsufficientStorage)
		return
	}
	b.sizes[name] += int64(len(data))
	w.WriteHeader(http.StatusNoContent)
}

// add writes after the end of a journal, and returns once it is on the disk.
func (y *Relay) add(at string, end int64, data []byte) error {
	f, err := y.root.OpenFile(at, os.O_WRONLY|os.O_CREATE, 0o644)
	if err != nil {
		return err
	}
	_, err = f.WriteAt(data, end)
	if err == nil {
		err = f.Sync()
	}
	if err != nil {
		err = errors.Join(err, f.Truncate(end)) // nothing stands there that was not acknowledged
	}
	return errors.Join(err, f.Close())
}
