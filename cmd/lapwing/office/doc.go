// Package office is a book that is open to people over HTTP.
//
// What a request passes on its way, each with a row in the tables of tests:
//
//  1. Cross-origin writes are refused (net/http.CrossOriginProtection), and every answer
//     carries a policy without unsafe-inline.
//  2. Who asks: a session's cookie, or Authorization: Bearer TOKEN. Sign-in is slowed per
//     name and per address; each person may ask so often.
//  3. What the route is for: a token may be for less than its person. What the person may
//     is not asked here: who asks goes on in the context ([book.As]), and the book shows
//     and takes what they may. What they may not see is not there: 404.
//
// An answer says nothing of what went wrong inside; the log does, by route and person, and
// never with a secret.
//
//	office.go    the routes, what each is for, and what all have
//	door.go      who asks: sign-in, sessions, tokens
//	openid.go    sign-in by OpenID Connect
//	password.go  how passwords are kept
//	slow.go      so often, and no oftener
//	fields.go    the fields of a person's farms, their pages, links to them
//	people.go    people, what they may, tokens, the audit trail
//	desks.go     the desk of each farm
//	metrics.go   what is counted
package office
