package sim

import (
	"time"

	"taillamp/block"
)

// tokenMistakes break the rules of electric token working.
func tokenMistakes() []mistake {
	return []mistake{
		{"TK-01", func(m *moment) bool { // sends it without the token
			return m.single(func() bool { return m.rests() && m.next() && m.here() })
		}, func(s *script) {
			s.busy(s.me)
			s.sends(s.t)
			s.made()
		}},
		{"TK-02", func(m *moment) bool { // offers another train while one has the token
			return m.single(func() bool { return m.mineIn() && m.next() && m.here() && m.t.from.Sub(m.w.now) < 4*time.Minute })
		}, func(s *script) {
			s.calls(s.me)
			s.only(s.stillIn1())
			s.ring(s.me, s.t.Code, s.t.Train)
			s.made()
		}},
		{"TK-03", func(m *moment) bool { return m.single(m.rests) }, func(s *script) { // releases what nobody asked for
			s.busy(s.me)
			s.busy(s.other)
			s.keeps(s.me, true)
			s.made()
			s.pause(s.between(3, 6))
			s.keeps(s.me, false)
		}},
		{"TK-04", func(m *moment) bool { return m.single(m.wrongToken) }, func(s *script) { // hands back the token of the section behind
			s.omit(s.me, func(a *block.Advice) bool { return a.Do == block.Token && a.Where == block.Restored })
			s.does(block.Event{Do: block.Token, By: s.me, Section: s.l.Section, Where: block.Handed, Train: s.t.Train})
			s.sends(s.t)
			s.made()
			s.pause(s.between(5, 9)) // it is thrown back to the signalman as soon as it is read
			s.mends(block.Event{Do: block.Token, By: s.me, Section: s.l.Section, Where: block.GivenUp, Train: s.t.Train})
		}},
		{"TK-05", func(m *moment) bool { return m.single(m.rests) }, func(s *script) { // shunts outside without token or 3-3
			defer s.frees(s.me)
			s.fouls(s.me, block.Outside)
			s.made()
			s.pause(s.between(20, 50))
		}},
		{"TK-06", func(m *moment) bool { return m.single(m.rests) }, func(s *script) { // clears his signal with no token out
			s.does(block.Event{Do: block.Lever, By: s.me, Section: s.l.Section})
			s.made()
			s.pause(s.between(5, 10))
			s.mends(block.Event{Do: block.Lever, By: s.me, Section: s.l.Section, Off: true})
		}},
		{"TK-07", func(m *moment) bool { // forgets 2 for more than two minutes
			return m.means != nil && m.means.Key == "entering-section" && !m.means.Answers && m.at(m.means.Circuit, m.means.Section) && m.token() && m.inside()
		}, func(s *script) {
			s.goesUnseen(s.me)
			s.pause(s.between(124, 170))
			s.only(s.stillIn1())
			s.made()
		}},
		{"TK-08", func(m *moment) bool { // 2-1 with the token still in his hand
			return m.means != nil && m.means.Do == block.Token && m.means.Where == block.Restored && m.of(m.means.Section) && m.token()
		}, func(s *script) {
			s.omit(s.me, func(a *block.Advice) bool { return a.Do == block.Token })
			s.says(s.me, "out-of-section")
			s.made()
		}},
		{"TK-09", func(m *moment) bool { // puts a token in with the train still on the line
			return m.single(func() bool { return !m.l.Token.Mine && m.l.Standing == "LINE+token" && m.quiet() && m.inside() })
		}, func(s *script) {
			s.does(block.Event{Do: block.Token, By: s.me, Section: s.l.Section, Where: block.Restored})
			s.made()
		}},
		{"TK-10", func(m *moment) bool { // a token drawn for shunting takes a train through
			return m.single(func() bool { return m.rests() && m.next() && m.here() })
		}, func(s *script) {
			s.omit(s.other, func(a *block.Advice) bool { return !a.Answers && a.Do == block.Rung && a.Circuit == s.i.Circuit })
			s.says(s.me, "release-token")
			s.until(time.Minute, func() bool { return s.token(s.me).Release || s.token(s.me).Out })
			if s.vain {
				return
			}
			if !s.token(s.me).Out {
				s.does(block.Event{Do: block.Token, By: s.me, Section: s.l.Section, Where: block.Drawn})
			}
			s.pause(s.between(5, 10))
			s.sends(s.t)
			s.until(40*time.Minute, func() bool { return !s.stillIn1() })
			s.pause(2 * time.Minute)
			s.made()
		}},
		{"TK-11", func(m *moment) bool { // cancels with the token out
			return m.single(func() bool {
				return m.l.Token.Mine && m.l.Token.Hand == "box" && m.l.Standing == "ACC+token" && m.theirTrain()
			})
		}, func(s *script) {
			s.holds(s.t, 10*time.Minute)
			s.pause(s.between(20, 30)) // one beat sooner would say that the token is out
			s.says(s.me, "cancelling")
			s.made()
			s.pause(s.between(10, 20))
			s.does(block.Event{Do: block.Token, By: s.me, Section: s.l.Section, Where: block.Restored})
			s.releases(s.t)
		}},
		{"TK-12", func(m *moment) bool { // writes down other numbers than came
			return m.single(func() bool { return m.rests() && m.l.Token.Here > 2 })
		}, func(s *script) {
			s.busy(s.me)
			s.busy(s.other)
			e := block.Event{Do: block.Token, By: s.me, Section: s.l.Section, Where: block.Taken, Words: "3 5"}
			s.does(e)
			s.pause(s.between(60, 120))
			s.fault = s.other
			e.By, e.Where, e.Words = s.other, block.Put, "3 6"
			s.made()
			s.mends(e)
		}},
	}
}

// single tries the lines worked by token until one is right.
func (m *moment) single(ok func() bool) bool {
	for n := range m.v.Shelf {
		m.i = &m.v.Shelf[n]
		for k := range m.i.Lines {
			m.l = &m.i.Lines[k]
			if m.token() && ok() {
				return true
			}
		}
	}
	return false
}

// token tells whether the line picked is worked by token.
func (m *moment) token() bool { return m.l != nil && m.l.Token != nil }

// rests tells whether nothing is being said and nothing is signalled on the token line picked.
func (m *moment) rests() bool {
	return m.l.Standing == "IDLE" && !m.l.Token.Out && len(m.l.Trains) == 0 && m.quiet() && len(m.i.Offers) == 0
}

// mineIn tells whether a train of this box is in the section by the bells and nothing is being said.
func (m *moment) mineIn() bool {
	return m.l.Token.Mine && m.l.Standing == "LINE+token" && m.quiet() && len(m.i.Offers) == 0
}

// wrongToken tells whether this box has the token of the line picked in its hand, from a train that has come, and another
// train waits to go on by another token line that is free: it picks that train.
func (m *moment) wrongToken() bool {
	if m.l.Token.Hand != "box" || m.l.Token.Mine {
		return false
	}
	behind, i := m.l, m.i
	defer func() { m.l, m.i = behind, i }()
	for n := range m.v.Shelf {
		for k := range m.v.Shelf[n].Lines {
			m.i, m.l = &m.v.Shelf[n], &m.v.Shelf[n].Lines[k]
			if m.l.Section != behind.Section && m.token() && m.rests() && m.next() && m.here() {
				return true
			}
		}
	}
	return false
}

// token is the token instrument as a box has it now.
func (s *script) token(box block.BoxID) block.TokenView {
	for _, l := range s.sees(box).Lines {
		if l.Section == s.l.Section && l.Token != nil {
			return *l.Token
		}
	}
	return block.TokenView{}
}

// stillIn1 tells whether any train is on the single line.
func (s *script) stillIn1() bool {
	m := s.moment // which train it is, is not asked
	return m.inside()
}

// keeps has a box keep its bell key down, or let it go.
func (s *script) keeps(box block.BoxID, down bool) {
	e := block.Event{Do: block.Hold, By: box, Circuit: s.i.Circuit, Off: !down}
	if down {
		s.does(e)
	} else {
		s.mends(e)
	}
}
