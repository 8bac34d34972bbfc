// Package serve is the door of the pages that lapwing serves to a browser on this
// machine, or near it.
//
// Any page that is open in a browser can call 127.0.0.1, and any program of any
// user of this machine can. So a [Door] lets in only what holds a key:
//
//	http://127.0.0.1:4711/#KEY    printed, or behind a file that only this user reads
//	  |  the fragment is never sent; enter.js takes it out of the history
//	  v
//	POST /enter  KEY  ->  a cookie named by the port, HttpOnly, SameSite=Strict
//	  |
//	  v
//	GET /..., POST /...           with the cookie, or with Authorization: Bearer KEY
//
// What a request passes on its way, each with a row in the table of tests:
//
//  1. Host: a name of this door and its port, else another name was made to lead
//     here (DNS rebinding).
//  2. Where it comes from: a page of another site or port may neither write nor
//     read; it may lead to a page, which shows nothing without the cookie.
//  3. The key, and what it is for: one drives, another only looks.
//
// Every answer carries a policy without unsafe-inline, and is kept nowhere.
package serve
