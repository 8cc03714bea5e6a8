package web

import "taillamp/block"

// Voices tells by which voice the bell of a circuit is heard at a box, the same on the pages and on any other
// loudspeaker; empty if no such bell hangs there.
func Voices(r *block.Rules) func(box block.BoxID, circuit block.CircuitID) string {
	voices := voicesOf(r)
	return func(box block.BoxID, circuit block.CircuitID) string { return voices[hearing{box, circuit}] }
}
