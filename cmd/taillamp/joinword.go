package main

import (
	"hash/fnv"
	"strings"
)

// joinWords are what a signaller types to join: short trade words, none with i, l or o, which look like 1 and 0 in
// some letters, and none with rn, which looks like m.
const joinWords = `banner beam brake buffer bunker bank gantry gauge guard ganger hatch key magnet mast ramp rake rear
	rack sand seat shed shunter spanner starter stay steam tanker target tender track truck trap tube van water
	wedge yard crane stem express budget packet chart check`

// joinWord is the word of a sitting. The same sitting has the same word whenever it goes on, so that a word written
// on the wall stays good.
func joinWord(sitting string) string {
	words := strings.Fields(joinWords)
	h := fnv.New32a()
	h.Write([]byte(sitting))
	return words[int(h.Sum32()%uint32(len(words)))]
}
