// Package sitting holds an evening's working while it goes on. A Live is one sitting: a single goroutine owns its
// state, takes the acts of every seat in one order, keeps them on the disk and tells the boxes what they may know.
//
// Two promises matter most. A fact is on the disk before anybody is told of it. A beat is sound and no fact yet: it
// goes to the far box at once and is written with the next batch, at the latest before the code that it belongs to
// is told.
//
// The frames of the wire are here too, so that whoever serves them, by whatever socket, says the same.
package sitting
