package review

import (
	"time"

	"taillamp/block"
)

// lateLimit is how long a train may be clear and seen before its 2-1 is late (R40).
const lateLimit = 120 * time.Second

// givesOut is B's 2-1 rung.
func (v *reviewer) givesOut(l *line, sig signal) { l.given = sig.at }

// isOut is 2-1 answered: the oldest train is given up.
func (v *reviewer) isOut(l *line, own, sig signal) {
	v.freeNow(l)
	l.doubt, l.asked = signal{}, time.Time{}
	l.divided, l.examine, l.early = signal{}, signal{}, signal{}
	for _, t := range l.trains {
		if !t.outKnow {
			v.noEnteringSection(l, t)
			v.wrongClass(l, t)
			t.outKnow = true
			break
		}
	}
	v.needleLeft(l, own, sig)
}

// needleLeft is R42: the train is out and the needle still shows it.
func (v *reviewer) needleLeft(l *line, own, sig signal) {
	v.after(sig.at, v.settle(), func() {
		s := v.stands(l)
		if l.goods != nil && l.goods.moved.After(sig.at) {
			return // another train went in or came out meanwhile, and is judged by itself
		}
		if s.Shows != block.Occupied || s.Accepted || s.InSection || s.Inside || s.Outside || s.Forward || s.Danger || s.Assist || s.Engineers || s.Pilotman {
			return
		}
		if v.turnedTo(l, block.Blocked, own.at) || since(l.refused, own.at) {
			return
		}
		v.add("R42", l.Advance, own.at, l, own.seq)
	})
}

// outLate is R40: the train is clear and was seen, and no 2-1 came.
func (v *reviewer) outLate(l *line, t *train) {
	out := t.out
	v.after(out.at, lateLimit, func() {
		s := v.stands(l)
		calling := since(l.pair.calls[l.Advance].at, out.at) && l.pair.answer[l.Advance].IsZero()
		if t.outKnow || !s.InSection || s.Danger || s.BellDead || since(l.given, out.at) || calling {
			return
		}
		v.addAs("R40", "", l.Advance, out.at, l, t.id, out.seq)
	})
}

// told is B hearing that a train is complete.
func (v *reviewer) told(e block.Event) {
	for _, c := range v.r.Circuits() {
		for _, sec := range c.Sections {
			l := v.lines[sec.ID]
			if l.Advance != e.By {
				continue
			}
			if t := l.find(e.Train); t != nil && !t.outKnow {
				v.foundWhole(l, t)
			}
		}
	}
}

// foundWhole ends what hung on a train that was not known to be complete.
func (v *reviewer) foundWhole(l *line, t *train) {
	t.lamp = block.LampSeen
	l.doubt, l.divided = signal{}, signal{}
}
