package sim

import (
	"time"

	"taillamp/block"
)

// bellMistakes break the rules about bells.
func bellMistakes() []mistake {
	return []mistake{
		{"R01", (*moment).wordless, func(s *script) { // rings without calling attention
			if s.l.ToMe {
				s.rings(s.me, "out-of-section", "")
			} else {
				s.ring(s.me, s.t.Code, s.t.Train)
			}
			s.made()
		}},
		{"R02", func(m *moment) bool { return m.offering(func() bool { return m.i.Has == m.v.Box }) }, func(s *script) {
			from := s.w.now // has the word, and is called away
			s.busy(s.me)
			s.pause(s.between(122, 130))
			s.only(!s.rangSince(from))
			s.made()
		}},
		{"R03", func(m *moment) bool { return m.answersSoon() && !m.waited() }, func(s *script) { // lets him wait
			since := s.means.Since
			s.omit(s.me, func(*block.Advice) bool { return true })
			s.pause(since.Add(s.between(62, 75)).Sub(s.w.now))
			s.only(!s.w.sighted[s.me].After(since) && !s.w.rang[s.me].After(since))
			s.made()
		}},
		{"R04", func(m *moment) bool { return m.saying("call-attention", m.quiet) }, func(s *script) { // a code of no meaning
			s.silent(s.me)
			s.ring(s.me, block.Beats{7, 7}, "")
			s.made()
			s.pause(s.between(20, 30))
		}},
		{"R05", func(m *moment) bool { return m.accepting(m.fresh) }, func(s *script) { // repeats another code, and turns
			s.acceptsNot(s.me)
			s.ring(s.me, s.otherClass(s.means.Beats), "")
			s.pause(s.between(2, 4))
			s.turns(s.me, block.Clear)
			s.made()
		}},
		{"R06", func(m *moment) bool { return m.answersSoon() && m.means.Key != "call-attention" && !m.waited() }, func(s *script) {
			s.fault = s.other // who rang does not make sure of it, while the other box hears nothing
			circuit, beats, since := s.i.Circuit, s.means.Beats, s.means.Since
			s.omit(s.me, func(a *block.Advice) bool { return a.Circuit == circuit && a.Answers })
			s.omit(s.other, func(a *block.Advice) bool { return a.Circuit == circuit && !a.Answers && a.Beats.Equal(beats) })
			s.pause(since.Add(s.between(92, 100)).Sub(s.w.now))
			s.made()
		}},
		{"R07", func(m *moment) bool { return m.saying("call-attention", m.quiet) }, func(s *script) { // talks on the bell
			s.silent(s.me)
			for range 3 {
				s.ring(s.me, block.Beats{7, 7}, "")
				s.pause(s.between(14, 18))
			}
			s.made()
			s.pause(s.between(20, 30))
		}},
	}
}

// wordless tells whether he means to call attention for a signal, and has not been answered for a minute.
func (m *moment) wordless() bool {
	return m.saying("call-attention", func() bool {
		last := m.w.answered[caller{m.i.Circuit, m.v.Box}]
		right := m.l != nil && m.quiet() && len(m.i.Offers) == 0 && m.w.now.Sub(last) > time.Minute+time.Second
		return right && (m.l.ToMe && m.l.Out || !m.l.ToMe && m.l.Standing == "IDLE" && m.next())
	})
}

// answersSoon tells whether he means to answer a call, a 2 or a 2-1.
func (m *moment) answersSoon() bool {
	is := func() bool { return true }
	return m.answering("call-attention", is) || m.answering("entering-section", is) || m.answering("out-of-section", is)
}

// fresh tells whether the offer that he means to answer has just been made, and he has no word of his own.
func (m *moment) fresh() bool {
	return m.w.now.Sub(m.means.Since) < 30*time.Second && m.i.Has != m.v.Box
}

// silent has a box ring nothing at all to its neighbour.
func (s *script) silent(box block.BoxID) {
	c := s.i.Circuit
	s.omit(box, func(a *block.Advice) bool { return a.Circuit == c && a.Do == block.Rung })
}

// rangSince tells whether either box has rung anything on the circuit since a moment.
func (s *script) rangSince(at time.Time) bool {
	i := s.sees(s.me)
	return i.Heard != nil && i.Heard.First.After(at) || i.Sent != nil && i.Sent.First.After(at)
}

// otherClass is the code of some class of train with other beats.
func (s *script) otherClass(b block.Beats) block.Beats {
	if four := (block.Beats{4}); !b.Equal(four) {
		return four
	}
	return block.Beats{3, 1}
}
