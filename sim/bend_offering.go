package sim

import (
	"time"

	"taillamp/block"
)

// offeringMistakes break the rules about offering.
func offeringMistakes() []mistake {
	return []mistake{
		{"R08", func(m *moment) bool { // offers before the train before is out
			return m.anyLine(false, func() bool { return m.l.Standing == "LINE" && m.quiet() && len(m.i.Offers) == 0 && m.soon("") })
		}, func(s *script) {
			s.calls(s.me)
			s.only(s.line().InSection)
			s.ring(s.me, s.t.Code, s.t.Train)
			s.made()
		}},
		{"R09", func(m *moment) bool { // offers into blocking back
			return m.anyLine(true, func() bool { return m.idle() && !m.mayWarn() && m.theirs("") })
		}, func(s *script) {
			s.fault = s.other
			s.says(s.me, "block-back-inside")
			s.offers(s.other, s.t)
			s.made()
			s.pause(s.between(8, 15))
			s.says(s.me, "obstruction-removed")
		}},
		{"R10", func(m *moment) bool { return m.offering(func() bool { return m.i.Has == m.v.Box }) }, func(s *script) {
			s.ring(s.me, s.otherClass(s.t.Code), s.t.Train)
			s.made()
		}},
		{"R11", func(m *moment) bool { return m.calling(m.stopsNot) }, func(s *script) { // lets it stand at the home signal
			s.offersNot(s.me)
			s.until(12*time.Minute, func() bool { return s.t.passing })
			s.pause(s.between(110, 130))
			s.made()
		}},
		{"R12", func(m *moment) bool { return m.calling(func() bool { return m.stopsNot() && m.t.MaxMPH <= 30 }) }, func(s *script) {
			s.offersNot(s.me)
			s.pause(s.between(175, 190)) // talk of other matters aside, two minutes are left
			s.only(!s.t.passing)
			s.made()
		}},
	}
}

// soon picks the next train but one to go by the line picked: one that is here or comes.
func (m *moment) soon(but block.TrainID) bool {
	return m.nextBut(but) && m.rank(m.t, m.callOf(m.t)) < 2
}

// theirs picks the same of the box at the other end.
func (m *moment) theirs(but block.TrainID) bool {
	o := moment{w: m.w, p: m.w.of[m.i.To], v: &block.View{Box: m.i.To}, l: m.l}
	ok := o.soon(but)
	m.t = o.t
	return ok
}

// mayWarn tells whether this box may accept goods trains under regulation 5 from the other end.
func (m *moment) mayWarn() bool { return m.p.box.Warning(m.i.To, block.Code{Freight: true}) }

// offersNot has a box offer no train by the line.
func (s *script) offersNot(box block.BoxID) {
	sec := s.l.Section
	s.omit(box, func(a *block.Advice) bool { return a.Section == sec && a.Pressing() == 3 && !s.l.ToMe })
}
