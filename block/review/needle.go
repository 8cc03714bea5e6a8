package review

import (
	"time"

	"taillamp/block"
)

// nothingLimit is how long a needle may show a train on line for nothing (R28).
const nothingLimit = 60 * time.Second

// kept is how many moves of a needle are remembered.
const kept = 8

// needle is a needle moved by its handle.
func (v *reviewer) needle(by block.BoxID, s *block.Shown) {
	l := v.lines[s.Section]
	if l == nil {
		return
	}
	from := block.Blocked
	if n := len(l.turned); n > 0 {
		from = l.turned[n-1].to
	}
	t := turning{at: v.now, seq: v.seq, from: from, to: s.Aspect}
	l.turned = append(l.turned, t)
	if len(l.turned) > kept {
		l.turned = l.turned[1:]
	}
	if b := v.boxes[by]; b != nil { // a count goes down of itself when a 2-1 comes to its end
		b.rang = v.now
	}
	v.freeNow(l)
	if l.pair.broke.is() {
		l.pair.used = true
		return // the needle speaks for the bell, and was judged as the bell
	}
	before := v.stands(l)
	if before.NeedleDead || v.testing(l.pair, v.now) {
		return
	}
	if l.goods != nil {
		l.goods.turned(v, l, t)
		return
	}
	v.judgeTurn(l, t, before)
}

// judgeTurn watches a turn that needle and bell must agree upon.
func (v *reviewer) judgeTurn(l *line, t turning, s block.LineState) {
	switch {
	case t.to == block.Clear && s.InSection && !s.Doubt:
		v.occupiedWithdrawn(l, t)
	case t.to == block.Clear && !s.Accepted && !s.InSection && !v.warnedOnly(s):
		v.needleClearedAlone(l, t)
	case t.to == block.Blocked && t.from == block.Clear && (s.Accepted || s.InSection && !since(l.entered2, l.accepted.at)):
		v.lineClearTakenAway(l, t)
	case t.to == block.Blocked && t.from == block.Occupied && s.InSection && !s.Doubt:
		v.occupiedWithdrawn(l, t)
	case t.to == block.Blocked && t.from == block.Occupied && (s.Inside || s.Outside || s.Forward):
		v.blockedNeedleOff(l, t)
	case t.to == block.Occupied && t.from == block.Clear && s.Accepted:
		v.clearToOccupied(l, t)
	case t.to == block.Occupied && !s.Accepted && !s.InSection:
		v.occupiedForNothing(l, t)
	}
}

// warnedOnly tells whether line clear was shown before the warning was repeated, which its own rule has found.
func (v *reviewer) warnedOnly(s block.LineState) bool { return s.Standing[:3] == "OFW" }

// lineClearTakenAway is R25: the needle went from clear to blocked and no cancelling was answered near it.
func (v *reviewer) lineClearTakenAway(l *line, t turning) {
	v.after(t.at, v.settle(), func() {
		if v.near(l.gaveAway, t.at) || v.near(l.pair.danger, t.at) || v.near(l.given, t.at) {
			return
		}
		v.add("R25", l.Advance, t.at, l, t.seq)
	})
}

// clearToOccupied is R25 to the safe side: train on line was shown and no 2 came near it.
func (v *reviewer) clearToOccupied(l *line, t turning) {
	v.after(t.at, v.settle(), func() {
		if v.near(l.entered, t.at) || v.near(l.pair.danger, t.at) {
			return
		}
		v.addAs("R25", block.Irregular, l.Advance, t.at, l, "", t.seq)
	})
}

// occupiedWithdrawn is R27: the needle was taken off train on line, and neither 2-1 nor 3-5 belongs to it.
func (v *reviewer) occupiedWithdrawn(l *line, t turning) {
	early := l.given // the 2-1 already rung; one that comes later excuses line blocked only
	v.after(t.at, v.settle(), func() {
		if t.to == block.Clear && v.near(early, t.at) {
			return
		}
		if t.to == block.Blocked && (v.near(l.given, t.at) || v.near(l.gaveAway, t.at)) {
			return
		}
		v.add("R27", l.Advance, t.at, l, t.seq)
	})
}

// blockedNeedleOff is R53 for a needle taken off while the line is still blocked back or a shunt ahead.
func (v *reviewer) blockedNeedleOff(l *line, t turning) {
	v.after(t.at, v.settle(), func() {
		s := v.stands(l)
		if (s.Inside || s.Outside || s.Forward) && s.Shows != block.Occupied && !s.Accepted && !s.InSection {
			v.add("R53", l.Advance, t.at, l, t.seq)
		}
	})
}

// occupiedForNothing is R28: train on line shown for a minute with nothing there.
func (v *reviewer) occupiedForNothing(l *line, t turning) {
	v.nothingSince(l, t, t.at)
}

// nothingSince looks a minute after a moment whether train on line is still shown for nothing.
func (v *reviewer) nothingSince(l *line, t turning, from time.Time) {
	v.after(from, nothingLimit, func() {
		s := v.stands(l)
		if l.eased.After(from) { // it was for something, till then
			v.nothingSince(l, t, l.eased)
			return
		}
		busy := s.Accepted || s.InSection || s.Inside || s.Outside || s.Forward || s.Danger || s.Assist || s.Engineers || s.Pilotman || s.Seen > 0
		last := l.turned[len(l.turned)-1]
		if busy || !v.r.Works(v.state, l.pair.ID) || !last.at.Equal(t.at) || since(v.boxes[l.Advance].wrote, t.at.Add(-nothingLimit)) {
			return
		}
		v.add("R28", l.Advance, t.at, l, t.seq)
	})
}

// eases notes the end of something that was in force between two boxes, and kept needles at train on line.
func (v *reviewer) eases(s *block.Signal) {
	if s.Sense != block.Answer {
		return
	}
	if s.Did == block.Removed || s.Did == block.OutOf || s.Did == block.Cancelled || s.Key == "shunt-withdrawn" {
		for _, l := range v.pairs[s.Circuit].lines { // six beats bind both lines
			l.eased = v.now
		}
	}
}

// entering is the answer to 2: R26 if the needle does not follow.
func (v *reviewer) entering(l *line, sig signal) {
	l.entered2 = sig.at
	v.after(sig.at, v.settle(), func() {
		s := v.stands(l)
		if !s.InSection || s.Shows == block.Occupied || s.NeedleDead || v.turnedTo(l, block.Occupied, l.entered) {
			return
		}
		v.add("R26", l.Advance, sig.at, l, sig.seq)
	})
}

// turnedTo tells whether the needle was turned to an aspect since a moment.
func (v *reviewer) turnedTo(l *line, a block.Aspect, since time.Time) bool {
	for _, t := range l.turned {
		if t.to == a && !t.at.Before(since) {
			return true
		}
	}
	return false
}
