package taskdata

import (
	"fmt"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"lapwing/geo"
	"lapwing/geo/feature"
)

// A Repairer makes ground of what bounds a field, by rules for boundaries of all
// formats, and notes what it had to put right on the way. Rings that it cannot
// make ground of give a [*SyntaxError].
type Repairer interface {
	Repair(outlines []feature.Outline) ([]geo.Polygon, []geo.Note, error)
}

// Read reads the task set at a name in a file system: a TASKDATA.XML, a folder,
// or a zip archive of it. In folders and archives the set may lie any number of
// folders down, and in an archive within the archive; names may be in any case. shown is the path that leads to it, as
// it stands in messages. repairer returns what makes ground of the boundaries in
// a file. A set that cannot be read gives a [*SyntaxError]; other errors are
// those of the file system.
func Read(fsys fs.FS, name, shown string, repairer func(file string) Repairer) (*Set, error) {
	files, main, err := openSet(fsys, name, shown)
	if err != nil {
		return nil, err
	}
	defer files.close()
	r := reading{files: files, set: &Set{File: files.shown(main)}, seen: map[geo.Note]int{}, ids: map[string]bool{}, logs: map[string]bool{}, practices: map[string]string{}, crops: map[string]string{},
		rings: repairer(files.shown(main))}
	if err := r.read(main); err != nil {
		return nil, err
	}
	return r.set, nil
}

// A reading is a set half read.
type reading struct {
	files *folder
	set   *Set
	seen  map[geo.Note]int // notes by file and text
	rings Repairer
	ids   map[string]bool // of fields, devices, tasks and elements, with what they are of

	practices map[string]string // names of cultural practices (CPC), by id
	crops     map[string]string // names of crop types (CTP), by id
	logs      map[string]bool   // read, by name in lower case
}

func (r *reading) read(main string) error {
	data, err := r.files.read(main, maxXML)
	if err != nil {
		return err
	}
	root, err := parse(r.set.File, data, "ISO11783_TaskData")
	if err != nil {
		return err
	}
	major, minor := root.text("VersionMajor"), root.text("VersionMinor")
	if major != "" {
		r.set.Version = strings.TrimSuffix(shorten(major+"."+minor), ".")
	}
	if major != "" && major != "3" && major != "4" {
		r.note(r.set.File, root.line, fmt.Sprintf("version %s; read as version 4", r.set.Version))
	}
	if n := r.files.more; n > 0 {
		r.noteMany(r.set.File, 0, n, "task set farther down than this one left out")
	}
	if err := r.readExternal(root); err != nil {
		return err
	}
	return r.take(root, r.set.File)
}

// readExternal takes in the files that XFR elements name: their elements
// count as if they stood in the main file.
func (r *reading) readExternal(root *element) error {
	var names []string
	var err error
	root.each("XFR", func(x *element) {
		if err != nil {
			return
		}
		name := x.text("A")
		if err = r.inFolder(name, "XFR", x.line); err != nil {
			return
		}
		if slices.Contains(names, strings.ToLower(name)) {
			r.note(r.set.File, x.line, "external file named twice; read once")
			return
		}
		names = append(names, strings.ToLower(name))
		err = r.readOneExternal(name, x.line)
	})
	return err
}

func (r *reading) readOneExternal(name string, line int) error {
	name = withEnding(name, ".xml")
	if !r.files.has(name) {
		r.note(r.set.File, line, "external file "+shorten(name)+" is missing; what it holds is left out")
		return nil
	}
	data, err := r.files.read(name, maxXML)
	if err != nil {
		return err
	}
	shown := r.files.shown(name)
	part, err := parse(shown, data, "XFC")
	if err != nil {
		return err
	}
	return r.take(part, shown)
}

// take takes what the root of one file holds.
func (r *reading) take(root *element, file string) error {
	root.each("PFD", func(e *element) { r.takePartfield(e, file) })
	root.each("DVC", func(e *element) { r.takeDevice(e, file) })
	root.each("CPC", func(e *element) { r.practices[e.text("A")] = e.text("B") })
	root.each("CTP", func(e *element) { r.crops[e.text("A")] = e.text("B") })
	var err error
	root.each("TSK", func(e *element) {
		if err == nil {
			err = r.takeTask(e, file)
		}
	})
	if err == nil && file == r.set.File { // external files come before the main one
		r.checkReferences()
	}
	return err
}

// inFolder refuses the name of a file that leads out of the set's folder.
func (r *reading) inFolder(name, where string, line int) error {
	if name == "" || !filepath.IsLocal(name) || strings.ContainsAny(name, `/\:`) {
		return &SyntaxError{File: r.set.File, Line: line, Where: where,
			Found: fmt.Sprintf("file name %q", shorten(name)), Want: "the name of a file beside TASKDATA.XML"}
	}
	return nil
}

// withEnding gives a name its ending unless it has it already.
func withEnding(name, ending string) string {
	if strings.EqualFold(path.Ext(name), ending) {
		return name
	}
	return name + ending
}

// note gathers a note under its text; it keeps the first line.
func (r *reading) note(file string, line int, text string) { r.noteMany(file, line, 1, text) }

func (r *reading) noteMany(file string, line, count int, text string) {
	key := geo.Note{File: file, Text: text}
	if i, ok := r.seen[key]; ok {
		r.set.Notes[i].Count += count
		return
	}
	r.seen[key] = len(r.set.Notes)
	r.set.Notes = append(r.set.Notes, geo.Note{File: file, Line: line, Count: count, Text: text})
}

// checkReferences follows the references of fields and tasks, and notes those to crops,
// fields or devices that the set does not hold.
func (r *reading) checkReferences() {
	for i := range r.set.Partfields {
		f := &r.set.Partfields[i]
		crop, held := r.crops[f.crop]
		if f.Crop = crop; f.crop != "" && !held {
			r.note(r.set.File, 0, fmt.Sprintf("field %s grows crop %s, which the set does not hold", shorten(f.ID), shorten(f.crop)))
		}
	}
	for i := range r.set.Tasks {
		t := &r.set.Tasks[i]
		t.Practice = r.practices[t.practice]
		if t.Partfield != "" && !r.ids["PFD "+t.Partfield] {
			r.note(r.set.File, 0, fmt.Sprintf("task %s is on field %s, which the set does not hold", shorten(t.ID), shorten(t.Partfield)))
		}
		for _, d := range t.Devices {
			if !r.ids["DVC "+d] {
				r.note(r.set.File, 0, fmt.Sprintf("task %s uses device %s, which the set does not hold", shorten(t.ID), shorten(d)))
			}
		}
	}
}

// meet notes an id that is missing or taken; tables are searched from the
// front, so the first of several counts.
func (r *reading) meet(file string, e *element) {
	id := e.text("A")
	key := e.name + " " + id
	switch {
	case id == "":
		r.note(file, e.line, "<"+e.name+"> without an id")
	case r.ids[key]:
		r.note(file, e.line, "id "+shorten(id)+" occurs twice; references mean the first")
	}
	r.ids[key] = true
}
