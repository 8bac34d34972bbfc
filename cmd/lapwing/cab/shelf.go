package cab

import (
	"context"
	"io"
	"net/http"
	"slices"
	"time"

	"lapwing/cmd/lapwing/crew"
	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/serve"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/live"
	"lapwing/geo"
	"lapwing/geo/journal"
)

// A written journal is one that this cab wrote before this run.
type written struct {
	machine, name string
	identity      string
	size          int64
	until         geo.Instant
	extent        live.Extent
}

// List lists the journals that this cab has, its own and its copies, for another cab.
func (k *Cab) List(r *http.Request) (*crew.Listing, bool) {
	list, ok := k.ownListing(r.Context())
	list.Drives = serve.RoleOf(r) == serve.Drives
	return list, ok && k.on(r.Context(), func() {
		for _, g := range k.crew.guests {
			list.Machines = append(list.Machines, crew.Machine{Cab: g.cab, Name: g.machine, Keys: g.keys})
		}
		for _, c := range k.crew.copies {
			if c.journal != nil && c.until != 0 {
				list.Journals = append(list.Journals, entryOf(c.Key, c.machine, c.identity, c.journal.Status().Synced, c.until, c.age(), c.extent))
			}
		}
	})
}

// ownListing is what this cab wrote, without what it has of others.
func (k *Cab) ownListing(ctx context.Context) (*crew.Listing, bool) {
	list := &crew.Listing{Schema: crew.Schema, Cab: k.crew.self.Cab, Run: k.crew.run, Machines: slices.Clone(k.crew.own), Journals: []crew.Entry{}}
	return list, k.on(ctx, func() {
		list.Field = k.engine.Land().Name
		for i := range k.written {
			w := &k.written[i]
			list.Journals = append(list.Journals, entryOf(crew.Key{Cab: list.Cab, Name: w.name}, w.machine, w.identity, w.size, w.until, max(0, time.Since(w.until.Time())), w.extent))
		}
		for _, s := range k.sources {
			if s.identity == "" {
				s.identity = journal.Identity(s.journal.Range(0))
			}
			if s.identity != "" {
				list.Journals = append(list.Journals, entryOf(crew.Key{Cab: list.Cab, Name: s.journal.Name()}, s.machine, s.identity, s.journal.Status().Synced, s.until, time.Since(s.heard), s.extent))
			}
		}
	})
}

func entryOf(key crew.Key, machine, identity string, size int64, until geo.Instant, age time.Duration, x live.Extent) crew.Entry {
	return crew.Entry{Cab: key.Cab, Name: key.Name, Machine: machine, Identity: identity, Size: size, Until: until.Time(),
		Age: round(age.Seconds(), 1), Extent: [4]float64{x.West, x.South, x.East, x.North}}
}

// Open opens a journal for another cab, up to the end of what is on the disk.
func (k *Cab) Open(r *http.Request, of crew.Key) (*crew.Opened, bool) {
	return k.openJournal(r.Context(), of)
}

func (k *Cab) openJournal(ctx context.Context, of crew.Key) (out *crew.Opened, found bool) {
	var before *written
	if !k.on(ctx, func() {
		if of.Cab != k.crew.self.Cab {
			at := slices.IndexFunc(k.crew.copies, func(c *copyOf) bool { return c.Key == of && c.journal != nil })
			if at >= 0 {
				c := k.crew.copies[at]
				out = &crew.Opened{ReadSeeker: c.journal.Range(0), Identity: c.identity, Close: func() {}}
			}
			return
		}
		for _, s := range k.sources {
			if s.journal.Name() == of.Name && s.identity != "" {
				out = &crew.Opened{ReadSeeker: s.journal.Range(0), Identity: s.identity, Close: func() {}}
			}
		}
		if at := slices.IndexFunc(k.written, func(w written) bool { return w.name == of.Name }); at >= 0 {
			before = &k.written[at]
		}
	}) {
		return nil, false
	}
	if before != nil {
		f, err := k.root.Open(before.name)
		if err != nil {
			return nil, false
		}
		return &crew.Opened{ReadSeeker: io.NewSectionReader(f, 0, before.size), Identity: before.identity, Close: func() { f.Close() }}, true
	}
	return out, out != nil
}

// ownMachines are the machines of the job of which this cab wrote journals or writes one now,
// as it tells others of them.
func (k *Cab) ownMachines() (out []crew.Machine, err error) {
	var names []string
	for _, s := range k.sources {
		names = append(names, s.machine)
	}
	for _, w := range k.written {
		names = append(names, w.machine)
	}
	slices.Sort(names)
	for _, name := range slices.Compact(names) {
		if !slices.Contains(k.crew.names, name) {
			continue // an earlier journal of a machine that the job has no more
		}
		keys, err := spec.GuestKeys(disk.Inputs(nil, k.opt.Job).Files, k.opt.Job, name)
		if err != nil {
			return nil, err
		}
		out = append(out, crew.Machine{Cab: k.crew.self.Cab, Name: name, Keys: string(keys)})
	}
	return out, nil
}
