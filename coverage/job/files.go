package job

import (
	"io/fs"
	"path/filepath"
	"strings"

	"go.yaml.in/yaml/v4"
)

// Files lists the files that a job is made of, each once: the job file, the
// implement files it names, its boundary and its logs. It opens neither
// boundary nor logs. What is wrong in the job file is an [*InputError].
func Files(in Inputs, path string) ([]string, error) {
	r := newReading(in, Overrides{})
	r.dir = filepath.Dir(path)
	files := []string{path}
	add := func(path string) {
		for _, other := range files {
			if other == path {
				return
			}
		}
		files = append(files, path)
	}
	r.read = func(path string) ([]byte, error) {
		add(path)
		return in.readFile(path)
	}
	top, err := in.readJob(path)
	if err != nil {
		return nil, err
	}
	d, err := r.understand(top)
	if err != nil {
		return nil, err
	}
	first, more := r.groundsOf(d.boundary)
	for _, boundary := range append([]string{first}, more...) {
		if boundary == "" || boundary == worked {
			continue
		}
		for _, path := range in.filesOf(boundary) {
			add(path)
		}
	}
	for _, m := range d.machines {
		for _, t := range m.tracks {
			for _, path := range in.filesOf(r.path(t.text("a log"))) {
				add(path)
			}
		}
	}
	return files, nil
}

// filesOf lists the files behind a path of a job: those of the folder for a
// task set that is not packed, else itself.
func (in Inputs) filesOf(path string) []string {
	if !in.isSet(path) {
		return []string{path}
	}
	at := in.referenceOf(path).path
	folder := at
	if info, err := in.Stat(at); err == nil && !info.IsDir() {
		if !strings.EqualFold(filepath.Ext(at), ".xml") {
			return []string{at}
		}
		folder = filepath.Dir(at)
	}
	var files []string
	fsys, name, err := in.In(folder)
	if err != nil {
		return []string{at}
	}
	err = fs.WalkDir(fsys, name, func(path string, d fs.DirEntry, err error) error {
		if err == nil && d.Type().IsRegular() {
			if name != "." {
				path = strings.TrimPrefix(path, name)
			}
			files = append(files, filepath.Join(folder, filepath.FromSlash(path)))
		}
		return err
	})
	if err != nil || len(files) == 0 {
		return []string{at}
	}
	return files
}

// LooksLikeJob reports whether a YAML file is meant as a job: it names
// machines or a boundary, or it cannot be read as YAML, so that [Load] will
// say what is wrong with it. An implement file is none.
func LooksLikeJob(in Inputs, path string) bool {
	data, err := in.readFile(path)
	if err != nil {
		return true
	}
	var top yaml.Node
	if err := yaml.Unmarshal(data, &top); err != nil || len(top.Content) == 0 {
		return true
	}
	mapping := top.Content[0]
	for i := 0; mapping.Kind == yaml.MappingNode && i+1 < len(mapping.Content); i += 2 {
		switch mapping.Content[i].Value {
		case "machines", "boundary":
			return true
		}
	}
	return false
}
