// Package syllabus keeps a sheet for each learner: which lessons he has tried, when, and what was said at the end. No marks.
package syllabus

import (
	"slices"
	"time"
)

// lastTries is how many ended tries of one lesson a sheet keeps.
const lastTries = 3

// Try is one lesson as it was taken.
type Try struct {
	Lesson int       `json:"lesson"`
	Began  time.Time `json:"began"`
	Ended  time.Time `json:"ended,omitzero"`  // zero: it is being taken, or was broken off
	Shown  bool      `json:"shown,omitempty"` // all that the lesson wants was shown, and nothing was against the regulations
	Said   []string  `json:"said,omitempty"`  // at its end: what went well, what to look at, what to do next
}

// Sheet is what one learner has done.
type Sheet struct {
	Name  string    `json:"name,omitempty"` // as he gave it; empty: he gave none
	Since time.Time `json:"since"`
	Tries []Try     `json:"tries"` // the oldest first; of each lesson the last three that ended, and one that has not
}

// begins adds a try. One of that lesson that was never ended gives way to it: who tried nothing has nothing to look back at.
func (s Sheet) begins(lesson int, at time.Time) Sheet {
	s.Tries = slices.DeleteFunc(slices.Clone(s.Tries), func(t Try) bool { return t.Lesson == lesson && t.Ended.IsZero() })
	s.Tries = append(s.Tries, Try{Lesson: lesson, Began: at})
	return s
}

// ends notes how a try ended. False: there is no such try, or it has ended already.
func (s Sheet) ends(e Try) (Sheet, bool) {
	at := slices.IndexFunc(s.Tries, func(t Try) bool { return t.Lesson == e.Lesson && t.Began.Equal(e.Began) && t.Ended.IsZero() })
	if at < 0 {
		return s, false
	}
	s.Tries = slices.Clone(s.Tries)
	s.Tries[at] = e
	if ended := s.Of(e.Lesson, true); len(ended) > lastTries {
		oldest := ended[0]
		s.Tries = slices.DeleteFunc(s.Tries, func(t Try) bool { return t.Lesson == e.Lesson && t.Began.Equal(oldest.Began) })
	}
	return s, true
}

// Of are the tries of one lesson, the oldest first: all, or those that have ended.
func (s Sheet) Of(lesson int, ended bool) []Try {
	var of []Try
	for _, t := range s.Tries {
		if t.Lesson == lesson && (!ended || !t.Ended.IsZero()) {
			of = append(of, t)
		}
	}
	return of
}

// last is when its learner was last at it.
func (s Sheet) last() time.Time {
	at := s.Since
	for _, t := range s.Tries {
		if t.Began.After(at) {
			at = t.Began
		}
	}
	return at
}
