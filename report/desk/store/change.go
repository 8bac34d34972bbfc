package store

import (
	"io/fs"
	"time"
)

// A Changed store is another with one of its files changed.
type Changed struct {
	Store
	name string
	file *Memory
}

// Change gives a store in which a file has another text. The store itself stays as it is.
func Change(s Store, name string, text []byte, modified time.Time) Changed {
	m := NewMemory(nil)
	m.Set(name, text, modified)
	return Changed{s, name, m}
}

// Open opens a file.
func (c Changed) Open(name string) (fs.File, error) {
	if name == c.name {
		return c.file.Open(name)
	}
	return c.Store.Open(name)
}

// Stat says what is at a name.
func (c Changed) Stat(name string) (fs.FileInfo, error) {
	if name == c.name {
		return c.file.Stat(name)
	}
	return c.Store.Stat(name)
}
