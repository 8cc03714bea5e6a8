package sim

import (
	"time"

	"taillamp/block"
)

// A movement of the sequence that has no times of its own and goes under a token drawn by 5-2, such as the engineer's
// trolley, goes when the single line has room for it between the booked trains (other-methods reference, 2.2: 5-2 and 2-5;
// TK-ex6). How long it is out is a guess, no source: the demo's is out for 34 minutes.
const (
	trolleyOut  = 34 * time.Minute
	trolleyRoom = trolleyOut + 5*time.Minute
	trolleyLook = 20 * time.Second // how often its man looks whether it may go
)

// planTrolleys has every such movement try from the beginning on.
func (w *world) planTrolleys() {
	for _, t := range w.trains {
		w.planTrolley(t, w.o.Begins)
	}
}

// planTrolley has a train that is such a movement try from a moment on.
func (w *world) planTrolley(t *train, from time.Time) {
	c, ok := w.trolleyOn(t)
	if ok {
		p := w.of[t.From]
		w.at(from.Add(trolleyLook), func() { w.trolley(t, p, c) })
	}
}

// trolleyOn is the line that a train goes on as a trolley; false: it is none.
func (w *world) trolleyOn(t *train) (block.Circuit, bool) {
	if len(t.Calls) > 0 || w.of[t.From] == nil {
		return block.Circuit{}, false
	}
	return w.tokenAt(t.From, t.Code)
}

// before is how many others go before a trolley on its line.
func (w *world) before(t *train, c block.Circuit) (n int) {
	for _, o := range w.trains {
		if o == t {
			break
		}
		if d, ok := w.trolleyOn(o); ok && d.ID == c.ID {
			n++
		}
	}
	return n
}

// tokenAt is the token circuit of a box in whose book a code asks for a token.
func (w *world) tokenAt(box block.BoxID, code block.Beats) (block.Circuit, bool) {
	for _, c := range w.circuits {
		k, ok := c.Book.Key("release-token")
		if block.WithTokens(c.Method) && (c.Boxes[0] == box || c.Boxes[1] == box) && ok && k.Beats.Equal(code) && w.r.Works(w.state, c.ID) {
			return c, true
		}
	}
	return block.Circuit{}, false
}

// trolley takes it out if the line is at rest and no train is booked on it for long enough; else it is looked at again.
// Those that stand before it in the sequence go first; what has been out before the sitting was broken off does not go
// again.
func (w *world) trolley(t *train, p *person, c block.Circuit) {
	n := w.before(t, c)
	v := w.view(p)
	m := moment{w: w, p: p, v: &v}
	if w.asked[c.ID] == n+1 && v.OnDuty && m.at(c.ID, c.Sections[0].ID) && m.token() && m.l.Token.Out && m.l.Token.Asks {
		m.t = t // it was out when the sitting was broken off
		w.play(&Bend{Rule: "trolley", err: &mistake{plays: func(s *script) { s.trolleyOut(trolleyOut / 2) }}}, m)
		return
	}
	if w.asked[c.ID] > n || w.train(t.Train) != t { // or it has been withdrawn
		return
	}
	if w.asked[c.ID] == n && !w.busy(p) && v.OnDuty && w.roomFor(c.Sections[0].ID) && m.at(c.ID, c.Sections[0].ID) && m.l != nil && m.token() && m.rests() {
		m.t = t
		w.play(&Bend{Rule: "trolley", err: &mistake{plays: (*script).trolley}}, m)
		return
	}
	w.at(w.in(trolleyLook), func() { w.trolley(t, p, c) })
}

// roomFor tells whether no train is booked on a line for as long as the trolley needs.
func (w *world) roomFor(id block.SectionID) bool {
	for _, t := range w.trains {
		for k := range t.way {
			if t.way[k].ID != id || t.at > k || t.at == k && t.running {
				continue
			}
			if w.booked(visit{t, k}).Sub(w.now) < trolleyRoom {
				return false
			}
		}
	}
	return true
}

// trolley is its way out and back, worked by a simulated signaller or asked of a person.
func (s *script) trolley() {
	out := func() bool { return s.token(s.me).Out }
	code := s.beats("release-token").String()
	s.asks("The "+s.t.About+" wants the single line. Take a token for it: call attention to "+s.name()+", then "+code+", and draw it on his release.",
		func() { s.says(s.me, "release-token"); s.minds() }, patience, out)
	if s.vain {
		return
	}
	s.trolleyOut(trolleyOut)
}

// trolleyOut is the rest of its time on the line, and its coming back.
func (s *script) trolleyOut(d time.Duration) {
	back := s.beats("token-replaced").String()
	s.tells("The trolley is on the single line under its token. Accept nothing there until it is back.", d)
	home := func() bool { return !s.token(s.me).Out }
	s.asks("The trolley is back and off the line. Put its token in, then call attention to "+s.name()+" and give "+back+".",
		func() {
			s.mends(block.Event{Do: block.Token, By: s.me, Section: s.l.Section, Where: block.Restored})
		}, patience, home)
	s.until(patience, func() bool { return !s.token(s.me).Asks })
}
