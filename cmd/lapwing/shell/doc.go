// Package shell carries messages between a desk and the page that shows it, for
// the desk that `lapwing desk` serves on this machine.
//
//	POST /ask              a message to the desk; the reply, JSON or bytes
//	POST /files?name=NAME  a file that was dropped, streamed to the disk
//	GET  /events           progress of what is asked, files that a watched folder had,
//	                       and that something changed
//	GET  /pages/...        documents that the desk wrote
//	GET  /files/...        what was dropped, as it came
//
// Events are {id, text, share}, the progress of the message whose Lapwing-Ask header
// has that id; {changed: true}; and {found: NAME} of a file that a watched folder had,
// with an error where it could not be kept.
//
// The desk decides everything else. Who may ask is [serve.Door]'s business.
package shell
