package web

import "taillamp/block"

// Voices tells by which voice the bell of a circuit is heard at a box, the same on the pages and on any other
// loudspeaker; empty if no such bell hangs there.
func Voices(r *block.Rules) func(box block.BoxID, circuit block.CircuitID) string {
	voices := voicesOf(r)
	return func(box block.BoxID, circuit block.CircuitID) string { return voices[hearing{box, circuit}] }
}

// Words tells a person what an error of the sitting or of the rules means: a short word for a program and a sentence.
func Words(r *block.Rules) func(error) (why, words string) {
	return func(err error) (string, string) {
		w := wordsOf(r, err)
		return w.why, w.words
	}
}

// Held says in words what in the apparatus refused an act.
func Held(why block.Reason) string { return refusal(why) }
