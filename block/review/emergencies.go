package review

import (
	"time"

	"taillamp/block"
)

// Limits of the rules about emergencies.
const (
	lampLimit = 60 * time.Second // R61
	backLimit = 15 * time.Second // R58: the signal put back after 6
	sixLimit  = 30 * time.Second // R58: 6 rung after something came to stand on the line
)

// ringsAcross is a signal without a column, rung.
func (v *reviewer) ringsAcross(p *pair, l *line, sig signal) {
	switch sig.key {
	case "obstruction-danger":
		p.danger = sig.at
		v.rungLate(p, sig)
	case "unusually-long":
		for _, x := range p.lines {
			x.asked = sig.at
		}
	case "no-tail-lamp-rear", "no-tail-lamp-adv", "divided":
		v.boxes[sig.by].lamps = append(v.boxes[sig.by].lamps, told{key: sig.key, at: sig.at, pair: p})
	}
}

// rungLate is R58 for six beats that came late: something had stood on the line, not announced, and a train was let in
// before they were rung (worked examples W23 and W46).
func (v *reviewer) rungLate(p *pair, sig signal) {
	for _, l := range p.lines {
		f := l.fouled
		if l.Advance != sig.by || f.place == "" || f.place == block.Moving || l.blocked.is() || sig.at.Sub(f.at) <= sixLimit {
			continue
		}
		for _, t := range l.trains {
			if t.left.at.After(f.at) && t.offer.at.Before(f.at) && !t.outKnow { // accepted after it, the acceptance was the fault
				v.addAs("R58", "", sig.by, sig.at, l, t.id, f.seq, t.left.seq, sig.seq)
			}
		}
	}
}

// told is a signal about a tail lamp, or a division, that a box has rung.
type told struct {
	key  block.CodeKey
	at   time.Time
	pair *pair
}

// answersAcross is the repetition of such a signal.
func (v *reviewer) answersAcross(p *pair, l *line, own, sig signal) {
	own.key = sig.key
	switch sig.key {
	case "obstruction-danger":
		v.notPutBack(p, own, sig)
	case "block-back-inside", "block-back-outside":
		v.blocksBack(l, own, sig)
	case "shunt-forward":
		v.blockedNeedleWrong(l, own, sig)
	case "no-tail-lamp-rear", "no-tail-lamp-adv":
		l.doubt = own
	case "divided", "runaway-right", "runaway-wrong":
		l.divided = own
	case "stop-and-examine":
		l.examine = sig
	}
}

// notPutBack is R58 for a section signal left off after obstruction danger was acknowledged.
func (v *reviewer) notPutBack(p *pair, own, sig signal) {
	v.after(sig.at, backLimit, func() {
		for _, l := range p.lines {
			if l.Rear == sig.by && l.lever.off && v.stands(l).Danger {
				v.add("R58", sig.by, sig.at, l, own.seq, sig.seq)
			}
		}
	})
}

// sentAgainst judges a train sent while the other line, or its own, is in doubt: R60, R62 and R63.
func (v *reviewer) sentAgainst(l *line, t *train) {
	for _, other := range l.pair.lines {
		if other.divided.is() && (other != l || other.divided.by != l.Rear) && !t.warned {
			v.addAs("R62", "", l.Rear, t.left.at, l, t.id, other.divided.seq, t.left.seq)
			continue
		}
		if other == l {
			continue
		}
		if other.doubt.is() && v.kinds.cautions && !t.warned {
			v.addAs("R60", "", l.Rear, t.left.at, l, t.id, other.doubt.seq, t.left.seq)
		}
		v.longTime(l, other, t)
	}
}

// runsBack tells whether a box offered a train on a line on which it had acknowledged that vehicles run back toward it:
// R62 (worked example W26).
func (v *reviewer) runsBack(i block.Irregularity) bool {
	l := v.lines[i.Section]
	return l != nil && l.divided.key == "runaway-wrong" && l.divided.by != l.Rear && i.Box == l.Rear
}

// longTime is R63: a train on the other line is long overdue, nothing was asked, and this one is sent uncautioned.
func (v *reviewer) longTime(l, other *line, t *train) {
	if len(other.trains) == 0 || t.warned || since(other.asked, other.entered) {
		return
	}
	late := other.trains[len(other.trains)-1]
	usual := v.usual(other, late.id)
	here := !late.headed.IsZero() || !late.stood.IsZero() // it has come, and waits: the box in advance has it in sight
	if here || late.outKnow || late.out.is() || !late.stood.IsZero() || !late.left.is() || usual == 0 || !v.stands(other).InSection {
		return
	}
	if v.now.Sub(late.left.at) > time.Duration(v.r.Layout().Settings.LongTime*float64(usual)) {
		v.addAs("R63", block.Irregular, l.Rear, t.left.at, l, t.id, late.left.seq, t.left.seq)
	}
}

// usual is how long a train takes over a line: as planned, or as those before it took. Zero: not known.
func (v *reviewer) usual(l *line, id block.TrainID) time.Duration {
	if w, ok := v.state.Timetable().Find(id); ok {
		for _, c := range w.Calls {
			if c.Box == l.Advance && c.Run > 0 {
				return time.Duration(c.Run) * time.Second
			}
		}
	}
	if len(l.ran) == 0 {
		return 0
	}
	var sum time.Duration
	for _, d := range l.ran {
		sum += d
	}
	return sum / time.Duration(len(l.ran))
}

// notStopped is R59: 7 was acknowledged and the train ran through.
func (v *reviewer) notStopped(l *line, t *train) {
	if !l.examine.is() || !v.kinds.cautions && t.stood.IsZero() && !v.kinds.levers {
		return
	}
	asked, headed := l.examine, v.now
	v.after(headed, passing, func() {
		gone := false
		for _, on := range v.order {
			if on.Rear != l.Advance {
				continue
			}
			for _, u := range on.trains {
				gone = gone || u.id == t.id && !u.left.at.Before(headed)
			}
		}
		if gone && v.boxes[l.Advance].halted[t.id].IsZero() && t.stood.IsZero() {
			v.addAs("R59", "", l.Advance, headed, l, t.id, asked.seq)
		}
	})
}

// lampNotTold is R61: a train went by without a burning tail lamp, and the boxes on either side were not told. A lamp
// that is there but out is told to the box in advance alone.
func (v *reviewer) lampNotTold(l *line, t *train, lamp block.Lamp) {
	at, seq := v.now, v.seq
	v.after(at, lampLimit, func() {
		b := v.boxes[l.Advance]
		if t.lamp != lamp {
			return // found whole meanwhile
		}
		rear := lamp == block.LampOut || b.hasTold(at, l.pair)
		ahead := true
		for _, on := range v.order {
			if on.Rear != l.Advance {
				continue
			}
			for _, u := range on.trains {
				if u.id == t.id && u.left.is() && !u.outKnow {
					ahead = b.hasTold(at, on.pair)
				}
			}
		}
		if !rear || !ahead {
			v.addAs("R61", "", l.Advance, at, l, t.id, seq)
		}
	})
}

// hasTold tells whether the box has rung on that circuit about a lamp or a division since a moment.
func (b *box) hasTold(at time.Time, p *pair) bool {
	for _, t := range b.lamps {
		if t.pair == p && !t.at.Before(at) {
			return true
		}
	}
	return false
}
