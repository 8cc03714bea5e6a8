package sim

import (
	"slices"
	"time"

	"taillamp/block"
)

// Orders that befall no train: token instruments that fail, fog, and what is put in for a person to notice (G10).

// tokenFails has the token instruments of the box give no release for a while.
func (w *world) tokenFails(x *wanted) bool {
	for _, c := range w.circuits {
		if !block.WithTokens(c.Method) || !slices.Contains(c.Boxes[:], x.At) || !w.r.Works(w.state, c.ID) {
			continue
		}
		on := c.Sections[0].ID
		if l, ok := w.r.Line(w.state, on); !ok || l.NeedleDead || l.Token.Out || l.Standing != "IDLE" {
			continue // a token that is out goes in first
		}
		if k := w.befalls(x, on, ""); k != nil {
			w.record(block.Event{Do: block.Fault, Circuit: c.ID, Section: on, Where: block.AtNeedle})
			w.mendsInTime(k)
		}
		return true
	}
	return false
}

// mendsInTime has the lineman mend what has failed, if nobody has before.
func (w *world) mendsInTime(c *course) {
	w.onLine(c.since.Add(w.span(c.lasts())), func() {
		sec, _ := w.r.Section(c.section)
		if l, ok := w.r.Line(w.state, c.section); ok && l.NeedleDead {
			w.record(block.Event{Do: block.Fault, Circuit: sec.Circuit, Section: c.section, Where: block.AtNeedle, Off: true})
		}
		w.isOver(c)
	})
}

// fogFalls is fog everywhere, with no fogsignalmen for a while: the signallers book it, and where the layout's fogRule asks
// for it they accept nothing that is not clear through the next section too (reference: absolute block, section 4.5, from
// memory).
func (w *world) fogFalls(x *wanted) bool {
	c := w.befalls(x, "", "")
	if c == nil {
		return true
	}
	w.book("fog has come down")
	w.fogsignalmen(c)
	return true
}

// fogsignalmen are out in time, and that is booked.
func (w *world) fogsignalmen(c *course) {
	w.onLine(c.since.Add(w.span(c.lasts())), func() {
		w.book("fogsignalmen are out")
		w.isOver(c)
		w.wakeAll()
	})
}

// book has every signaller of the company write words across his page.
func (w *world) book(words string) {
	for _, p := range w.people {
		if v := w.r.View(w.state, p.Box); !p.absent && v.OnDuty && v.Open {
			w.record(block.Event{Do: block.Remark, By: p.Box, Words: words})
		}
	}
}

// fogbound are the lines from which a box takes no train because they are not clear through the section beyond.
func (w *world) fogbound(p *person) []block.SectionID {
	if w.r.Layout().Settings.FogRule != "double" || !slices.ContainsFunc(w.courses, func(c *course) bool { return c.Does == block.FogFalls }) {
		return nil
	}
	var bound []block.SectionID
	for _, id := range p.toMe {
		if in, ok := w.r.Section(id); ok && in.Advance == p.Box && in.Method == "absolute" && !w.clearBeyond(in) {
			bound = append(bound, id)
		}
	}
	return bound
}

// clearBeyond tells whether the line by which trains of one go on is clear.
func (w *world) clearBeyond(in block.Section) bool {
	for _, c := range w.circuits {
		for _, on := range c.Sections {
			if on.Rear != in.Advance || on.Way != in.Way || on.Line != in.Line || !w.r.Works(w.state, c.ID) {
				continue
			}
			if l, ok := w.r.Line(w.state, on.ID); ok && (l.InSection || l.Accepted || l.Outside || l.Inside || l.Forward || l.Danger) {
				return false
			}
		}
	}
	return true
}

// neighbourErrs has a simulated neighbour of the box make a mistake when the moment for it comes: until then it is wanted.
func (w *world) neighbourErrs(x *wanted) bool {
	p := w.of[x.At]
	if p == nil || len(w.neighbours(p)) == 0 {
		return false
	}
	b := w.ordered(p, map[block.Place]block.RuleID{block.WrongClass: "R10", block.OutEarly: "R38", block.OutInBlock: "R41"}[x.Does])
	err := *b.err
	comes := err.comes
	err.comes = func(m *moment) bool {
		return slices.Contains(w.wanted, x) && comes(m) && (x.Does != block.OutInBlock || m.blockedBack())
	}
	made := b.Made
	b.err, b.Made = &err, func(by block.BoxID, at time.Time) {
		made(by, at)
		if c := w.befalls(x, "", ""); c != nil {
			w.isOver(c)
		}
	}
	w.bends = append(w.bends, b)
	w.everyBody()
	return true
}

// blockedBack tells whether the box at the other end of the instrument picked blocks back to this one.
func (m *moment) blockedBack() bool {
	for _, l := range m.i.Lines {
		if s, ok := m.w.r.Line(m.w.state, l.Section); ok && !l.ToMe && (s.InsideTold || s.OutTold) {
			return true
		}
	}
	return false
}

// needleStuck has a needle of the box stick for a while.
func (w *world) needleStuck(x *wanted) bool {
	p := w.of[x.At]
	if p == nil {
		return false
	}
	id, ok := w.needleSticks(p)
	if !ok {
		return false
	}
	if c := w.befalls(x, id, ""); c != nil {
		w.mendsInTime(c)
	}
	return true
}
