package sim

import (
	"time"

	"taillamp/block"
)

// needleMistakes break the rules about the needle.
func needleMistakes() []mistake {
	return []mistake{
		{"R25", func(m *moment) bool { // takes line clear away again
			return m.anyLine(true, func() bool { return m.accepted() && m.theirTrain() })
		}, func(s *script) {
			s.holds(s.t, 2*time.Minute)
			s.pause(s.between(31, 40))
			l := s.line()
			s.only(l.Accepted && l.Shows == block.Clear)
			s.turnsNot(s.me, block.Clear)
			s.turns(s.me, block.Blocked)
			s.pause(s.between(32, 45))
			s.made()
		}},
		{"R26", func(m *moment) bool {
			return m.turning(block.Occupied, func() bool { return m.l.Standing == "LINE" && !m.l.Out })
		}, func(s *script) {
			s.turnsNot(s.me, block.Occupied)
			s.pause(s.between(32, 50))
			s.only(s.line().InSection)
			s.made()
		}},
		{"R27", func(m *moment) bool { return m.anyLine(true, m.onLine) }, func(s *script) { // takes train on line away
			s.pause(s.between(31, 40))
			s.only(s.stillIn() && s.line().Shows == block.Occupied)
			s.turnsNot(s.me, "")
			s.turns(s.me, block.Blocked)
			s.pause(s.between(32, 40))
			s.only(s.line().InSection)
			s.made()
		}},
		{"R28", func(m *moment) bool { return m.anyLine(true, m.idle) }, func(s *script) { // train on line for nothing
			s.turnsNot(s.me, "")
			s.turns(s.me, block.Occupied)
			s.pause(s.between(63, 80))
			s.made()
		}},
	}
}

// onLine tells whether a train is on the line picked that the box has not seen yet, and picks it.
func (m *moment) onLine() bool {
	return m.l.Standing == "LINE" && m.l.Shows == block.Occupied && m.quiet() && len(m.i.Offers) == 0 && m.inside() && !m.t.clear
}

// stillIn tells whether the train picked is still in the section, not yet in sight of the box in advance.
func (s *script) stillIn() bool {
	return s.t.running && s.t.at < len(s.t.way) && s.t.way[s.t.at].ID == s.l.Section
}

// theirTrain picks the train that is accepted on the line toward this box, if it waits where it is.
func (m *moment) theirTrain() bool {
	for _, t := range m.w.trains {
		if t.Train == m.l.Train && t.at < len(t.way) && t.way[t.at].ID == m.l.Section && t.waits && !t.going {
			m.t = t
			return true
		}
	}
	return false
}
