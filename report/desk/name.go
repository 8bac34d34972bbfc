package desk

import (
	"fmt"
	"io/fs"
	"path"
	"strconv"
	"strings"

	"lapwing/coverage/propose"
	"lapwing/report/desk/store"
)

// The folders of a desk.
const (
	filesDir      = "files"
	machinesDir   = propose.MachinesFolder
	boundariesDir = propose.BoundariesFolder
	unpackedDir   = propose.UnpackedFolder
	notesFile     = "desk.json"
)

// deepest is how many folders down a dropped file may lie.
const deepest = 16

// NameFor is where a dropped file is to be stored: its path in what was dropped, with
// what no disk takes left out. A name that is taken, or was given out before, gets a
// number before its ending.
func (d *Desk) NameFor(dropped string) (string, error) {
	var parts []string
	for part := range strings.FieldsFuncSeq(dropped, func(c rune) bool { return c == '/' || c == '\\' }) {
		if part = store.PlainPart(part); part != "" {
			parts = append(parts, part)
		}
	}
	if len(parts) == 0 {
		return "", wrong("found a file named "+quoted(dropped), "a name")
	}
	if len(parts) > deepest {
		parts = parts[len(parts)-deepest:]
	}
	name := path.Join(append([]string{filesDir}, parts...)...)
	d.naming.Lock()
	defer d.naming.Unlock()
	if d.room == 0 {
		d.room = mostFiles - len(d.below(filesDir))
	}
	if d.room <= 1 {
		return "", wrong(fmt.Sprintf("found more than %d files", mostFiles), "the files of some seasons, and another desk for more")
	}
	d.room--
	free := d.freeName(name, func(name string) bool { return d.promised[strings.ToLower(name)] })
	d.promised[strings.ToLower(free)] = true
	return free, nil
}

// keepPromises forgets the names that were given out for files that have come: from now
// on these names are taken for as long as the files are there.
func (d *Desk) keepPromises() {
	d.naming.Lock()
	defer d.naming.Unlock()
	d.room = 0
	for _, name := range d.below(filesDir) {
		delete(d.promised, strings.ToLower(name))
	}
}

// forget lets a name that was given out be given out again.
func (d *Desk) forget(name string) {
	d.naming.Lock()
	defer d.naming.Unlock()
	delete(d.promised, strings.ToLower(name))
}

// freeName is a name, with a number before its ending where the name is taken.
func (d *Desk) freeName(name string, taken func(string) bool) string {
	end := path.Ext(name)
	stem := strings.TrimSuffix(name, end)
	for n, try := 2, name; ; n++ {
		if _, err := fs.Stat(d.store, try); err != nil && !taken(try) {
			return try
		}
		try = fmt.Sprintf("%s (%d)%s", stem, n, end)
	}
}

func quoted(text string) string {
	return strconv.Quote(shorten(text, 60))
}
