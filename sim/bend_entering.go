package sim

import (
	"time"

	"taillamp/block"
)

// enteringMistakes break the rules about trains entering the section.
func enteringMistakes() []mistake {
	return []mistake{
		{"R29", func(m *moment) bool { return m.calling(func() bool { return m.quiet() && m.here() }) }, func(s *script) {
			s.busy(s.me) // sends it without line clear
			s.sends(s.t)
			s.made()
			s.two()
		}},
		{"R30", func(m *moment) bool { return m.anyLine(false, m.following) }, func(s *script) { // two on one line clear
			s.busy(s.me)
			s.sends(s.t)
			s.made()
			s.two()
		}},
		{"R31", func(m *moment) bool { return m.saying("entering-section", always) }, func(s *script) { // forgets 2
			s.goesUnseen(s.me)
			s.stands(30*time.Minute, func(l block.LineState) bool { return !l.Accepted && !l.InSection })
			s.made()
		}},
		{"R32", func(m *moment) bool { return m.anyLine(false, m.mayGo) }, func(s *script) { // 2 before it goes
			s.holds(s.t, 10*time.Minute)
			s.pause(s.between(2, 5))
			s.rings(s.me, "entering-section", "")
			s.answered(s.me)
			s.pause(s.between(62, 110))
			s.sends(s.t)
			s.t.two = true
			s.made()
		}},
		{"R33", func(m *moment) bool { return m.saying("entering-section", m.inside) }, func(s *script) { // 2 long after it went
			s.goesUnseen(s.me)
			s.pause(s.between(62, 85))
			s.only(s.stillIn())
			s.made()
		}},
		{"R34", func(m *moment) bool { return m.anyLine(false, m.still) }, func(s *script) { // 2 for a train never accepted
			s.busy(s.me)
			s.rings(s.me, "entering-section", "")
			s.made()
			s.answered(s.me)
			s.pause(s.between(10, 20))
			s.says(s.me, "cancelling")
		}},
		{"R35", func(m *moment) bool { return m.saying("entering-section", m.quiet) }, func(s *script) { // calls before 2
			s.goesUnseen(s.me)
			s.calls(s.me)
			s.rings(s.me, "entering-section", "")
			s.pause(s.between(62, 70))
			s.made()
		}},
		{"R36", func(m *moment) bool { return m.anyLine(false, m.mayGo) }, func(s *script) { // 2-2 before 2
			s.holds(s.t, 2*time.Minute)
			s.rings(s.me, "assisting-rear", "")
			s.made()
			s.answered(s.me)
		}},
		{"R37", func(m *moment) bool { // takes the next train with the banking engine still out
			return m.answering("entering-section", func() bool { return m.l != nil && m.inside() && m.theirs("") })
		}, func(s *script) {
			since := s.means.Since
			s.rings(s.me, "entering-section", "")
			s.until(time.Minute, s.hushed)
			s.only(s.w.now.Sub(since) < 14*time.Second) // it comes straight after 2
			s.rings(s.other, "assisting-rear", "")
			s.answered(s.other)
			s.stands(time.Minute, func(l block.LineState) bool { return l.Shows == block.Occupied && l.Assist })
			s.turnsNot(s.me, block.Blocked)
			s.offersNotThere()
			s.stands(30*time.Minute, func(l block.LineState) bool { return !l.InSection })
			s.only(s.line().Assist)
			s.offers(s.other, s.t)
			s.pause(s.between(3, 6))
			s.ring(s.me, s.t.Code, "")
			s.made()
			s.says(s.other, "engine-arrived")
		}},
	}
}

// mayGo picks a train that has line clear by the line picked and waits.
func (m *moment) mayGo() bool { return m.accepted() && m.theirTrain() }

// following picks a train that waits here while one just gone is in the section, and runs no faster than that.
func (m *moment) following() bool {
	if m.l.Standing != "LINE" || !m.quiet() || len(m.i.Offers) > 0 || !m.inside() {
		return false
	}
	before := m.t
	if !m.next() || !m.here() {
		return false
	}
	k, j := m.callOf(m.t), m.callOf(before)
	return m.t.Calls[k+1].Run >= before.Calls[j+1].Run
}

// goesUnseen has a box not notice that its train has gone.
func (s *script) goesUnseen(box block.BoxID) {
	s.overlook(box, func(v *block.View) {
		for n := range v.Shelf {
			for k := range v.Shelf[n].Lines {
				if l := &v.Shelf[n].Lines[k]; l.Section == s.l.Section {
					l.Going = false
				}
			}
		}
	})
}

// two rings 2 for a train that has been sent.
func (s *script) two() {
	s.pause(s.between(2, 4))
	s.rings(s.me, "entering-section", "")
	s.answered(s.me)
}

// offersNotThere has the other box offer nothing by the line.
func (s *script) offersNotThere() {
	sec := s.l.Section
	s.omit(s.other, func(a *block.Advice) bool { return a.Section == sec && a.Pressing() == 3 })
}
