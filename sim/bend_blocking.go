package sim

import "taillamp/block"

// blockingMistakes break the rules about blocking back and shunting into the section ahead.
func blockingMistakes() []mistake {
	return []mistake{
		{"R49", func(m *moment) bool { return m.anyLine(true, m.idle) }, func(s *script) { // stands inside, nobody told
			defer s.frees(s.me)
			s.fouls(s.me, block.Inside)
			s.pause(s.between(62, 90))
			s.made()
		}},
		{"R50", func(m *moment) bool { return m.anyLine(true, m.idle) }, func(s *script) { // outside, nobody asked
			defer s.frees(s.me)
			s.fouls(s.me, block.Outside)
			s.made()
			s.pause(s.between(20, 50))
		}},
		{"R51", func(m *moment) bool { // blocks back against a train that is accepted
			return m.anyLine(true, func() bool { return m.accepted() && m.theirTrain() })
		}, func(s *script) {
			s.turnsNot(s.me, "")
			s.calls(s.me)
			s.only(s.line().Accepted && !s.t.going)
			s.rings(s.me, "block-back-outside", "")
			s.answered(s.me)
			s.made()
			s.pause(s.between(10, 20))
			s.says(s.me, "obstruction-removed")
		}},
		{"R52", func(m *moment) bool { return m.anyLine(true, m.idle) }, func(s *script) { // says that it is gone
			defer s.frees(s.me)
			s.says(s.me, "block-back-inside")
			s.fouls(s.me, block.Inside)
			s.pause(s.between(3, 6))
			s.calls(s.me)
			s.rings(s.me, "obstruction-removed", "")
			s.made()
			s.answered(s.me)
		}},
		{"R53", func(m *moment) bool { return m.anyLine(true, m.idle) }, func(s *script) { // needle left at line blocked
			s.turnsNot(s.me, "")
			s.says(s.me, "block-back-inside")
			s.pause(s.between(32, 50))
			s.made()
			s.says(s.me, "obstruction-removed")
		}},
		{"R54", func(m *moment) bool {
			return m.anyLine(false, func() bool { return m.idle() && !m.p.box.ForwardShunt(m.i.To) })
		}, func(s *script) {
			s.shuntsAhead()
			s.made()
			s.pause(s.between(20, 40))
			s.says(s.me, "shunt-withdrawn")
		}},
		{"R56", func(m *moment) bool {
			return m.anyLine(false, func() bool { return m.idle() && m.p.box.ForwardShunt(m.i.To) })
		}, func(s *script) {
			s.shuntsAhead()
			s.does(block.Event{Do: block.Train, By: s.me, Section: s.l.Section, Where: block.Leaves, Train: "shunt"})
			s.pause(s.between(15, 30))
			s.says(s.me, "shunt-withdrawn")
			s.made()
			s.pause(s.between(5, 15))
			s.does(block.Event{Do: block.Train, By: s.me, Section: s.l.Section, Where: block.Returns, Train: "shunt"})
		}},
		{"R57", func(m *moment) bool {
			return m.anyLine(false, func() bool { return m.onLine() && m.p.box.ForwardShunt(m.i.To) })
		}, func(s *script) {
			s.fault = s.other // grants it with a train on the line
			s.calls(s.me)
			s.only(s.stillIn())
			s.rings(s.me, "shunt-forward", "")
			s.answered(s.me)
			s.made()
			s.says(s.me, "shunt-withdrawn")
		}},
	}
}

// shuntsAhead asks for a shunt into the section ahead, and has the other box show it.
func (s *script) shuntsAhead() {
	s.says(s.me, "shunt-forward")
	s.turnsNot(s.other, block.Blocked)
	s.turns(s.other, block.Occupied)
}
