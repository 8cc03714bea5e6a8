package block

import "slices"

// permissiveView fills in how many trains are on the line by the bells and how many more it may take.
func (r *Rules) permissiveView(v *LineView, p *circuitPlan, ln *line, l int) {
	v.In = ln.belled()
	if v.Room = max(1, r.sections[p.sections[l]].Capacity) - v.In; v.Room < 0 || ln.holdsCoaching() {
		v.Room = 0
	}
	if i := ln.firstOut(); v.ToMe {
		v.Out = i >= 0 && ln.trains[i].out() && ln.foul == ""
	}
}

// belled is how many trains the bells have put into the section and not taken out.
func (l *line) belled() int {
	n := 0
	for i := range l.trains {
		if o := &l.trains[i]; !o.given && !o.two.IsZero() {
			n++
		}
	}
	return n
}

// behind is the work of a desk whose line is permissive.
func (d *desk) behind() {
	l := &d.i.Lines[0]
	if !l.ToMe && l.Going {
		d.says(l, enteringSection, "", "The train has passed your signal into the line: give train entering section.")
		return
	}
	if l.ToMe {
		d.countNeedle(l)
	}
	if d.i.Called == d.i.To {
		d.add(Advice{Beats: Beats{1}, Key: callAttention, Answers: true, Since: d.i.CalledAt, Why: "He called attention: answer with one beat."})
		return
	}
	if d.answersBehind(l) {
		return
	}
	if d.i.Has == d.i.To && d.v.At.Sub(d.i.HasSince) < AskAgain || d.waits() {
		return
	}
	if l.ToMe && l.Out && l.In > 0 {
		d.says(l, outOfSection, "", "The first train has left the line complete: give train out of section.")
		return
	}
	if d.offersBehind(l); len(d.advice) == 0 {
		d.saysOther()
	}
}

// answersBehind repeats what the other end has rung. An offer is met with silence while the line is full, or while a
// passenger train would have to share it.
func (d *desk) answersBehind(l *LineView) bool {
	for _, w := range d.i.Waiting {
		if w.By == d.i.To {
			d.add(Advice{Beats: d.answer(w), Key: w.Key, Section: w.Section, Answers: true, Since: w.First, Why: "He rang " + w.Beats.String() + ", " + d.means(w.Key) + ": repeat it."})
			return true
		}
	}
	for _, w := range d.i.Offers {
		if w.By != d.i.To || !l.ToMe || base(l.Standing) != "OFF" || l.Foul != "" || d.i.Danger || slices.Contains(d.v.Full, l.Section) || !d.roomFor(l, w.Key) {
			continue
		}
		a := Advice{Beats: w.Beats, Key: w.Key, Section: w.Section, Train: w.Train, Answers: true, Since: w.First,
			Why: "He offers " + d.means(w.Key) + " and the line is empty: accept by exact repetition."}
		if l.In > 0 {
			a.Why = "He offers " + d.means(w.Key) + " and the line has room behind the train that is on it: accept by exact repetition; he must stop the train and tell its driver."
			if other, ok := d.p.book.Key(lineOccupied); ok && d.r.sections[d.r.sectionNo[l.Section]].Answer == occupiedAnswer {
				a.Beats, a.Key = other.Beats, other.Key
				a.Why = "He offers " + d.means(w.Key) + " and the line has room behind the train that is on it: answer that it is occupied."
			}
		}
		d.add(a)
		return true
	}
	return false
}

// roomFor tells whether the line can take a train of that class.
func (d *desk) roomFor(l *LineView, key CodeKey) bool {
	c, ok := d.p.book.Key(key)
	return ok && l.Room > 0 && (l.In == 0 || !coaching(&c))
}

// countNeedle brings the indicator to the number of trains.
func (d *desk) countNeedle(l *LineView) {
	turn := func(show Aspect, why string) {
		d.add(Advice{Do: Turn, Section: l.Section, Show: show, Why: why})
	}
	switch {
	case l.In > l.Count:
		turn(Occupied, "One more train has entered the line: turn the indicator to train on line, and the count goes up.")
	case l.In == 0 && base(l.Standing) == "ACC" && l.Shows != Clear:
		turn(Clear, "The line is empty and the train accepted: turn the indicator to line clear.")
	case l.In == 0 && base(l.Standing) != "ACC" && l.Shows != Blocked && l.Standing == base(l.Standing):
		turn(Blocked, "The line is empty and nothing is accepted: turn the indicator back to line blocked.")
	}
}

// offersBehind is a train that is to go on by this line.
func (d *desk) offersBehind(l *LineView) {
	for _, s := range d.v.Sends {
		key, _ := d.classOf(s.Beats)
		if s.Section != l.Section || l.ToMe || s.From.After(d.v.At) || d.i.Danger || !d.roomFor(l, key) {
			continue
		}
		open := d.open(l)
		again := open != nil && open.Beats.Equal(s.Beats) && d.v.At.Sub(open.First) >= OfferAgain
		if l.Standing != "IDLE" && l.Standing != "LINE" && !(l.Standing == "OFF" && again) {
			continue // one is accepted already, or the offer has been made and meets silence
		}
		if !d.hasWord() {
			d.calls(l, "You have a train to offer: call attention.")
			d.repeats(open)
			return
		}
		d.add(Advice{Beats: s.Beats, Key: key, Section: l.Section, Train: s.Train, Since: s.From, Again: open != nil, Why: "The line has room: ask is line clear for " + d.means(key) + "."})
		return
	}
}
