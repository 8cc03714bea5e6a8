package sim

import (
	"time"

	"taillamp/block"
)

// cancellingMistakes break the rules about cancelling and releases.
func cancellingMistakes() []mistake {
	return []mistake{
		{"R44", func(m *moment) bool { return m.anyLine(false, m.onLine) }, func(s *script) { // cancels what has gone
			s.calls(s.me)
			s.only(s.stillIn())
			s.rings(s.me, "cancelling", "")
			s.answered(s.me)
			s.made()
		}},
		{"R45", func(m *moment) bool { return m.anyLine(false, m.mayGo) }, func(s *script) { // cancels with the signal off
			defer s.releases(s.t)
			s.holds(s.t, 5*time.Minute)
			s.does(block.Event{Do: block.Lever, By: s.me, Section: s.l.Section})
			s.says(s.me, "cancelling")
			s.pause(s.between(5, 15))
			s.made()
			s.mends(block.Event{Do: block.Lever, By: s.me, Section: s.l.Section, Off: true})
		}},
		{"R46", func(m *moment) bool { return m.anyLine(true, m.onLine) }, func(s *script) { // frees the handle by force
			s.does(block.Event{Do: block.Release, By: s.me, Section: s.l.Section})
			s.made()
			s.pause(s.between(10, 20))
			s.does(block.Event{Do: block.Remark, By: s.me, Words: "release used"})
		}},
		{"R47", func(m *moment) bool { return m.anyLine(false, m.mayGo) }, func(s *script) { // leaves line clear standing
			s.fault = s.other
			defer s.releases(s.t)
			s.holds(s.t, 5*time.Minute)
			s.calls(s.me)
			s.turnsNot(s.other, "")
			s.rings(s.me, "cancelling", "")
			s.answered(s.me)
			s.pause(s.between(32, 45))
			s.made()
		}},
		{"R48", func(m *moment) bool { return m.anyLine(false, m.mayGo) }, func(s *script) { // wrongly described, and no more
			s.holds(s.t, 5*time.Minute)
			s.says(s.me, "wrong-description")
			s.pause(s.between(62, 80))
			s.made()
		}},
	}
}
