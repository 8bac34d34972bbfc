// Package crew passes journals from cab to cab of those that work one field. A journal
// only grows, so whoever has a copy asks for the bytes that it does not have yet, and a
// link that breaks loses nothing:
//
//	GET /journals.json       -> [Listing]: which there are, whose, and how far they come
//	GET /journals/CAB/NAME   -> the journal from a byte on (Range, RFC 9110 section 14)
//
//	listing.go  what a cab tells, and gives
//	client.go   what another asks for, and how it tells that a journal goes on [Client.Read]
//	relay.go    a place that keeps what cabs bring, for those that do not reach each other
//
// Both are for whoever holds the key that looks: nothing is changed by them. A cab gives
// what it has of others' as well, under the name of the cab that wrote it, so that two
// cabs that do not reach each other hear of each other through a third. As a journal is
// the same wherever it is kept, and one that is complete is asked for no more, nothing
// goes round.
package crew
