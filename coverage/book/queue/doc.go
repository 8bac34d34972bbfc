// Package queue is the jobs of a book that wait to be measured, and the workers that
// measure them, as many as one likes on as many computers. It stands in the book's own
// database, and River (https://riverqueue.com) keeps it:
//
//	Add       jobs in, each once as long as it waits                  queue.go
//	Standing  how it is with one of them, for who waits               queue.go
//	Work      takes jobs one after the other, the urgent first        work.go
//	beats     a job in hand says so; one that is silent is put back   beat.go
//
// A job in the queue says what it is made of by the hashes of its files, which are in
// the book; what is found of it is put into the book and not into the queue. So a job
// that is done twice, because its worker was thought lost, is in the book once.
//
// Programs of different builds find different things: each has a queue of its own.
package queue
