package cab

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"lapwing/cmd/lapwing/crew"
	"lapwing/cmd/lapwing/disk"
	"lapwing/coverage/live"
	"lapwing/geo"
	"lapwing/geo/journal"
)

// A copyOf is a journal of another cab, as far as it came.
type copyOf struct {
	crew.Key
	machine  string
	identity string           // "" before it has a record
	path     string           // of the file
	root     *os.Root         // of its folder
	journal  *journal.Journal // nil until it is open
	source   int              // in the engine; -1 before its first record
	until    geo.Instant      // the time of its last record
	extent   live.Extent

	told    crew.Entry // the newest that was told of it
	toldAt  time.Time
	contact time.Time // when any other cab last told of it
	busy    bool      // a goroutine asks another cab for it
	wrong   string    // why nothing more is taken of it; "" while more is
}

func (c *copyOf) guest() guestKey { return guestKey{c.Cab, c.machine} }

// note widens the extent of a copy by a record, and moves its end on.
func (c *copyOf) note(r *journal.Record) {
	c.until = max(c.until, r.Time)
	c.extent.Add(r.At)
}

// size is how many bytes of it are here.
func (c *copyOf) size() int64 {
	if c.journal == nil {
		return 0
	}
	return c.journal.Status().Size
}

// age is how long ago the last record of a copy was heard in the cab that wrote it.
func (c *copyOf) age() time.Duration {
	if c.toldAt.IsZero() {
		return max(0, time.Since(c.until.Time()))
	}
	late := max(0, geo.InstantOf(c.told.Until).Sub(c.until))
	return time.Duration(c.told.Age*float64(time.Second)) + time.Since(c.toldAt) + late
}

// copiesBefore finds the copies that an earlier run left, and the machines that they are of.
func (k *Cab) copiesBefore(entries []os.DirEntry) {
	for _, e := range entries {
		cab, isCab := strings.CutPrefix(e.Name(), cabFolder)
		if !e.IsDir() || !isCab || !crew.IsCab(cab) || cab == k.crew.self.Cab {
			continue
		}
		root, err := k.root.OpenRoot(e.Name())
		if err != nil {
			fmt.Fprintf(k.stderr, "warning: %s: %s; what it has of another cab is left out\n", filepath.Join(k.opt.Journal, e.Name()), disk.Reason(err))
			continue
		}
		k.crew.roots[cab] = root
		data, err := root.ReadFile(machinesFile)
		var machines []crew.Machine
		if err == nil {
			err = json.Unmarshal(data, &machines)
		}
		if err != nil {
			fmt.Fprintf(k.stderr, "warning: %s: %s; what it has of another cab waits until that tells of its machines\n", filepath.Join(k.opt.Journal, e.Name(), machinesFile), disk.Reason(err))
		}
		for _, m := range machines {
			g, err := guestOf(&m)
			if err != nil || g.cab != cab {
				fmt.Fprintf(k.stderr, "warning: %s: found a machine that is none of cab %s (%v); it is left out\n", filepath.Join(k.opt.Journal, e.Name(), machinesFile), cab, err)
				continue
			}
			k.crew.guests = append(k.crew.guests, g)
		}
		files, err := fs.ReadDir(root.FS(), ".")
		if err != nil {
			continue
		}
		for _, f := range files {
			if f.Type().IsRegular() && path.Ext(f.Name()) == ".csv" {
				if c := k.copyFound(root, crew.Key{Cab: cab, Name: f.Name()}); c != nil && k.guestBy(c.guest()) != nil {
					k.guestBy(c.guest()).near = true
					k.crew.copies = append(k.crew.copies, c)
				}
			}
		}
	}
}

// copyFound is a copy that an earlier run left. Its first record says which machine it is
// of; it is nil for a copy without one, which is then asked for again.
func (k *Cab) copyFound(root *os.Root, key crew.Key) *copyOf {
	f, err := root.Open(key.Name)
	if err != nil {
		return nil
	}
	defer f.Close()
	c := &copyOf{Key: key, source: -1, path: k.pathOf(key), root: root}
	if c.identity = journal.Identity(f); c.identity == "" {
		return nil
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return nil
	}
	r, err := journal.NewReader(f, 0).Next()
	if err != nil {
		return nil
	}
	c.machine = r.Machine
	return c
}

func (k *Cab) pathOf(key crew.Key) string {
	return filepath.Join(k.opt.Journal, cabFolder+key.Cab, key.Name)
}

// comesFromOthers are the paths of all copies, as no log of the job itself.
func (k *Cab) comesFromOthers() (paths []string) {
	for _, c := range k.crew.copies {
		paths = append(paths, c.path)
	}
	return paths
}

// engineSources are the journals of this cab and the copies that the engine knows, under
// the names that their machines have by now.
func (k *Cab) engineSources() []live.Source {
	var out []live.Source
	for _, s := range k.sources {
		out = append(out, live.Source{Machine: s.machine, Journal: s.path})
	}
	others := slices.DeleteFunc(slices.Clone(k.crew.copies), func(c *copyOf) bool { return c.source < 0 })
	slices.SortFunc(others, func(a, b *copyOf) int { return a.source - b.source })
	for _, c := range others {
		out = append(out, live.Source{Machine: k.nameOf(c), Journal: c.path, Other: true})
	}
	return out
}

// others are the names of the engine's other sources, the machines of other cabs, in
// their order.
func (k *Cab) others() []string {
	var out []string
	for _, s := range k.engineSources()[len(k.sources):] {
		out = append(out, s.Machine)
	}
	return out
}

// recall opens a copy, and has the engine take in what it holds; a new one holds nothing. It
// goes on to the end also where the run is told to stop: what a copy holds is in the answer.
func (k *Cab) recall(c *copyOf) {
	const atOnce = 2048 // records: some 0.2 ms of the engine
	var some []journal.Record
	give := func() {
		records := some
		k.onLast(func() {
			if len(records) > 0 && c.source < 0 && k.joinSource(c) != nil {
				return
			}
			for i := range records {
				c.note(&records[i])
				k.engine.Recall(c.source, &records[i])
			}
		})
		some = nil
	}
	j, found, err := k.openCopy(c, func(r journal.Record) {
		if some = append(some, r); len(some) == atOnce {
			give()
		}
	})
	give()
	k.onLast(func() {
		for _, w := range found.Warnings() {
			fmt.Fprintf(k.stderr, "warning: %s: %s\n", c.path, w)
		}
		var waits *journal.WaitingError
		if c.journal = j; err != nil && !errors.As(err, &waits) {
			c.wrong = disk.Reason(err)
			fmt.Fprintf(k.stderr, "warning: %s: %s; no more is taken of it\n", c.path, c.wrong)
		}
		k.crew.answered = time.Time{} // the next answer does not wait, so that its ground is seen at once
		k.changed.wake()
	})
}

// openCopy opens the file of a copy, and makes it where it is missing.
func (k *Cab) openCopy(c *copyOf, each func(journal.Record)) (*journal.Journal, journal.Found, error) {
	in := journal.In(c.root)
	f, err := in.Create(c.Name)
	if err == nil {
		err = errors.Join(f.Close(), in.Sync())
	}
	if err != nil && !errors.Is(err, fs.ErrExist) {
		return nil, journal.Found{}, err
	}
	return journal.OpenCopy(in, c.Name, c.machine, journal.Options{}, each)
}

// joinSource makes a copy a source of the engine.
func (k *Cab) joinSource(c *copyOf) error {
	c.source = len(k.sources)
	for _, o := range k.crew.copies {
		if o != c {
			c.source = max(c.source, o.source+1)
		}
	}
	err := k.engine.Join(k.crew.live, k.engineSources())
	if err != nil {
		c.source = -1
	}
	return err
}

// copyBy finds the copy of a journal, or begins one.
func (k *Cab) copyBy(e *crew.Entry) *copyOf {
	at := slices.IndexFunc(k.crew.copies, func(c *copyOf) bool { return c.Key == e.Key() })
	if at < 0 {
		at = len(k.crew.copies)
		k.crew.copies = append(k.crew.copies, &copyOf{Key: e.Key(), machine: e.Machine, identity: e.Identity, source: -1, path: k.pathOf(e.Key())})
	}
	return k.crew.copies[at]
}

// told keeps the newest entry that any cab gave of a journal.
func (k *Cab) told(c *copyOf, e *crew.Entry) {
	now := time.Now()
	c.contact = now
	age := c.told.Age + now.Sub(c.toldAt).Seconds()
	if c.toldAt.IsZero() || e.Until.After(c.told.Until) || e.Until.Equal(c.told.Until) && e.Age < age {
		c.told, c.toldAt = *e, now
	}
}

// folderOf opens the folder of another cab's journals, and makes it where it is missing.
func (k *Cab) folderOf(cab string) (*os.Root, error) {
	if root := k.crew.roots[cab]; root != nil {
		return root, nil
	}
	if err := k.root.Mkdir(cabFolder+cab, 0o755); err != nil && !errors.Is(err, fs.ErrExist) {
		return nil, err
	}
	root, err := k.root.OpenRoot(cabFolder + cab)
	if err == nil {
		k.crew.roots[cab] = root
	}
	return root, err
}

// takePiece writes a piece into its copy, and then lets the engine see it.
func (k *Cab) takePiece(c *copyOf, p *journal.Piece) error {
	if c.source < 0 {
		if err := k.joinSource(c); err != nil {
			return err
		}
	}
	err := c.journal.Take(*p)
	var waits *journal.WaitingError
	if err != nil && !errors.As(err, &waits) {
		return err
	}
	for i := range p.Records {
		c.note(&p.Records[i])
		k.engine.Step(c.source, p.Records[i])
	}
	k.changed.wake()
	return nil
}

// closeCopies closes the journals and folders of other cabs.
func (k *Cab) closeCopies() {
	for _, c := range k.crew.copies {
		if c.journal != nil {
			if err := c.journal.Close(); err != nil {
				fmt.Fprintf(k.stderr, "cab: %s: %v\n", c.path, err)
			}
		}
	}
	for _, root := range k.crew.roots {
		root.Close()
	}
}
