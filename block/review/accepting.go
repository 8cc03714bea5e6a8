package review

import (
	"time"

	"taillamp/block"
)

// collarLimit is how soon a reminder must be on (R22), and how long a clearing point must have been free for a warning
// to be needless (R23).
const collarLimit = 60 * time.Second

// needleNotCleared is R17: a train was accepted and the needle left at line blocked.
func (v *reviewer) needleNotCleared(l *line, sig signal) {
	v.after(sig.at, v.settle(), func() {
		s := v.stands(l)
		cleared := v.turnedTo(l, block.Clear, sig.at.Add(-v.settle())) // and taken away again, which is R25
		if s.Accepted && s.Shows == block.Blocked && !cleared && !s.NeedleDead && !since(l.refused, sig.at) {
			v.add("R17", l.Advance, sig.at, l, sig.seq)
		}
	})
}

// needleClearedAlone is R18: line clear was shown and nothing accepted, before or after.
func (v *reviewer) needleClearedAlone(l *line, t turning) {
	v.after(t.at, v.settle(), func() {
		s := v.stands(l)
		if s.Forward || v.testing(l.pair, t.at) || s.NeedleDead || s.BellDead || v.acceptedNear(l, t.at) {
			return
		}
		v.add("R18", l.Advance, t.at, l, t.seq)
	})
}

// acceptedNear tells whether a code was repeated on the line within the settling time of a moment.
func (v *reviewer) acceptedNear(l *line, at time.Time) bool { return v.near(l.repeated, at) }

func (v *reviewer) testing(p *pair, at time.Time) bool {
	return !p.tested.IsZero() && at.Sub(p.tested) <= testHold
}

// warns is 3-5-5 rung in answer to an offer. R23 if nothing had stood within the clearing point for the last minute.
func (v *reviewer) warns(l *line, sig signal) {
	if l.fouled.place != "" || !l.fouled.at.IsZero() && sig.at.Sub(l.fouled.at) <= collarLimit || v.stands(l).Inside {
		return
	}
	if class := l.classOf(v); l.codeKey(class) == "trolley" {
		return
	}
	v.needless = append(v.needless, needless{line: l, sig: sig})
}

// needless is a warning that looks needless, if the sitting marks what fouls the line at all.
type needless struct {
	line *line
	sig  signal
}

func (l *line) codeKey(beats block.Beats) block.CodeKey {
	for _, c := range l.pair.Book.Codes {
		if c.Train && c.Beats.Equal(beats) {
			return c.Key
		}
	}
	return ""
}

// collarForgotten is R22: a train was accepted under the warning and the box in rear put no reminder on its signal.
func (v *reviewer) collarForgotten(l *line, sig signal) {
	v.after(sig.at, collarLimit, func() {
		if !v.reminded(l, l.Rear, sig.at) {
			v.add("R22", l.Rear, sig.at, l, sig.seq)
		}
	})
}

// reminded tells whether a box has a collar on, or had one within the limit of a moment. Where the sitting has no
// collars nobody is asked for one.
func (v *reviewer) reminded(l *line, b block.BoxID, at time.Time) bool {
	on := l.pair.collared[b]
	return !v.kinds.collars || !on.from.IsZero() && (on.to.IsZero() || since(on.to, at.Add(-collarLimit)))
}

// driverNotWarned is R21: a train accepted under the warning went, and its driver had not been cautioned.
func (v *reviewer) driverNotWarned(l *line, t *train) {
	if !v.kinds.cautions || l.accepted.sense != block.AcceptedW || t.warned || since(v.boxes[l.Rear].wrote, l.accepted.at) {
		return
	}
	v.addAs("R21", "", l.Rear, t.left.at, l, t.id, t.left.seq)
}

// collar follows reminders.
func (v *reviewer) collar(c *block.Reminded) {
	v.kinds.collars = true
	p := v.pairs[c.Circuit]
	if p == nil {
		return
	}
	if p.collared == nil {
		p.collared = make(map[block.BoxID]span)
	}
	if on := p.collared[c.Box]; !c.On {
		p.collared[c.Box] = span{from: on.from, to: v.now}
	} else if on.from.IsZero() || !on.to.IsZero() {
		p.collared[c.Box] = span{from: v.now}
	}
}

// driver is a driver stopped or cautioned.
func (v *reviewer) driver(e block.Event) {
	v.kinds.cautions = true
	b := v.boxes[e.By]
	if b.warned == nil {
		b.warned, b.halted = make(map[block.TrainID]time.Time), make(map[block.TrainID]time.Time)
	}
	if e.Where == block.Warned {
		b.warned[e.Train] = e.At
		return
	}
	b.halted[e.Train] = e.At
}
