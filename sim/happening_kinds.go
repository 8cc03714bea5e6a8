package sim

import (
	"time"

	"taillamp/block"
)

// happeningKind is how a kind of order comes to pass: on a line, toward the box or from it, that is fit for it, and how it
// goes then; or with now, at once, which tells whether it could. again goes on with one after a break.
type happeningKind struct {
	toMe  bool
	fit   func(m *moment) bool
	plays func(s *script, c *course)
	now   func(w *world, x *wanted) bool
	again func(w *world, c *course)
}

// kindOf is how a kind comes to pass.
func kindOf(does block.Place) happeningKind {
	switch does {
	case block.HotBox:
		return happeningKind{fit: (*moment).justGone, plays: (*script).hotBox}
	}
	return happeningKind{now: func(*world, *wanted) bool { return false }}
}

// timeToTell is how long two boxes take at most over a call, a signal and its answer.
const timeToTell = 45 * time.Second

// justGone picks the train that has gone by the line picked, if the box in advance can still be told of it.
func (m *moment) justGone() bool {
	return m.l.Standing == "LINE" && m.l.Shows == block.Occupied && m.inside() && m.t.two && m.t.due.Sub(m.w.now) > timeToTell
}

// repeated tells whether the box has repeated a signal since a moment.
func (w *world) repeatedSince(box block.BoxID, key block.CodeKey, from time.Time) bool {
	return !w.repeats[saying{box, key}].Before(from) && !w.repeats[saying{box, key}].IsZero()
}

// hotBox is smoke seen from a wagon after the train has passed: 7 to the box in advance, which stops it and has it examined,
// and keeps the other line free until it is told that nothing is foul of it (reference: absolute block, section 7, R59; from
// memory: Regulation 17).
func (s *script) hotBox(c *course) {
	told := func() bool { return s.w.repeatedSince(s.other, "stop-and-examine", c.since) }
	at := s.t.at
	if !told() {
		s.asks("", func() { s.says(s.me, "stop-and-examine") }, patience, func() bool { return told() || !s.stillIn() })
	}
	s.minds()
	if !told() || !s.stillIn() {
		return // nobody has been told, and it runs on
	}
	s.t.halt, s.t.examined = at+1, c.lasts()
	if far := s.w.of[s.other]; !far.absent {
		s.bars = append(s.bars, s.otherWay().Section.ID)
	}
	s.vain = false
	s.until(2*time.Hour, func() bool { return s.t.at > at && !s.w.now.Before(s.t.stands) && !s.t.outside })
	if far := s.w.of[s.other]; !far.absent {
		s.record(block.Event{Do: block.Remark, By: s.other, Words: "train " + string(s.t.Train) + " stopped and examined: hot box, attended to. Nothing foul."})
	}
}
