package sim

import "taillamp/block"

// nearMistakes break the rules about boxes so near each other that a clearing point lies within the next one's limits.
func nearMistakes() []mistake {
	return []mistake{
		{"SS-01", func(m *moment) bool { // accepts before the box ahead has
			return m.anyLine(true, func() bool { return m.offered() && m.p.box.Accepts == "beyond" && m.onward("IDLE", "OFF", "LINE") })
		}, (*script).acceptsAtOnce},
		{"SS-02", func(m *moment) bool { // accepts with the train before still on the way to the box ahead
			return m.anyLine(true, func() bool { return m.offered() && m.p.box.Accepts == "clearing" && m.onward("LINE") && m.reaches() })
		}, (*script).acceptsAtOnce},
	}
}

// offered tells whether a train is offered on the line picked, and nothing more.
func (m *moment) offered() bool {
	return m.l.Standing == "OFF" && m.l.Shows == block.Blocked && m.l.Foul == "" && len(m.l.Trains) == 0 &&
		len(m.i.Offers) == 1 && m.i.Offers[0].By == m.i.To && len(m.i.Waiting) == 0
}

// onward tells whether the line by which trains of the line picked go on stands at one of those.
func (m *moment) onward(standing ...string) bool {
	on, ok := m.lineOn()
	if !ok {
		return false
	}
	for _, s := range standing {
		if on.Standing == s {
			return true
		}
	}
	return false
}

// lineOn is the line by which trains of the line picked go on from this box.
func (m *moment) lineOn() (block.LineState, bool) {
	for n := range m.v.Shelf {
		for k := range m.v.Shelf[n].Lines {
			if l := &m.v.Shelf[n].Lines[k]; !l.ToMe && l.Line == m.l.Line {
				return m.w.r.Line(m.w.state, l.Section)
			}
		}
	}
	return block.LineState{}, false
}

// reaches tells whether the box's clearing point lies beyond the home signal of the box ahead.
func (m *moment) reaches() bool {
	on, _ := m.lineOn()
	far, _ := m.w.r.Box(on.Section.Advance)
	return m.p.box.Clearing-m.p.box.Home > on.Section.Yards-far.Home
}

// acceptsAtOnce repeats the offer, whatever stands against it.
func (s *script) acceptsAtOnce() {
	standing := ""
	if on, ok := s.lineOn(); ok {
		standing = on.Standing
	}
	s.pause(s.between(3, 6))
	on, _ := s.lineOn()
	for _, i := range s.w.r.View(s.w.state, s.me).Shelf {
		s.only(i.Called != s.me && i.Has != s.me) // he is not about to ring something else
	}
	s.only(s.line().Standing == "OFF" && on.Standing == standing)
	s.ring(s.me, s.i.Offers[0].Beats, "")
	s.made()
}
