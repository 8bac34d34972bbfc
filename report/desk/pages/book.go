//go:build !js

package pages

import (
	"fmt"

	"lapwing/coverage/assess"
	"lapwing/coverage/book"
	"lapwing/coverage/job"
)

// A Book is the book of a desk; a page in a browser has none (book_js.go).
type Book struct {
	Store   book.Store
	Program string // tells programs apart in the book
	Place   string // where the files of the desk lie: the sources of its jobs begin so
}

// keeper asks a question of the book.
func (m *Maker) keeper(q book.Question) *book.Keeper {
	k := &book.Keeper{Store: m.Book.Store, Inputs: m.In, Program: m.Book.Program, Question: q.String()}
	if q.Of == book.Season { // what else is asked shows in no layer
		k.Place = m.Book.Place
	}
	return k
}

func (m *Maker) question(of string) book.Question { return book.Ask(of, m.Units, job.Overrides{}) }

// ofBook makes an error one of the book.
func ofBook(err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("the book: %w", err)
}

// stands reports whether the book, where there is one, has the job of a record as it is.
func (m *Maker) stands(jobPath string, now *book.Record) (bool, error) {
	if m.Book == nil {
		return true, nil
	}
	stands, err := m.keeper(m.question(book.Season)).Stands(m.Context, jobPath, now)
	return stands, ofBook(err)
}

// assess assesses all parts of a job, or takes from the book what was found of them: it
// asks what a season asks, so that either has the answer of the other.
func (m *Maker) assess(jobPath string, whatIf bool, now *book.Record) ([]*assess.Assessment, error) {
	alone := func() ([]*assess.Assessment, error) { return m.measure(jobPath, whatIf) }
	if m.Book == nil {
		return alone()
	}
	found, whole, err := m.askBook(jobPath, m.question(book.Season), now, alone)
	if err == nil && whatIf && !whole {
		found, whole, err = m.askBook(jobPath, m.question(book.WhatIf), now, alone)
	}
	if err != nil || whole {
		return found, err
	}
	if len(found) == 1 {
		found[0], err = found[0].Plain(0, nil)
		return found, err
	}
	// Of a job of several fields a desk also tells what lies in none of them.
	j, err := m.load(jobPath)
	if err != nil {
		return nil, err
	}
	elsewhere := assess.OffFields(j, m.Units)
	for i, one := range j.Works() {
		if found[i], err = found[i].Plain(len(one.Warnings), elsewhere); err != nil {
			return nil, err
		}
	}
	return found, nil
}

// askBook has a question answered from the book, or by measuring, and then the book has
// it. Where the job is wrong, or the book cannot keep it, alone answers as without a book;
// whole says that it did.
func (m *Maker) askBook(jobPath string, q book.Question, now *book.Record, alone func() ([]*assess.Assessment, error)) (found []*assess.Assessment, whole bool, err error) {
	var wrong error
	found, _, err = m.keeper(q).Assess(m.Context, jobPath, now, func(in job.Inputs, path string) (found []*assess.Assessment, err error) {
		if path == jobPath {
			whole = true
			found, wrong = alone()
			return found, wrong
		}
		return q.Assess(m.Context, in, path, func(step string) { m.Told(step, 0.1) })
	})
	if stopped := m.Context.Err(); stopped != nil {
		return nil, whole, stopped
	}
	if wrong == nil {
		err = ofBook(err)
	}
	return found, whole, err
}

func (m *Maker) waste(runs int) book.Question {
	q := m.question(book.Waste)
	q.Runs = runs
	return q
}

// hasWaste reports whether the book, where there is one, has what was wasted of a job.
func (m *Maker) hasWaste(jobPath string, runs int, now *book.Record) (bool, error) {
	if m.Book == nil {
		return true, nil
	}
	has, err := m.keeper(m.waste(runs)).Stands(m.Context, jobPath, now)
	return has, ofBook(err)
}

// askWaste is assess for what was wasted. now is nil where the job cannot be looked at.
func (m *Maker) askWaste(jobPath string, runs int, now *book.Record) ([]*assess.Assessment, error) {
	alone := func() ([]*assess.Assessment, error) { return m.measureWaste(jobPath, runs) }
	if m.Book == nil || now == nil {
		return alone()
	}
	found, _, err := m.askBook(jobPath, m.waste(runs), now, alone)
	return found, err
}
