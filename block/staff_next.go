package block

import "slices"

// onStaff is the work of a desk whose line is worked by staff: what the bells say where the line has block telegraph,
// and the staff or a ticket for the train that is to go.
func (d *desk) onStaff() {
	l := &d.i.Lines[0]
	k := l.Staff
	if k.Block && k.Mine && l.Going && base(l.Standing) != "IDLE" {
		d.says(l, enteringSection, "", "The train has passed your section signal: give train entering section.")
		return
	}
	if d.i.Called == d.i.To {
		d.add(Advice{Beats: Beats{1}, Key: callAttention, Answers: true, Since: d.i.CalledAt, Why: "He called attention: answer with one beat."})
		return
	}
	if d.answersOnStaff(l) || d.staffInHand(l) {
		return
	}
	if d.i.Has == d.i.To && d.v.At.Sub(d.i.HasSince) < AskAgain || d.waits() {
		return
	}
	switch {
	case k.Block && !k.Mine && l.Out && base(l.Standing) == "LINE":
		d.says(l, outOfSection, "", "The train is in whole: give train out of section.")
	case k.Block && k.Shows == StaffHere:
		d.offersOnStaff(l)
	}
	if len(d.advice) == 0 {
		d.saysOther()
	}
}

// answersOnStaff repeats what the other end has rung; an offer only with the line free.
func (d *desk) answersOnStaff(l *LineView) bool {
	for _, w := range d.i.Waiting {
		if w.By == d.i.To {
			d.add(Advice{Beats: d.answer(w), Key: w.Key, Section: w.Section, Answers: true, Since: w.First,
				Why: "He rang " + w.Beats.String() + ", " + d.means(w.Key) + ": repeat it."})
			return true
		}
	}
	for _, w := range d.i.Offers {
		if w.By == d.i.To && l.Staff.Block && base(l.Standing) == "OFF" && len(l.Trains) == 0 && l.Foul == "" && !d.i.Danger && d.aheadAccepted(w) {
			d.add(Advice{Beats: w.Beats, Key: w.Key, Section: w.Section, Train: w.Train, Answers: true, Since: w.First,
				Why: "He offers " + d.means(w.Key) + " and the line is clear: accept by exact repetition."})
			return true
		}
	}
	return false
}

// staffInHand is what is to be done with staff and tickets, and tells whether there was anything. A train that another is to
// follow goes on a ticket; the last of a group takes the staff.
func (d *desk) staffInHand(l *LineView) bool {
	k := l.Staff
	do := func(where Place, off bool, why string) bool {
		d.add(Advice{Do: Token, Where: where, Off: off, Section: l.Section, Train: l.Train, Why: why})
		return true
	}
	follows := slices.ContainsFunc(d.v.Sends, func(s Sending) bool { return s.Section == l.Section && s.Train == l.Train && s.Follows })
	accepted := k.Block && k.Mine && base(l.Standing) == "ACC"
	switch {
	case k.Coming && l.Out:
		return do(GivenUp, false, "The train is in: take the staff from its driver.")
	case l.Out && slices.Contains(k.May, Spent):
		return do(Spent, false, "The train is in: take its ticket and cancel it.")
	case !accepted || k.Ready:
		return k.Open && do(Unlocked, true, "The ticket is issued: lock the box, and the staff is free again.")
	case !k.Tickets || !follows:
		do(Handed, false, "The train accepted takes the staff: read its plate to the driver and hand it over.")
		return false // when, the train says
	case !k.Showed:
		return do(ShownTo, false, "The train accepted goes on a ticket: show its driver the staff.")
	case !k.Open:
		return do(Unlocked, false, "Open the ticket box with the staff.")
	}
	return do(Issued, false, "Give the driver the next ticket.")
}

// offersOnStaff is a train that is to go on by this line, offered by the end that has the staff.
func (d *desk) offersOnStaff(l *LineView) {
	for _, s := range d.v.Sends {
		if s.Section != l.Section || s.From.After(d.v.At) || d.i.Danger {
			continue
		}
		open := d.open(l)
		again := open != nil && open.Beats.Equal(s.Beats) && d.v.At.Sub(open.First) >= OfferAgain
		if l.Standing != "IDLE" && !(l.Standing == "OFF" && again) {
			continue
		}
		if !d.hasWord() {
			d.calls(l, "You have a train to offer: call attention.")
			d.repeats(open)
			return
		}
		key, _ := d.classOf(s.Beats)
		d.add(Advice{Beats: s.Beats, Key: key, Section: l.Section, Train: s.Train, Since: s.From, Again: open != nil,
			Why: "The staff is here and the section clear: ask is line clear for " + d.means(key) + "."})
		return
	}
}
