package review

import (
	"time"

	"taillamp/block"
)

// Limits of the rules about blocking back and shunting.
const (
	stoodLimit  = 60 * time.Second // R49
	forgetLimit = 5 * time.Minute  // R52, R56
)

// foul is something that begins or ceases to stand on the line.
func (v *reviewer) foul(e block.Event) {
	v.kinds.fouls = true
	l := v.lines[e.Section]
	switch {
	case l == nil || l.atOnce:
		return
	case l.tokens != nil:
		l.tokens.foul(v, e)
		return
	}
	if e.Off {
		v.forgotten(l)
		l.fouled = obstruction{at: v.now, seq: v.seq}
		return
	}
	l.fouled = obstruction{at: v.now, seq: v.seq, place: e.Where}
	l.anyFoul = true
	if e.Where == block.Inside {
		v.stoodInside(l)
		v.standsUnreminded(l)
	}
}

// standsUnreminded is R22 for something that stands within the clearing point, announced or not.
func (v *reviewer) standsUnreminded(l *line) {
	f := l.fouled
	v.after(f.at, collarLimit, func() {
		if l.fouled == f && !v.reminded(l, l.Advance, f.at) {
			v.add("R22", l.Advance, f.at, l, f.seq)
		}
	})
}

// stoodInside is R49: something stood within the clearing point for a minute and 2-4 had not been answered. It is
// dated when the minute was over.
func (v *reviewer) stoodInside(l *line) {
	f := l.fouled
	v.after(f.at, stoodLimit, func() {
		s := v.stands(l)
		if l.fouled != f || s.InsideTold || s.OutTold || s.InSection || s.Shows == block.Occupied {
			return
		}
		v.add("R49", l.Advance, f.at.Add(stoodLimit), l, f.seq)
	})
}

// forgotten is R52, told: the thing has gone and the line is still blocked back. It is dated when the thing went.
func (v *reviewer) forgotten(l *line) {
	if !l.blocked.is() {
		return
	}
	gone, seq, b := v.now, v.seq, l.blocked
	v.after(gone, forgetLimit, func() {
		if l.blocked.at.Equal(b.at) && l.fouled.place == "" && v.r.Works(v.state, l.pair.ID) {
			v.addAs("R52", block.Tell, l.Advance, gone, l, "", b.seq, seq)
		}
	})
}

// blocksBack is 2-4 or 3-3 answered. A second of the same kind on top, where nothing was marked, says that the first was
// never taken off.
func (v *reviewer) blocksBack(l *line, own, sig signal) {
	own.key, own.beats = sig.key, sig.beats
	if l.blocked.is() && l.blocked.key == own.key && !l.anyFoul {
		v.addAs("R52", block.Tell, l.Advance, own.at, l, "", l.blocked.seq, own.seq)
	}
	if !l.blocked.is() {
		l.anyFoul = l.fouled.place != ""
	}
	l.blocked = own
	v.blockedNeedleWrong(l, own, sig)
	v.freeNow(l)
}

// blockedNeedleWrong is R53: the line is blocked back or shunted into and the needle does not show it.
func (v *reviewer) blockedNeedleWrong(l *line, own, sig signal) {
	v.after(sig.at, v.settle(), func() {
		s := v.stands(l)
		if (s.Inside || s.Outside || s.Forward) && s.Shows != block.Occupied && !s.Accepted && !s.InSection && !s.NeedleDead {
			v.add("R53", l.Advance, own.at, l, own.seq)
		}
	})
}

// returned is a train back behind A's section signal. R56, told, if a shunt's withdrawal is forgotten.
func (v *reviewer) returned(l *line, t *train, e block.Event) {
	if e.Off {
		return
	}
	t.outKnow = true
	if !t.shunt {
		return
	}
	back, seq := v.now, v.seq
	v.after(back, forgetLimit, func() {
		if s := v.stands(l); s.Forward && !since(l.gaveAway, back) {
			v.addAs("R56", block.Tell, l.Rear, back, l, t.id, seq)
		}
	})
}
