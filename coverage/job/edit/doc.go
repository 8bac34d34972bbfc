// Package edit changes one value of a YAML file and leaves all else as it was
// written: the order of keys, the comments, the blank lines.
//
//	file.go   text -> a file whose values can be asked for
//	set.go    one value set, or given a key of its own
//	list.go   an item added to a list, or taken out
//	place.go  where in the text a value begins and ends
//
// A key is a path of names and of numbers from 0, with dots between:
// "machines.0.tracks.1". After every change the file is read again; a change that
// came out as anything but what was asked is refused, and the text stays.
package edit
