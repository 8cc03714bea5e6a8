package sim

import (
	"time"

	"taillamp/block"
)

// outMistakes break the rules about trains out of section.
func outMistakes() []mistake {
	return []mistake{
		{"R38", func(m *moment) bool { return m.anyLine(true, m.onLine) }, func(s *script) { // gives out what it has not seen
			s.calls(s.me)
			s.only(s.stillIn())
			s.rings(s.me, "out-of-section", "")
			s.made()
			s.answered(s.me)
		}},
		{"R39", func(m *moment) bool { return m.anyLine(true, m.standsInside) }, func(s *script) { // too soon, its tail inside
			s.does(block.Event{Do: block.Train, By: s.me, Section: s.l.Section, Where: block.Arrives, Lamp: block.LampSeen, Train: s.t.Train})
			s.calls(s.me)
			s.only(!s.t.clear)
			s.rings(s.me, "out-of-section", "")
			s.made()
			s.answered(s.me)
		}},
		{"R40", func(m *moment) bool {
			return m.saying("call-attention", func() bool { return m.l != nil && m.l.ToMe && m.l.Out && m.i.Method == "absolute" })
		}, func(s *script) {
			s.overlook(s.me, func(v *block.View) {
				for n := range v.Shelf {
					for k := range v.Shelf[n].Lines {
						if l := &v.Shelf[n].Lines[k]; l.Section == s.l.Section {
							l.Out = false
						}
					}
				}
			})
			s.pause(s.between(125, 140))
			s.made()
		}},
		{"R41", func(m *moment) bool { return m.anyLine(true, m.idle) }, func(s *script) { // out of section, and nothing was in
			s.calls(s.me)
			s.only(s.line().Standing == "IDLE")
			s.rings(s.me, "out-of-section", "")
			s.made()
			s.answered(s.me)
		}},
		{"R42", func(m *moment) bool {
			return m.turning(block.Blocked, func() bool { return m.l.Standing == "IDLE" && m.l.Shows == block.Occupied })
		}, func(s *script) {
			s.turnsNot(s.me, block.Blocked)
			s.pause(s.between(32, 50))
			s.made()
		}},
		{"R43", func(m *moment) bool { return m.anyLine(true, m.onLine) }, func(s *script) { // gives out what is in doubt
			defer s.foundWhole()
			s.comesWithoutLamp()
			s.calls(s.me)
			s.only(s.line().Doubt)
			s.rings(s.me, "out-of-section", "")
			s.made()
			s.answered(s.me)
			s.minds()
			s.pause(s.between(20, 40))
		}},
	}
}

// standsInside picks a train that has stopped at the box on the line picked, its tail not clear.
func (m *moment) standsInside() bool {
	if m.l.Standing != "LINE" || !m.quiet() || len(m.i.Offers) > 0 {
		return false
	}
	for _, s := range m.l.Trains {
		for _, t := range m.w.trains {
			if t.Train != s.Train || s.Where != block.Heads || t.clear || t.running || t.going || t.at != m.callOf(t) {
				continue
			}
			m.t = t
			return t.at == len(t.Calls)-1 || t.from.Sub(m.w.now) > 40*time.Second
		}
	}
	return false
}

// comesWithoutLamp has the train picked go by without its tail lamp, and the boxes on either side told of it in time.
func (s *script) comesWithoutLamp() {
	s.losesLamp()
	seen := s.w.now
	s.says(s.me, "no-tail-lamp-rear")
	s.ahead(func() {
		s.on = s.t.way[s.t.at].ID
		s.says(s.me, "no-tail-lamp-adv")
		s.warned = append(s.warned, s.back(s.t.way[s.t.at])) // the other box cautions what it sends
	})
	s.only(s.w.now.Sub(seen) < time.Minute)
}

// losesLamp waits until the train picked has gone by without its lamp.
func (s *script) losesLamp() {
	if s.vain {
		return
	}
	s.t.lost = s.t.at + 1
	s.stands(30*time.Minute, func(l block.LineState) bool { return l.Doubt })
}

// outAhead tells whether the train that the box in advance was told of is out of section there.
func (s *script) outAhead() bool {
	l, ok := s.w.r.Line(s.w.state, s.on)
	return !ok || !l.InSection
}

// back is the line that runs the other way beside one.
func (s *script) back(on block.Section) block.SectionID {
	c, _ := s.w.circuit(on.Circuit)
	for _, sec := range c.Sections {
		if sec.ID != on.ID {
			return sec.ID
		}
	}
	return ""
}

// ahead does something on the circuit by which the train picked has gone on, if it has.
func (s *script) ahead(do func()) {
	if !s.t.running || s.vain {
		return
	}
	i, other := s.moment.i, s.other
	for _, on := range s.w.r.View(s.w.state, s.me).Shelf {
		if on.Circuit == s.t.way[s.t.at].Circuit {
			s.moment.i, s.other = &on, on.To
			do()
		}
	}
	s.moment.i, s.other = i, other
}

// foundWhole has the box told that the train picked is complete.
func (s *script) foundWhole() {
	s.t.lost = 0
	for _, in := range s.sees(s.me).Lines {
		for _, o := range in.Trains {
			if in.Section == s.l.Section && o.Train == s.t.Train && o.Where == block.Passes {
				s.mends(block.Event{Do: block.Told, By: s.me, Section: s.l.Section, Train: s.t.Train})
			}
		}
	}
}
