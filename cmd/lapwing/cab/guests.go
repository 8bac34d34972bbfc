package cab

import (
	"encoding/json"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"lapwing/cmd/lapwing/crew"
	"lapwing/cmd/lapwing/disk"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/live"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
)

// A guestKey is a machine of another cab, by its name there.
type guestKey struct{ cab, machine string }

// A guest is a machine of another cab.
type guest struct {
	guestKey
	keys string     // of the machine in the other cab's job, as YAML
	spec spec.Guest // the same, read
	name string     // in the job that the engine has; "" before it is there
	near bool       // it has ground on this field: only then is it a machine of the job
}

// A boundGuest is a guest as it stands in the job.
type boundGuest struct {
	guestKey
	keys string
	spec.Guest
}

// guestsOf are guests as they stand in a job.
func guestsOf(bound []boundGuest) (out []spec.Guest) {
	for _, b := range bound {
		out = append(out, b.Guest)
	}
	return out
}

// guestOf reads a machine of another cab.
func guestOf(m *crew.Machine) (*guest, error) {
	read, err := spec.ReadGuest("a machine of cab "+m.Cab, []byte(m.Keys))
	if err != nil {
		return nil, err
	}
	if read.Machine != m.Name {
		return nil, fmt.Errorf("a machine of cab %s: found the keys of %q, want those of %q", m.Cab, read.Machine, m.Name)
	}
	return &guest{guestKey: guestKey{m.Cab, m.Name}, keys: m.Keys, spec: read}, nil
}

// bindNames gives each machine of another cab its name in this cab's job. heard are the names
// of the machines whose receivers this cab hears, or heard in an earlier run. Machines of one
// name in two cabs are two machines, in whichever order they become known. So a machine of
// another cab bears its own name only where no third cab has a machine of that name and this
// one never heard it; where the job has that name, it is the job's machine. Otherwise the
// name of its cab stands behind its own.
func bindNames(heard []string, others []guestKey) map[guestKey]string {
	out := map[guestKey]string{}
	for _, g := range others {
		same := func(name string) bool { return strings.EqualFold(name, g.machine) }
		alone := !slices.ContainsFunc(heard, same) &&
			!slices.ContainsFunc(others, func(o guestKey) bool { return o.cab != g.cab && same(o.machine) })
		out[g] = g.machine
		if !alone {
			out[g] = g.machine + " (cab " + g.cab + ")"
		}
	}
	return out
}

// binding gives the guests their names, and returns those that the job gets as machines: first
// those that it has, then the others in the order in which they came.
func (k *Cab) binding() (names map[guestKey]string, added []boundGuest) {
	var heard []string
	for _, a := range k.opt.Receivers {
		if name, err := whose(a, k.crew.names); err == nil {
			heard = append(heard, name)
		}
	}
	for name := range k.earlier {
		heard = append(heard, name)
	}
	var others []guestKey
	for _, g := range k.crew.guests {
		if g.near {
			others = append(others, g.guestKey)
		}
	}
	names = bindNames(heard, others)
	for _, g := range k.crew.guests {
		at := slices.IndexFunc(k.crew.names, func(name string) bool { return strings.EqualFold(name, names[g.guestKey]) })
		if !g.near {
			continue
		}
		if at >= 0 {
			names[g.guestKey] = k.crew.names[at]
			continue
		}
		one := boundGuest{g.guestKey, g.keys, g.spec}
		one.Name = names[g.guestKey]
		added = append(added, one)
	}
	place := func(b boundGuest) int {
		at := slices.IndexFunc(k.crew.bound, func(o boundGuest) bool { return o.guestKey == b.guestKey })
		if at < 0 {
			return len(k.crew.bound)
		}
		return at
	}
	slices.SortStableFunc(added, func(a, b boundGuest) int { return place(a) - place(b) })
	return names, added
}

// guestBy finds a machine of another cab.
func (k *Cab) guestBy(key guestKey) *guest {
	at := slices.IndexFunc(k.crew.guests, func(g *guest) bool { return g.guestKey == key })
	if at < 0 {
		return nil
	}
	return k.crew.guests[at]
}

// nameOf is the machine of a copy as the engine's job has it; "" for none.
func (k *Cab) nameOf(c *copyOf) string {
	if g := k.guestBy(c.guest()); g != nil {
		return g.name
	}
	return ""
}

// joinFound makes the copies that were there sources of the engine. What they hold comes by
// [Cab.recall].
func (k *Cab) joinFound() error {
	names, added := k.binding()
	k.crew.bound = added
	for _, g := range k.crew.guests {
		g.name = names[g.guestKey]
		k.compareWidths(g)
	}
	var err error
	if k.crew.live, err = live.CrewOf(k.job); err != nil {
		return err
	}
	next := len(k.sources)
	for _, c := range k.crew.copies {
		if k.nameOf(c) != "" {
			c.source = next
			next++
		}
	}
	return k.engine.Join(k.crew.live, k.engineSources())
}

// compareWidths warns where the job and the machine's own cab have two widths for it.
func (k *Cab) compareWidths(g *guest) {
	for i := range k.engine.Machines() {
		m := &k.engine.Machines()[i]
		if here, there := m.Implement.Width, g.spec.Implement.Width; m.Name == g.name && plane.Distance(here-there).Abs() > 0.005*plane.Distance(there) {
			fmt.Fprintf(k.stderr, "warning: %s works %s here and %s in its own cab; the job here holds\n", g.name,
				widthWords(k.opt.Units, here), widthWords(k.opt.Units, there))
		}
	}
}

// widthWords write a width with two decimals, so that widths half a percent apart read
// differently.
func widthWords(u quantity.Units, width plane.Length) string {
	if u == quantity.Metric {
		return quantity.Number(width.Metres(), 2) + " m"
	}
	return quantity.Number(quantity.InFeet(width.Metres()), 2) + " ft"
}

// meet takes in the machines that another cab lists: those that are new, and those whose keys
// have changed.
func (k *Cab) meet(guests []*guest) error {
	changed := false
	for _, g := range guests {
		old := k.guestBy(g.guestKey)
		if old == nil {
			k.crew.guests = append(k.crew.guests, g)
			continue
		}
		if old.keys == g.keys {
			continue
		}
		if old.keys, old.spec = g.keys, g.spec; old.near {
			changed = true
			if err := k.writeMachines(g.cab); err != nil {
				return err
			}
		}
	}
	if changed {
		k.join()
	}
	return nil
}

// comesNear makes a guest a machine of the job: it has ground on this field.
func (k *Cab) comesNear(g *guest) error {
	if g.near {
		return nil
	}
	g.near = true
	if err := k.writeMachines(g.cab); err != nil {
		g.near = false
		return err
	}
	k.join()
	return nil
}

// writeMachines keeps the machines of another cab beside its journals.
func (k *Cab) writeMachines(cab string) error {
	machines := []crew.Machine{}
	for _, g := range k.crew.guests {
		if g.cab == cab && g.near {
			machines = append(machines, crew.Machine{Cab: cab, Name: g.machine, Keys: g.keys})
		}
	}
	data, err := json.MarshalIndent(machines, "", "  ")
	if err != nil {
		return err
	}
	root, err := k.folderOf(cab)
	if err == nil {
		err = root.WriteFile(machinesFile+".tmp", append(data, '\n'), 0o644)
	}
	if err == nil {
		err = root.Rename(machinesFile+".tmp", machinesFile)
	}
	if err != nil {
		return errShare("its machines cannot be kept here (" + disk.Reason(err) + ")")
	}
	return nil
}

// join has the engine go on with the guests that are known by now. Where the job gets more
// machines it is read again, in the background.
func (k *Cab) join() {
	if k.crew.joining || k.crew.ended {
		return // when that job has been read, join is called again
	}
	names, added := k.binding()
	if sameGuests(added, k.crew.bound) {
		k.joined(names, added, k.crew.live)
		return
	}
	k.crew.joining = true
	path := filepath.Join(k.opt.Out, JobFile)
	with := spec.Crew{Guests: guestsOf(added), Logs: k.earlier, Without: k.comesFromOthers()}
	k.background.Go(func() {
		read, err := k.reload(path, with)
		k.onLast(func() {
			k.crew.joining = false
			if err != nil {
				fmt.Fprintf(k.stderr, "warning: the machines of other cabs cannot join this job: %v\n", err)
				return
			}
			k.joined(names, added, read)
			if now, more := k.binding(); !maps.Equal(now, names) || !sameGuests(more, added) {
				k.join()
			}
		})
	})
}

// sameGuests reports whether two lists give a job the same machines.
func sameGuests(a, b []boundGuest) bool {
	return slices.EqualFunc(a, b, func(a, b boundGuest) bool { return a.guestKey == b.guestKey && a.keys == b.keys && a.Name == b.Name })
}

// reload reads the job with machines of other cabs.
func (k *Cab) reload(at string, with spec.Crew) (*live.Crew, error) {
	loaded, err := k.loadWith(at, with)
	if err != nil {
		return nil, err
	}
	return live.CrewOf(loaded)
}

// joined has the engine go on with a crew.
func (k *Cab) joined(names map[guestKey]string, added []boundGuest, read *live.Crew) {
	was := map[*guest]string{}
	for _, g := range k.crew.guests {
		was[g] = g.name
		if name, known := names[g.guestKey]; known {
			g.name = name
		}
	}
	if err := k.engine.Join(read, k.engineSources()); err != nil {
		for g, name := range was {
			g.name = name
		}
		fmt.Fprintf(k.stderr, "warning: the machines of other cabs cannot join this job: %v\n", err)
		return
	}
	k.crew.bound, k.crew.live = added, read
	for _, g := range k.crew.guests {
		if g.name != "" && g.name != was[g] {
			as := ""
			if g.name != g.machine {
				as = ", called " + g.name + " here"
			}
			fmt.Fprintf(k.stderr, "cab: %s of cab %s joins%s\n", g.machine, g.cab, as)
			k.compareWidths(g)
		}
	}
	k.changed.wake()
}
