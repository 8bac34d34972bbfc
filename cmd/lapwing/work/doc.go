// Package work measures a job of a book's queue in a process of its own, so that the worker
// goes on however a job ends.
//
//	Do       files out of the book, a process, what it found into the book   do.go
//	Answer   that process: the files -> what is found of them                answer.go
//
// The process is this program again. It hears on standard input which job, and that it is
// still wanted: when that ends so does it, so that none outlives a worker that is killed,
// and the files that were laid out for it go too.
package work
