package review

import (
	"time"

	"taillamp/block"
)

// goods is what the reviewer keeps of a permissive line beside what it keeps of any: how many trains the bells have put
// in and taken out.
type goods struct {
	in    int
	wrong bool      // the indicator has been found not to agree, and does not yet
	moved time.Time // when needle or bells last changed the number
}

// own is a signal that a box rings of its own accord on a permissive line.
func (k *goods) own(v *reviewer, l *line, s *block.Signal, sig signal) {
	switch s.Did {
	case block.Offered:
		v.offers(l, sig)
	case block.Entering:
		v.rings2(l, sig)
	case block.OutOf:
		v.givesOut(l, sig)
	case block.Cancelled:
		v.cancels(l, sig)
	case block.Across:
		v.ringsAcross(l.pair, l, sig)
	}
}

// answered is the repetition, sig, of the signal own on a permissive line.
func (k *goods) answered(v *reviewer, l *line, s *block.Signal, own, sig signal) {
	switch s.Did {
	case block.Accepted:
		if s.Key == "line-occupied" {
			own.beats = l.offered.beats
		}
		v.accepts(l, sig, own, false)
	case block.Entering:
		l.entered2 = sig.at
		k.in++
		k.countWrong(v, l, own, sig)
	case block.OutOf:
		v.isOut(l, own, sig)
		k.in = max(0, k.in-1)
		k.countWrong(v, l, own, sig)
	case block.Cancelled:
		l.gaveAway, l.offered, l.accepted, l.taken = sig.at, signal{}, signal{}, false
	case block.Across:
		v.answersAcross(l.pair, l, own, sig)
	}
}

// turned is the handle of a permissive line turned.
func (k *goods) turned(v *reviewer, l *line, t turning) {
	sig := signal{at: t.at, seq: t.seq}
	k.countWrong(v, l, sig, sig)
}

// countWrong is PM-06: the settling time after an act the indicator counts other trains than the bells have put in. It
// is dated at the act.
func (k *goods) countWrong(v *reviewer, l *line, act, sig signal) {
	k.moved = sig.at
	v.after(sig.at, v.settle(), func() {
		if k.moved.After(sig.at) {
			return // a later act is still settling, and is judged by itself
		}
		s := v.stands(l)
		wrong := s.Count != k.in && !s.NeedleDead && !v.testing(l.pair, sig.at)
		if wrong && !k.wrong {
			v.add("PM-06", l.Advance, act.at, l, act.seq)
		}
		k.wrong = wrong
	})
}

// driverNotTold is PM-04: a train was sent in behind another, and had not been brought to a stand and its driver told.
// Where the sitting marks neither it is silent.
func (k *goods) driverNotTold(v *reviewer, l *line, t *train) {
	behind := false
	for _, u := range l.trains {
		behind = behind || u != t && !u.outKnow
	}
	if !behind && k.in == 0 || !v.kinds.cautions {
		return
	}
	if halted := v.boxes[l.Rear].halted[t.id]; t.warned && !halted.IsZero() && t.left.at.Sub(halted) < longHalt {
		return
	}
	v.addAs("PM-04", "", l.Rear, t.left.at, l, t.id, t.left.seq)
}

// longHalt is how long ago a train may have been stopped for it still to count for its going now. Common practice, no
// source.
const longHalt = 60 * time.Minute
