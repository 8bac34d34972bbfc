// Package cab is the live page of lapwing cab: for the phone or tablet in the cab,
// the verdict first, then how the bar laps what lies beside it now.
//
//	page.go    the page, which a server gives without a key
//	scene.go   what does not change while it is open: the field, the machines
//	ground.go  the ground of the last answer, strip by strip, of which each page is sent what is new to it
//	share.go   what other cabs share, how old it is, and their ground since
//	update.go  what else changes: sent to each page from where it is, so that one that was away catches up
//
// What is drawn is the ground of the last answer, of whichever log and machine, and over
// it the bars that came since: so a cab that is started again shows all of it, and what
// was guessed while driving is put right at the lift.
//
// The page writes no sentence about the field: it places texts, and draws. What it works
// out by itself is where each place on its list is from the machine as that moves, and
// how long it has heard nothing from the cab.
package cab
