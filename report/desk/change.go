package desk

import (
	"bytes"
	"io/fs"

	"lapwing/coverage/book"
	"lapwing/report/desk/history"
	"lapwing/report/desk/pages"
	"lapwing/report/desk/store"
)

// commit does a change, and keeps with it what the desk is to know of its files.
func (a *ask) commit(c history.Change) error {
	for name, text := range c.Put {
		if a.holds(name, text) {
			delete(c.Put, name)
		}
	}
	for name, text := range c.Put {
		// A job stays a person's where a person has changed it, whatever it is told since.
		if _, err := fs.Stat(a.store, name); isJob(name) && (err != nil || a.byDesk(name)) {
			a.book.Wrote[name] = hashOf(text)
		}
	}
	for _, name := range c.Remove {
		delete(a.book.Wrote, name)
		delete(a.book.Ground, name)
		delete(a.book.From, name)
	}
	if text := a.book.text(); !a.holds(notesFile, text) && (!c.Empty() || c.What != "") {
		c.Set(notesFile, text)
	}
	return a.history().Do(c)
}

// history is the history of the desk's changes, as long as the ask lasts.
func (a *ask) history() history.History { return history.History{Files: a.files()} }

// files are the files of the desk, as long as the ask lasts.
func (a *ask) files() store.Heeding { return store.Heeding{Context: a.ctx, Store: a.store} }

// undo takes the last change back.
func (a *ask) undo() error {
	done, err := a.history().Undo(history.Rules{Own: isOwn, Dropped: isDropped,
		Remade: func(name string) bool { return isJob(name) && a.byDesk(name) }})
	switch {
	case err != nil:
		return err
	case !done:
		return wrong("found no change", "a change to take back")
	}
	a.book, _ = notesIn(a.store)
	return nil
}

// isDropped reports whether a name is one that the desk gives to what was dropped.
func isDropped(name string) bool {
	first, _, _ := cut(name)
	return first == filesDir
}

// holds reports whether a file has a content.
func (a *ask) holds(name string, text []byte) bool {
	old, err := fs.ReadFile(a.store, name)
	return err == nil && bytes.Equal(old, text)
}

func hashOf(text []byte) string {
	hash, _ := book.Hash(bytes.NewReader(text)) // from memory
	return hash
}

// below lists all files below a folder.
func (d *Desk) below(dir string) []string { return store.Below(d.store, dir) }

// isOwn reports whether a name is one that a change may have made.
func isOwn(name string) bool {
	first, _, _ := cut(name)
	return fs.ValidPath(name) && first != history.Folder && first != pages.Dir
}

// byDesk reports whether a job file is as the desk wrote it.
func (a *ask) byDesk(name string) bool {
	text, err := fs.ReadFile(a.store, name)
	return err == nil && a.book.Wrote[name] == hashOf(text)
}
