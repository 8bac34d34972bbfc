// Package last answers the question in the cab right after a pass: did it join its
// neighbour, is the headland closed, is anything to go back for.
//
//	Assessment --document.go--> Document, with the last pass of each machine
//	           --places.go----> the places to go to, with the way there
//	Document   --text.go------> a screenful for the terminal
//	           --page.go------> last.html, for a phone
//	           --summary.go---> last.json
package last
