// Package cab is the live page of lapwing cab: for the phone or tablet in the cab,
// the verdict first, then how the bar laps what lies beside it now.
//
//	page.go    the page, which a server gives to whoever calls
//	scene.go   what does not change while it is open: the field, the machines
//	share.go   what other cabs share, and how old it is; shared.js draws it
//	update.go  what does: sent to each page from where it is, so that one that was away catches up
//
// The page writes no sentence: it places texts, and draws. One figure it works out by
// itself, as the machine moves: how far it is to each place on its list.
package cab
