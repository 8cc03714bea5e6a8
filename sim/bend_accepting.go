package sim

import (
	"strings"
	"time"

	"taillamp/block"
)

// acceptingMistakes break the rules about accepting.
func acceptingMistakes() []mistake {
	return []mistake{
		{"R13", func(m *moment) bool { // takes a second train, which ought not to be offered either
			return m.anyLine(true, func() bool { return m.l.Standing == "LINE" && m.quiet() && len(m.i.Offers) == 0 && m.theirs("") })
		}, func(s *script) {
			s.offers(s.other, s.t)
			s.pause(s.between(3, 6))
			s.only(s.line().InSection)
			s.ring(s.me, s.t.Code, "")
			s.made()
		}},
		{"R14", func(m *moment) bool { return m.accepting(always) }, func(s *script) { // accepts with something in the way
			defer s.frees(s.me)
			s.fouls(s.me, block.Moving)
			s.ring(s.me, s.means.Beats, "")
			s.made()
			s.pause(s.between(20, 40))
		}},
		{"R15", func(m *moment) bool { return m.accepting(func() bool { return m.i.Has == "" }) }, func(s *script) {
			offer := s.means.Beats // blocks back, and accepts all the same
			s.acceptsNot(s.me)
			s.says(s.me, "block-back-inside")
			s.ring(s.me, offer, "")
			s.made()
			s.pause(s.between(8, 15))
			s.says(s.me, "obstruction-removed")
		}},
		{"R16", func(m *moment) bool { // accepts a second train on one line clear
			return m.anyLine(true, func() bool { return m.accepted() && m.theirs(m.l.Train) })
		}, func(s *script) {
			s.offers(s.other, s.t)
			s.pause(s.between(3, 6))
			s.only(s.line().Accepted)
			s.ring(s.me, s.t.Code, "")
			s.made()
		}},
		{"R17", func(m *moment) bool { return m.turning(block.Clear, func() bool { return m.l.Standing == "ACC" }) }, func(s *script) {
			s.turnsNot(s.me, block.Clear)
			s.pause(s.between(32, 50))
			s.made()
		}},
		{"R18", func(m *moment) bool { return m.anyLine(true, m.idle) }, func(s *script) { // line clear for nobody
			s.turnsNot(s.me, "")
			s.acceptsNot(s.me)
			s.turns(s.me, block.Clear)
			s.pause(s.between(32, 45))
			s.only(!s.line().Accepted)
			s.made()
		}},
		{"R19", func(m *moment) bool { return m.accepting(func() bool { return !m.mayWarn() }) }, func(s *script) {
			s.warns()
			s.made()
			s.stands(2*time.Minute, func(l block.LineState) bool { return l.Warning })
		}},
		{"R20", func(m *moment) bool { return m.accepting(m.mayWarn) }, func(s *script) { // turns before it is repeated
			s.warns()
			s.pause(time.Second)
			s.turns(s.me, block.Clear)
			s.made()
			s.stands(2*time.Minute, func(l block.LineState) bool { return l.Warning })
		}},
		{"R21", func(m *moment) bool { return m.settings().Cautions && m.accepting(m.mayWarn) }, func(s *script) {
			s.fault = s.other // sends the train on without a word to its driver
			s.warns()
			s.stands(2*time.Minute, func(l block.LineState) bool { return l.Warning })
			s.minds()
			s.stands(30*time.Minute, func(l block.LineState) bool { return l.Seen > 0 })
			s.made()
		}},
		{"R22", func(m *moment) bool { return m.settings().Collars && m.accepting(m.mayWarn) }, func(s *script) {
			s.fault = s.other // puts no reminder on
			s.warns()
			s.stands(2*time.Minute, func(l block.LineState) bool { return l.Warning })
			s.minds()
			s.pause(s.between(62, 70))
			s.made()
		}},
		{"R23", func(m *moment) bool { return m.mayWarn0() }, func(s *script) { // warns of what is long gone
			s.fouls(s.me, block.Moving)
			s.pause(s.between(10, 20))
			s.frees(s.me)
			s.acceptsNot(s.me)
			s.pause(s.between(65, 70))
			s.stands(30*time.Minute, func(l block.LineState) bool { return l.Offered })
			s.pause(s.between(3, 6))
			s.warns()
			s.made()
			s.stands(2*time.Minute, func(l block.LineState) bool { return l.Warning })
		}},
		{"R24", func(m *moment) bool { return m.anyLine(true, m.loadComes) }, func(s *script) { // lets two great loads meet
			s.pause(s.between(3, 6))
			s.only(s.line().Standing == "OFF")
			s.ring(s.me, s.i.Offers[0].Beats, "")
			s.made()
		}},
	}
}

func always() bool { return true }

// accepted tells whether a train is accepted on the line picked, and nothing more has come of it.
func (m *moment) accepted() bool {
	return m.l.Standing == "ACC" && m.l.Shows == block.Clear && m.quiet() && len(m.i.Offers) == 0
}

// mayWarn0 picks a line toward the box by which it may accept under regulation 5, with nothing on it.
func (m *moment) mayWarn0() bool {
	return m.anyLine(true, func() bool { return m.idle() && m.mayWarn() })
}

// loadComes tells whether an exceptional load is offered while another has been accepted on the other line.
func (m *moment) loadComes() bool {
	if m.l.Standing != "OFF" || m.l.Shows != block.Blocked || len(m.i.Offers) != 1 || m.i.Offers[0].By != m.i.To {
		return false
	}
	for k := range m.i.Lines {
		if l := &m.i.Lines[k]; !l.ToMe && l.Standing != "IDLE" && l.Standing != "OFF" && strings.HasPrefix(string(l.Key), "load-") {
			return strings.HasPrefix(string(m.i.Offers[0].Key), "load-")
		}
	}
	return false
}

// warns has the box answer an offer with 3-5-5.
func (s *script) warns() {
	s.acceptsNot(s.me)
	s.rings(s.me, "warning", "")
}
