package block

import (
	"math"
	"time"
)

// PractisedCode is a code rung for practice, as a stranger's hand is read: computation 2.
type PractisedCode struct {
	Beats  Beats
	Or     Beats         // what else it may have been; nil: there is no doubt
	Beat   time.Duration // usual gap inside a group; zero: there was none
	Pause  time.Duration // usual gap between groups; zero: there was none
	Uneven bool          // one gap inside a group was half as long again as another, or more
}

// ReadPractice reads a row of presses, oldest first, at most twenty, as a code. The book is the second opinion that it
// is in working; nil: none.
func ReadPractice(presses []time.Time, book *CodeBook) PractisedCode {
	if len(presses) == 0 || len(presses) > most {
		return PractisedCode{}
	}
	var inBook func(Beats) bool
	if book != nil {
		inBook = func(b Beats) bool { return len(book.byBeats[string(b)]) > 0 }
	}
	g := hand{}.read(presses, inBook)
	p := PractisedCode{Beats: g.beats, Or: g.or}
	inside := g.gaps - g.pauses
	if inside > 0 {
		p.Beat = seconds(math.Exp(g.pace))
	}
	if g.pauses > 0 {
		p.Pause = seconds(math.Exp(g.pause))
	}
	p.Uneven = uneven(presses, g.beats)
	return p
}

func seconds(s float64) time.Duration {
	return time.Duration(s * float64(time.Second)).Round(time.Millisecond)
}

// uneven compares the gaps inside the groups of a code.
func uneven(presses []time.Time, code Beats) bool {
	shortest, longest := time.Duration(math.MaxInt64), time.Duration(0)
	n := 0
	for _, beats := range code {
		for range beats - 1 {
			gap := presses[n+1].Sub(presses[n])
			shortest, longest = min(shortest, gap), max(longest, gap)
			n++
		}
		n++
	}
	return longest > 0 && 2*longest >= 3*shortest
}
