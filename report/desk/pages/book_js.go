package pages

import (
	"lapwing/coverage/assess"
	"lapwing/coverage/book"
)

// A Book there is none in a page: a browser reaches no database, and would have to bring
// one and CBOR to keep its own.
type Book struct{}

func (m *Maker) stands(string, *book.Record) (bool, error) { return true, nil }

func (m *Maker) assess(jobPath string, whatIf bool, _ *book.Record) ([]*assess.Assessment, error) {
	return m.measure(jobPath, whatIf)
}

func (m *Maker) hasWaste(string, int, *book.Record) (bool, error) { return true, nil }

func (m *Maker) askWaste(jobPath string, runs int, _ *book.Record) ([]*assess.Assessment, error) {
	return m.measureWaste(jobPath, runs)
}
