package lesson

import (
	"fmt"
	"iter"
	"time"

	"taillamp/block"
	"taillamp/block/review"
)

// Verdict is how a lesson stands: what has been shown of what is wanted, and words for the learner. No marks.
type Verdict struct {
	Goals  []Goal    `json:"goals"`
	Over   bool      `json:"over"`        // everything wanted has been shown, or no train is left that could show it
	Passed bool      `json:"passed"`      // everything was shown, and nothing went against the regulations
	At     time.Time `json:"at,omitzero"` // since when it has been over
	Words  []string  `json:"words"`       // at the end: what went well, what to look at, what to do next; three at most
}

// Goal is one thing wanted.
type Goal struct {
	Words string `json:"words"`
	Good  int    `json:"good"`
	Of    int    `json:"of"`
	Bad   int    `json:"bad"` // done, and not as wanted
}

// Judge reads the record of a lesson from its beginning. It believes nothing but the record: the acts of the learner's
// box, and the findings of the review that are laid to it. A record that cannot be read is an error.
func (l *Lesson) Judge(began time.Time, entries iter.Seq2[block.Entry, error]) (Verdict, error) {
	f := newFold(l, began)
	var kept []block.Entry
	var v Verdict
	for e, err := range entries {
		if err != nil {
			return Verdict{}, fmt.Errorf("judge lesson %d: %w", l.No, err)
		}
		kept = append(kept, e)
		f.read(e)
		if v.Over = f.shown() || f.finished(); v.Over {
			v.At = f.now
			break // what comes after it is nobody's business
		}
	}
	if !v.Over {
		f.end()
		v.Over = f.shown()
	}
	for n, w := range l.Wants {
		t := f.tallies[n]
		v.Goals = append(v.Goals, Goal{Words: w.Words, Good: min(t.good, w.Count), Of: w.Count, Bad: t.bad})
	}
	found, err := l.found(kept)
	if err != nil {
		return Verdict{}, err
	}
	v.Passed = f.shown() && len(found) == 0
	for _, g := range v.Goals {
		v.Passed = v.Passed && g.Bad == 0
	}
	if v.Over {
		v.Words = l.words(v, found)
	}
	return v, nil
}

// found are the irregularities laid to the learner's boxes, told ones aside.
func (l *Lesson) found(entries []block.Entry) ([]review.Finding, error) {
	var found []review.Finding
	all := func(yield func(block.Entry, error) bool) {
		for _, e := range entries {
			if !yield(e, nil) {
				return
			}
		}
	}
	for f, err := range review.Of(l.rules, all) {
		if err != nil {
			return nil, fmt.Errorf("judge lesson %d: %w", l.No, err)
		}
		if l.Learners(f.Box) && f.Severity != block.Tell {
			found = append(found, f)
		}
	}
	return found, nil
}

// words say what went well, what to look at and what to do next.
func (l *Lesson) words(v Verdict, found []review.Finding) []string {
	var words []string
	for _, g := range v.Goals {
		if g.Good >= g.Of && g.Bad == 0 {
			words = append(words, fmt.Sprintf("Well done: %s, %d of %d.", g.Words, g.Of, g.Of))
			break
		}
	}
	switch {
	case len(found) > 0:
		words = append(words, "Look at this: "+found[0].Says+" "+found[0].Instead)
	default:
		for _, g := range v.Goals {
			if g.Bad > 0 {
				words = append(words, fmt.Sprintf("Look at this: %s, and %s not.", g.Words, times(g.Bad)))
				break
			}
			if g.Good < g.Of {
				words = append(words, fmt.Sprintf("Look at this: %s, %d of %d.", g.Words, g.Good, g.Of))
				break
			}
		}
	}
	next := "Take this lesson again when you like: the trains wait."
	if v.Passed {
		next = "Go on to the next lesson, or take this one again."
	}
	return append(words, next)
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}
