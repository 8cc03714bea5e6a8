package sim

import (
	"time"

	"taillamp/block"
)

// emergencyMistakes break the rules about emergencies.
func emergencyMistakes() []mistake {
	return []mistake{
		{"R58", func(m *moment) bool { // offers although obstruction danger is in force
			return m.anyLine(true, func() bool { return m.still() && m.theirs("") })
		}, func(s *script) {
			s.fault = s.other
			s.busy(s.other)
			s.rings(s.me, "obstruction-danger", "")
			s.answered(s.me)
			s.offers(s.other, s.t)
			s.made()
			s.pause(s.between(10, 20))
			s.says(s.me, "obstruction-removed")
		}},
		{"R59", func(m *moment) bool { // lets run what it was asked to stop
			return m.settings().Cautions && m.anyLine(false, func() bool { return m.onLine() && m.t.Calls[m.t.at+1].Pass >= 0 })
		}, func(s *script) {
			s.fault = s.other
			at := s.t.at
			s.says(s.me, "stop-and-examine")
			s.only(s.stillIn())
			s.minds()
			s.until(30*time.Minute, func() bool { return s.t.at > at && (s.t.running || s.t.passing) })
			s.only(!s.t.passing)
			s.made()
		}},
		{"R60", func(m *moment) bool { return m.settings().Cautions && m.anyLine(true, m.onLine) }, func(s *script) {
			defer s.foundWhole() // sends a train past one without a lamp, and tells its driver nothing
			s.comesWithoutLamp()
			s.minds()
			from := s.w.now
			s.until(30*time.Minute, func() bool { return s.sentBack(from) })
			s.made()
			s.foundWhole()
			s.until(30*time.Minute, s.outAhead)
		}},
		{"R61", func(m *moment) bool { return m.anyLine(true, m.onLine) }, func(s *script) { // no lamp, nobody told
			defer s.foundWhole()
			s.losesLamp()
			s.pause(s.between(62, 80))
			s.made()
		}},
		{"R62", func(m *moment) bool { return m.anyLine(false, m.meets) }, func(s *script) { // sends a train past a divided one
			s.holds(s.t, 3*time.Minute)
			s.says(s.other, "divided")
			s.only(s.otherWay().InSection && s.otherWay().Seen > 0)
			s.sends(s.t)
			s.made()
		}},
		{"R63", func(m *moment) bool { // sends a train past one long overdue
			return m.anyLine(false, func() bool { return m.mayGo() && m.t.Calls[m.t.at+1].Run > 0 })
		}, func(s *script) {
			s.fault = s.other
			usual := time.Duration(s.t.Calls[s.t.at+1].Run) * time.Second
			s.t.late = 5 * usual
			s.until(10*time.Minute, s.stillIn)
			s.pause(time.Duration(float64(usual)*s.settings().LongTime) + time.Second)
			from := s.w.now
			s.until(30*time.Minute, func() bool { return s.sentBack(from) || !s.stillIn() })
			s.only(s.stillIn())
			s.made()
		}},
	}
}

// meets picks a train that may go, while another is on the other line between the two boxes.
func (m *moment) meets() bool {
	if !m.mayGo() {
		return false
	}
	mine, t := m.l, m.t
	defer func() { m.l, m.t = mine, t }()
	for k := range m.i.Lines {
		if m.l = &m.i.Lines[k]; m.l.ToMe && m.l.Standing == "LINE" && m.inside() && !m.t.clear {
			return true
		}
	}
	return false
}

// otherWay is the other line between the two boxes, as it stands.
func (s *script) otherWay() block.LineState {
	for _, l := range s.i.Lines {
		if l.Section != s.l.Section {
			o, _ := s.w.r.Line(s.w.state, l.Section)
			return o
		}
	}
	return block.LineState{}
}

// sentBack tells whether a train has left by the other line since a moment.
func (s *script) sentBack(from time.Time) bool {
	return s.w.left[s.otherWay().Section.ID].After(from)
}
