// Package crew passes journals from cab to cab of those that work one field. A journal
// only grows, so a cab that has a copy asks for the bytes that it does not have yet, and a
// link that breaks loses nothing:
//
//	GET /journals.json       -> [Listing]: which there are, whose, and how far they come
//	GET /journals/CAB/NAME   -> the journal from a byte on (Range, RFC 9110 section 14)
//
//	listing.go  what a cab tells, and gives
//	client.go   what another asks for, and how it tells that a journal goes on [Client.Read]
//	bring.go    how a cab brings what it wrote to a relay (package relay)
//
// Both need the key that looks, since neither changes anything. A cab gives its copies of
// others' journals too, under the name of the cab that wrote each, so that two cabs that do
// not reach each other get each other's ground through a third. A journal has the same name
// and bytes wherever it is kept, and a cab asks for no bytes that it has: so none goes round
// a ring of cabs twice.
package crew
