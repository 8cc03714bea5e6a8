package sim

import (
	"time"

	"taillamp/block"
)

// permissiveMistakes break the rules of permissive block.
func permissiveMistakes() []mistake {
	return []mistake{
		{"PM-01", func(m *moment) bool { // lets a passenger train in behind another
			return m.goods(false, func() bool { return m.l.In > 0 && m.l.Room > 0 && m.waitsBehind(false) })
		}, (*script).acceptsBehind},
		{"PM-02", func(m *moment) bool { // answers for an empty line
			return m.goods(true, func() bool { return m.l.In > 0 && m.l.Room > 0 && m.answer() != "repeat" && m.offers1(true) })
		}, func(s *script) {
			s.acceptsNot(s.me)
			s.omit(s.me, func(a *block.Advice) bool { return a.Key == "line-occupied" })
			s.ring(s.me, s.i.Offers[0].Beats, "")
			s.made()
		}},
		{"PM-03", func(m *moment) bool { // lets in more than the line holds
			return m.goods(false, func() bool { return m.l.Room == 0 && m.l.In > 1 && m.waitsBehind(true) })
		}, (*script).acceptsBehind},
		{"PM-04", func(m *moment) bool { // does not tell the driver that the line is occupied
			return m.goods(false, func() bool {
				return m.l.In > 0 && m.quiet() && m.next() && m.here() && m.w.now.Sub(m.t.told) > time.Minute
			})
		}, func(s *script) {
			s.mute = append(s.mute, s.l.Section)
			s.until(patience, func() bool { return s.t.running || s.line().Count == 0 })
			s.only(s.t.running && s.line().Count > 0)
			s.made()
		}},
		{"PM-05", func(m *moment) bool { // gives up a train that is not there
			return m.goods(true, func() bool { return m.l.In == 0 && m.l.Standing == "IDLE" && m.quiet() && len(m.i.Offers) == 0 })
		}, func(s *script) {
			s.calls(s.me)
			s.only(s.line().Standing == "IDLE")
			s.rings(s.me, "out-of-section", "")
			s.made()
			s.answered(s.me)
		}},
		{"PM-06", func(m *moment) bool { // counts one more than there are
			return m.goods(true, func() bool {
				return m.l.In > 0 && m.l.Count == m.l.In && m.l.Standing == "LINE" && m.quiet() && len(m.i.Offers) == 0
			})
		}, func(s *script) {
			s.does(block.Event{Do: block.Turn, By: s.me, Section: s.l.Section, Show: block.Occupied})
			s.made()
		}},
	}
}

// goods tries the permissive lines toward the box, or from it, until one is right.
func (m *moment) goods(toMe bool, ok func() bool) bool {
	for n := range m.v.Shelf {
		m.i = &m.v.Shelf[n]
		for k := range m.i.Lines {
			m.l = &m.i.Lines[k]
			if m.i.Method == "permissive" && m.l.ToMe == toMe && ok() {
				return true
			}
		}
	}
	return false
}

// offers1 tells whether the other end has offered a train, of goods or not, that no more bells have been rung about.
func (m *moment) offers1(freight bool) bool {
	if len(m.i.Offers) != 1 || m.i.Offers[0].By != m.i.To || !m.quiet0() {
		return false
	}
	c, _ := m.w.circuit(m.i.Circuit)
	code, ok := c.Book.Key(m.i.Offers[0].Key)
	return ok && (code.Passengers || code.Coaching) != freight
}

// quiet0 is quiet, but the word may be somebody's.
func (m *moment) quiet0() bool {
	return len(m.i.Waiting) == 0 && !m.i.Danger && !m.w.ringing[m.i.Circuit].After(m.w.now)
}

// answer is how the line picked answers an offer when a train is in.
func (m *moment) answer() string {
	for _, b := range m.w.r.Layout().Between {
		for _, l := range b.Lines {
			if l.Name == m.l.Line && l.Method == "permissive" {
				return l.Answer
			}
		}
	}
	return ""
}

// waitsBehind picks a train, of goods or not, that waits at this box while others are in, with nothing being said.
func (m *moment) waitsBehind(freight bool) bool {
	return m.quiet() && len(m.i.Offers) == 0 && m.l.Standing == "LINE" && m.next() && m.here() && m.t.Freight == freight
}

// acceptsBehind has the train picked offered, and the other box accept it though it must not.
func (s *script) acceptsBehind() {
	s.fault = s.other
	in := s.line().InSection
	s.offers(s.me, s.t)
	s.until(time.Minute, s.hushed)
	s.pause(s.between(3, 6))
	s.only(in && s.line().InSection)
	s.ring(s.other, s.t.Code, "")
	s.made()
}
