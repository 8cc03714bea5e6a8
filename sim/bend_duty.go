package sim

import (
	"slices"
	"time"

	"taillamp/block"
)

// dutyMistakes break the rules about testing, duty and the record.
func dutyMistakes() []mistake {
	return []mistake{
		{"R64", func(m *moment) bool { // tests with a train on the line
			return m.anyLine(false, func() bool { return m.l.Standing == "LINE" && m.quiet() && len(m.i.Offers) == 0 })
		}, func(s *script) {
			s.calls(s.me)
			s.only(s.line().InSection)
			s.rings(s.me, "testing", "")
			s.made()
			s.answered(s.me)
		}},
		{"R65", func(m *moment) bool { return m.anyLine(true, m.onLine) }, func(s *script) { // goes without a word to the relief
			s.does(block.Event{Do: block.Duty, By: s.me, Off: true})
			s.does(block.Event{Do: block.Duty, By: s.me})
			s.made()
		}},
		{"R66", func(m *moment) bool { return m.anyLine(true, m.still) }, func(s *script) { // writes nothing of a dead bell
			c, _ := s.w.circuit(s.i.Circuit)
			s.fault = c.Boxes[0] // neither book has it: one finding, laid to the first
			s.busy(s.me)
			s.busy(s.other)
			s.does(block.Event{Do: block.Fault, Circuit: s.i.Circuit, Where: block.AtBell})
			s.rings(s.me, "call-attention", "")
			s.made()
			s.pause(s.between(20, 30))
			s.mends(block.Event{Do: block.Fault, Circuit: s.i.Circuit, Where: block.AtBell, Off: true})
		}},
		{"R70", func(m *moment) bool { return true }, func(s *script) { // lets his clock go wrong
			s.does(block.Event{Do: block.Clock, By: s.me, Words: "3m"})
			s.made()
		}},
	}
}

// closingMistakes break the rules about closing and opening.
func closingMistakes() []mistake {
	return []mistake{
		{"OC-01", (*moment).mayClose, func(s *script) { // closes while the line is blocked back
			s.says(s.me, "block-back-inside")
			s.eachSide(func() { s.says(s.me, "closing") })
			s.closes()
			s.made()
			s.tests()
		}},
		{"OC-02", (*moment).mayClose, func(s *script) { // asks one neighbour only
			s.says(s.me, "closing")
			s.closes()
			s.made()
			s.tests()
		}},
		{"OC-03", func(m *moment) bool { return m.anyLine(true, func() bool { return m.onLine() && m.over() != "" }) }, func(s *script) {
			s.fault = s.over() // opens with a train going by; the day ends there, for it is on no line any more
			s.does(block.Event{Do: block.Switch, By: s.fault})
			s.made()
			s.w.ends = s.w.now.Add(-1)
		}},
		{"OC-06", (*moment).mayClose, func(s *script) { // and nobody tests
			s.fault = s.shelf()[0].To
			s.eachSide(func() { s.says(s.me, "closing") })
			s.closes()
			s.pause(5*time.Minute + s.between(2, 9))
			s.does(block.Event{Do: block.Remark, By: s.fault, Words: "all quiet"}) // the evening goes on
			s.made()
		}},
	}
}

// mayClose tells whether the box has a closing switch and nothing more to do today: it picks a line toward it.
func (m *moment) mayClose() bool {
	if !m.p.box.Switch || !m.v.Open || len(m.v.Shelf) != 2 {
		return false
	}
	for _, v := range m.p.calls {
		if v.t.at < len(v.t.Calls)-1 || v.t.running {
			return false
		}
	}
	if slices.ContainsFunc(m.w.circuits, func(c block.Circuit) bool { return !m.w.idle(c) }) {
		return false
	}
	return m.anyLine(true, m.still)
}

// over is a box that is out between the two ends of the instrument picked.
func (m *moment) over() block.BoxID {
	if c, _ := m.w.circuit(m.i.Circuit); len(c.Over) > 0 {
		return c.Over[0]
	}
	return ""
}

// shelf is what the box has before it.
func (s *script) shelf() []block.Instrument { return s.w.r.View(s.w.state, s.me).Shelf }

// eachSide does something on each of the box's circuits.
func (s *script) eachSide(do func()) {
	i, other := s.moment.i, s.other
	for _, side := range s.shelf() {
		s.moment.i, s.other = &side, side.To
		do()
	}
	s.moment.i, s.other = i, other
}

// closes has the box turn its switch.
func (s *script) closes() { s.does(block.Event{Do: block.Switch, By: s.me, Off: true}) }

// tests has the neighbours test the bells that have come to work past the box.
func (s *script) tests() {
	neighbour := s.other
	for _, i := range s.w.r.View(s.w.state, neighbour).Shelf {
		if c, _ := s.w.circuit(i.Circuit); slices.Contains(c.Over, s.me) {
			s.moment.i, s.other, s.me = &i, i.To, neighbour
			s.says(neighbour, "testing")
			return
		}
	}
}
