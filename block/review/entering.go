package review

import (
	"slices"
	"time"

	"taillamp/block"
)

// Limits of the rules about entering.
const (
	goneLimit = 60 * time.Second  // R31, R33: 2 after the train has gone
	soonLimit = 60 * time.Second  // R32: 2 before it goes
	waitLimit = 180 * time.Second // R32: and it then waits so long
)

// rings2 is A's 2. It belongs to the oldest train in the section that has not had one.
func (v *reviewer) rings2(l *line, sig signal) {
	v.calledBeforeTwo(l, sig)
	l.entered = sig.at
	for _, t := range l.trains {
		if t.two.is() || t.outKnow || t.shunt {
			continue
		}
		t.two = sig
		if !t.judged && sig.at.Sub(t.left.at) > goneLimit {
			v.addAs("R33", "", l.Rear, t.left.at, l, t.id, t.left.seq, sig.seq)
		}
		return
	}
	if !l.early.is() && !l.rungFor() {
		l.early = sig
	}
}

// rungFor tells whether 2 has been rung for a train that is in the section: rung again, it belongs to that.
func (l *line) rungFor() bool {
	return slices.ContainsFunc(l.trains, func(t *train) bool { return t.two.is() && !t.outKnow && !t.shunt })
}

// calledBeforeTwo is R35: attention was called for a 2, which needs none, and for nothing else.
func (v *reviewer) calledBeforeTwo(l *line, sig signal) {
	p := l.pair
	call, answered := p.calls[l.Rear], p.answer[l.Rear]
	if p.groups[l.Advance].After(answered) {
		return // what he called for is done: the other box has accepted meanwhile what he would have offered again
	}
	if !call.is() || answered.IsZero() || sig.at.Sub(answered) > answerLimit || since(p.spent[l.Rear], call.at) {
		return
	}
	v.after(sig.at, answerLimit, func() {
		if !since(p.spent[l.Rear], call.at) && p.calls[l.Rear].at.Equal(call.at) {
			v.add("R35", l.Rear, sig.at, l, call.seq, sig.seq)
		}
	})
}

// leaves is a train passing A's section signal.
func (v *reviewer) leaves(l *line, e block.Event) {
	t := &train{id: e.Train, left: signal{at: v.now, seq: v.seq}, shunt: v.stands(l).Forward}
	t.goesOn(l)
	if b := v.boxes[l.Rear]; !b.warned[e.Train].IsZero() {
		t.warned = true
		delete(b.warned, e.Train)
	}
	if l.early.is() {
		t.two = l.early
		v.enteringEarly(l, t)
		l.early = signal{}
	}
	l.trains = append(l.trains, t)
	if t.shunt {
		return
	}
	v.driverNotWarned(l, t)
	if l.goods != nil {
		l.goods.driverNotTold(v, l, t)
	}
	v.notOfferedOn(l, t)
	v.sentAgainst(l, t)
	v.sentTooSoon(l, t)
	if len(l.trains) > kept {
		l.trains = l.trains[1:]
	}
}

// goesOn has a train go on the oldest acceptance that no train has gone on yet, if there is one.
func (t *train) goesOn(l *line) bool {
	if !l.accepted.is() || l.taken {
		return false
	}
	t.offer, t.class, l.taken = l.accepted, l.accepted.beats, true
	if l.second.is() {
		l.accepted, l.second, l.taken = l.second, signal{}, false
	}
	return true
}

// enteringEarly is R32: 2 was rung long before the train moved past the section signal.
func (v *reviewer) enteringEarly(l *line, t *train) {
	early := t.left.at.Sub(t.two.at)
	if early <= soonLimit || v.r.Layout().Settings.TesOn == "starts" {
		return
	}
	as := block.Severity("")
	if early > waitLimit {
		as = block.Irregular
	}
	v.addAs("R32", as, l.Rear, t.two.at, l, t.id, t.two.seq, t.left.seq)
}

// noEnteringSection is R31: the train has come to its end in the section and 2 was never rung.
func (v *reviewer) noEnteringSection(l *line, t *train) {
	if t.two.is() || t.shunt || t.judged || !t.left.is() || l.pair.broke.is() {
		return
	}
	v.after(later(v.now, t.left.at.Add(goneLimit)), 0, func() {
		if !t.two.is() && !t.judged && v.now.Sub(t.left.at) > 0 {
			t.judged = true
			v.addAs("R31", "", l.Rear, t.left.at, l, t.id, t.left.seq)
		}
	})
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// train follows a train as it was seen.
func (v *reviewer) train(e block.Event, s *block.Spotted) {
	l := v.lines[s.Section]
	if l == nil {
		return
	}
	if e.By != "" {
		v.boxes[e.By].saw = v.now
	}
	switch {
	case l.atOnce:
		return
	case l.tokens != nil:
		l.tokens.seen(v, l, e, s)
		return
	case s.Where == block.Leaves:
		v.leaves(l, e)
		return
	}
	t := l.find(e.Train)
	if t == nil {
		t = &train{id: e.Train}
		if t.goesOn(l) {
			t.two = l.early
		}
		l.early = signal{}
		l.trains = append(l.trains, t)
	}
	switch s.Where {
	case block.Stands:
		t.stood = v.now
	case block.Heads:
		t.headed = v.now
		v.notStopped(l, t)
	case block.Passes, block.Arrives, block.IsClear:
		v.isBy(l, t, s)
	case block.IsWhole:
		v.foundWhole(l, t)
	case block.Returns:
		v.returned(l, t, e)
	}
}

// find is the train of that name in the section, or the oldest not given up where either has no name: a signaller who holds
// the tail lamp names no train. One that has been given up already may still be spoken of.
func (l *line) find(id block.TrainID) *train {
	for _, t := range l.trains {
		if t.id == id && !t.outKnow {
			return t
		}
	}
	for _, t := range l.trains {
		if (id == "" || t.id == "") && !t.outKnow {
			return t
		}
	}
	for _, t := range slices.Backward(l.trains) {
		if t.id == id || id == "" && !t.out.is() {
			return t
		}
	}
	return nil
}

// isBy is the tail of a train seen, or not seen, at the box in advance.
func (v *reviewer) isBy(l *line, t *train, s *block.Spotted) {
	if t.headed.IsZero() {
		t.headed = v.now
	}
	t.lamp = s.Lamp
	v.noEnteringSection(l, t)
	v.wrongClass(l, t)
	known := s.Where == block.IsClear || s.Lamp == block.LampSeen || s.Lamp == block.LampOut
	if s.Where != block.Arrives && known {
		t.out = signal{at: v.now, seq: v.seq}
		v.outLate(l, t)
		if t.left.is() {
			l.ran = append(l.ran, v.now.Sub(t.left.at))
		}
	}
	if s.Lamp == block.LampMissing || s.Lamp == block.LampOut {
		v.lampNotTold(l, t, s.Lamp)
	}
}
