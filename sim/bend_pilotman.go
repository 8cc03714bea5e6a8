package sim

import (
	"time"

	"taillamp/block"
)

// pilotmanMistakes break the rules about a pilotman and about lines given up to the engineers.
func pilotmanMistakes() []mistake {
	return []mistake{
		{"OC-08", func(m *moment) bool { return m.anyLine(false, m.mayGo) }, func(s *script) { // one end has no form
			s.piloted(s.me)
		}},
		{"OC-09", func(m *moment) bool { return m.anyLine(false, m.mayGo) }, func(s *script) { // sends it without him
			s.piloted(s.me, s.other)
		}},
		{"OC-10", func(m *moment) bool { return m.anyLine(true, m.idle) }, func(s *script) { // gives a line up and puts no reminder on
			s.fault = s.me
			e := block.Event{Do: block.Engineers, By: s.me, Section: s.l.Section, Words: "form 3"}
			s.does(e)
			s.pause(2*time.Minute + s.between(2, 9))
			s.made()
			e.Off, e.Words = true, "line clear"
			s.mends(e)
		}},
	}
}

// piloted has a train that is accepted go while a pilotman's forms are at those boxes only.
func (s *script) piloted(boxes ...block.BoxID) {
	form := func(box block.BoxID, off bool) block.Event {
		return block.Event{Do: block.Pilot, By: box, Section: s.l.Section, Where: block.Form, Off: off}
	}
	for _, b := range boxes {
		s.does(form(b, false))
	}
	s.sends(s.t)
	s.made()
	for _, b := range boxes {
		s.mends(form(b, true))
	}
}
