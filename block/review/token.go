package review

import (
	"time"

	"taillamp/block"
)

// Limits of the rules about tokens: other-methods reference, 2.10.
const (
	tokenGoneLimit  = 120 * time.Second // TK-07: 2 after the train has gone
	tokenOutLimit   = 180 * time.Second // TK-08: 2-1 after it has come
	tokenBlockLimit = 60 * time.Second  // TK-05: 3-3 after a 2-1 that leaves a move outside
)

// tokens is what the reviewer keeps of a line worked by token, beside what the acts prove themselves. A single line has
// no needles, and the box that sends a train is now the one end and now the other.
type tokens struct {
	offer  signal // the first offer of the train accepted, or in the section
	rung2  signal // its 2
	out    signal // the 2-1 last rung
	trains []*train
	fouled map[block.BoxID]obstruction
}

// own is a signal that a box rings of its own accord on a token line.
func (k *tokens) own(v *reviewer, l *line, s *block.Signal, sig signal) {
	switch s.Did {
	case block.Entering:
		k.rung2 = sig
		for _, t := range k.trains {
			if !t.two.is() && !t.outKnow && !t.judged && t.left.by == s.By {
				t.two = sig
				break
			}
		}
	case block.OutOf:
		k.out = sig
	}
}

// answered is the repetition, sig, of the signal own on a token line.
func (k *tokens) answered(v *reviewer, l *line, s *block.Signal, own, sig signal) {
	switch s.Did {
	case block.Accepted:
		k.offer = own
		k.offer.beats, k.rung2 = sig.beats, signal{}
	case block.Mended:
		k.offer.beats = sig.beats
		for _, t := range k.trains {
			if !t.outKnow {
				t.class, t.mended = sig.beats, true
			}
		}
	case block.OutOf:
		for _, t := range k.trains {
			if !t.outKnow && t.left.by != own.by {
				t.outKnow = true
				v.wrongTokenClass(l, t)
				break
			}
		}
		k.leftOutside(v, l, sig)
	case block.Cancelled:
		for _, t := range k.trains {
			t.outKnow = t.outKnow || t.left.by == own.by
		}
	}
}

// seen is a train seen on a token line.
func (k *tokens) seen(v *reviewer, l *line, e block.Event, s *block.Spotted) {
	if s.Where == block.Leaves {
		t := &train{id: e.Train, left: signal{at: v.now, seq: v.seq, by: e.By}, offer: k.offer, class: k.offer.beats, judged: v.shunting(l)}
		if k.rung2.is() && k.rung2.by == e.By {
			t.two = k.rung2
		}
		k.trains = append(k.trains, t)
		if len(k.trains) > kept {
			k.trains = k.trains[1:]
		}
		k.notEntered(v, l, t)
		return
	}
	t := k.find(e)
	if t == nil {
		return
	}
	whole := s.Where == block.IsClear || s.Lamp == block.LampSeen || s.Lamp == block.LampOut
	if t.headed.IsZero() && s.Where != block.Stands {
		t.headed = v.now
	}
	t.lamp = s.Lamp
	if whole && !t.out.is() && e.By != t.left.by {
		t.out = signal{at: v.now, seq: v.seq, by: e.By}
		v.wrongTokenClass(l, t)
		k.outLate(v, l, t)
	}
	if s.Where == block.Returns && !e.Off {
		t.outKnow = true
	}
}

// unsaid notes that a train whose going was found irregular at that entry needs no 2 for it.
func (k *tokens) unsaid(seq uint64) {
	if n := len(k.trains); n > 0 && k.trains[n-1].left.seq == seq {
		k.trains[n-1].judged = true
	}
}

// find is the train of that name that is still on the line by bell; a name that nobody gave fits any.
func (k *tokens) find(e block.Event) *train {
	for _, t := range k.trains {
		if !t.outKnow && (t.id == e.Train || t.id == "" || e.Train == "") {
			return t
		}
	}
	return nil
}

// notEntered is TK-07 for a 2 that never came: the train has been gone for two minutes.
func (k *tokens) notEntered(v *reviewer, l *line, t *train) {
	v.after(t.left.at, tokenGoneLimit, func() {
		if !t.two.is() && !t.outKnow && !t.judged && !l.pair.broke.is() && !v.shunting(l) {
			v.addAs("TK-07", "", t.left.by, t.left.at, l, t.id, t.left.seq)
		}
	})
}

// shunting tells whether the token that is out was drawn by 5-2: there is no 2 for what goes with it.
func (v *reviewer) shunting(l *line) bool {
	s := v.stands(l)
	return s.Token.Shunt
}

// outLate is TK-08 for a 2-1 that is late: the train has been in for three minutes and is not given up.
func (k *tokens) outLate(v *reviewer, l *line, t *train) {
	out := t.out
	v.after(out.at, tokenOutLimit, func() {
		calling := since(l.pair.calls[out.by].at, out.at) && l.pair.answer[out.by].IsZero()
		if t.outKnow || t.judged || !v.stands(l).InSection || since(k.out.at, out.at) || calling || l.pair.broke.is() {
			return
		}
		v.addAs("TK-08", "", out.by, out.at, l, t.id, out.seq)
	})
}

// moved is a token drawn, put back or in another hand. TK-09 for one put back with its train come and not known to be
// whole, unless that is seen within the settling time.
func (k *tokens) moved(v *reviewer, l *line, e block.Event, m *block.Moved) {
	if e.Where != block.Restored {
		return
	}
	for _, t := range k.trains {
		if t.outKnow || t.out.is() || t.left.by == e.By || t.headed.IsZero() {
			continue
		}
		at, seq := v.now, v.seq
		v.after(at, v.settle(), func() {
			if !t.out.is() && t.lamp != block.LampSeen {
				v.addAs("TK-09", "", e.By, at, l, t.id, seq)
			}
		})
	}
}

// foul is something that begins or ceases to stand on the single line at a box.
func (k *tokens) foul(v *reviewer, e block.Event) {
	if k.fouled == nil {
		k.fouled = make(map[block.BoxID]obstruction)
	}
	if e.Off {
		delete(k.fouled, e.By)
		return
	}
	k.fouled[e.By] = obstruction{at: v.now, seq: v.seq, place: e.Where}
}

// leftOutside is TK-05 for a move behind a train going away that is still out a minute after that train's 2-1, with no
// token drawn for it and nothing blocked back.
func (k *tokens) leftOutside(v *reviewer, l *line, sig signal) {
	f, ok := k.fouled[sig.by]
	if !ok || f.place != block.Outside {
		return
	}
	v.after(sig.at, tokenBlockLimit, func() {
		s := v.stands(l)
		if k.fouled[sig.by] == f && !s.OutTold && !s.Token.Out && !s.InSection {
			v.addAs("TK-05", "", sig.by, sig.at, l, "", f.seq, sig.seq)
		}
	})
}

// wrongTokenClass is R10 on a single line: the box that sent the train had offered it as something else.
func (v *reviewer) wrongTokenClass(l *line, t *train) {
	w, ok := v.state.Timetable().Find(t.id)
	if !ok || len(w.Code) == 0 || len(t.class) == 0 || w.Code.Equal(t.class) || !t.offer.is() || t.offer.by != t.left.by {
		return
	}
	v.addAs("R10", "", t.offer.by, t.offer.at, l, t.id, t.offer.seq)
	t.class = nil // once
}
