package block

import "slices"

// single is the work of a desk whose line is worked by token: what the other end says, then the token, then what this
// box has to say.
func (d *desk) single() {
	l := &d.i.Lines[0]
	k := l.Token
	if k.Mine && l.Going && base(l.Standing) != "IDLE" {
		d.says(l, enteringSection, "", "The train has passed your section signal: give train entering section.")
		return
	}
	if d.i.Called == d.i.To {
		d.add(Advice{Beats: Beats{1}, Key: callAttention, Answers: true, Since: d.i.CalledAt, Why: "He called attention: answer with one beat."})
		return
	}
	if d.answersSingle(l) || d.i.Pilot == nil && d.tokenInHand(l) {
		return
	}
	if d.pilotman(l) {
		return
	}
	if d.i.Has == d.i.To && d.v.At.Sub(d.i.HasSince) < AskAgain || d.waits() {
		return
	}
	if d.speaksSingle(l); len(d.advice) == 0 {
		d.saysOther()
	}
}

// answersSingle repeats what the other end has rung; an offer and 5-2 with the last beat held, which is the release.
func (d *desk) answersSingle(l *LineView) bool {
	for _, w := range d.i.Waiting {
		if w.By != d.i.To || w.Key == releaseToken && !d.mayRelease(l, w) {
			continue
		}
		d.add(Advice{Beats: d.answer(w), Key: w.Key, Section: w.Section, Answers: true, Since: w.First,
			Held: w.Key == releaseToken, Why: "He rang " + w.Beats.String() + ", " + d.means(w.Key) + ": repeat it" + holding(w.Key == releaseToken)})
		return true
	}
	for _, w := range d.i.Offers {
		if w.By == d.i.To && d.mayRelease(l, w) && d.aheadAccepted(w) {
			d.add(Advice{Beats: w.Beats, Key: w.Key, Section: w.Section, Train: w.Train, Answers: true, Since: w.First,
				Held: d.i.Pilot == nil, Why: "He offers " + d.means(w.Key) + " and the line is clear: repeat it" + holding(d.i.Pilot == nil)})
			return true
		}
	}
	return false
}

// allIn tells whether no token stands in the way of a train: all are in, or a pilotman works in their place.
func (d *desk) allIn(l *LineView) bool { return !l.Token.Out || d.i.Pilot != nil }

func holding(held bool) string {
	if held {
		return ", and keep the last beat down until he has his token."
	}
	return "."
}

// mayRelease tells whether the line is free for what the other end asks: all tokens in, nothing accepted, nothing in
// the way.
func (d *desk) mayRelease(l *LineView, w Pending) bool {
	free := base(l.Standing) == "IDLE" || base(l.Standing) == "OFF"
	return free && d.allIn(l) && l.Foul == "" && len(l.Trains) == 0 && !d.i.Danger &&
		!slices.Contains(d.v.Full, l.Section) && (l.Standing == base(l.Standing) || w.Key == releaseToken && l.Standing == "IDLE+shunt")
}

// tokenInHand is what is to be done with the key, the instrument and the token, and tells whether there was anything.
func (d *desk) tokenInHand(l *LineView) bool {
	k := l.Token
	coming := base(l.Standing) == "ACC" && !k.Mine || k.Shunt && !k.Asks
	token := func(where Place, why string) {
		d.add(Advice{Do: Token, Where: where, Section: l.Section, Train: l.Train, Why: why})
	}
	switch {
	case coming && !k.Out && !k.Back && !k.Holding && k.Failed.IsZero():
		d.add(Advice{Do: Hold, Section: l.Section, Why: "He has not drawn his token yet: keep the bell key down."})
		return false
	case k.Release && k.Here > 0 && (base(l.Standing) == "ACC" && k.Mine || k.Asks && !k.Back):
		token(Drawn, "The needle shows his release: draw a token.")
	case k.Hand == "box" && !k.Mine && l.Out:
		token(Restored, "The train is in whole: put its token into the instrument, then give train out of section.")
	case k.Hand == "box" && base(l.Standing) == "IDLE" && !k.Shunt:
		token(Restored, "Nothing is signalled on the line and its token is in your hand: put it into the instrument.")
	case k.Hand == "box" && k.Mine && base(l.Standing) == "ACC" && !k.Shunt:
		token(Handed, "The token is for the train accepted: read its names to the driver and hand it over.")
		return false // when, the train says
	default:
		return false
	}
	return true
}

// speaksSingle is what this box has to say of its own accord: out of section, token replaced, then trains to offer.
func (d *desk) speaksSingle(l *LineView) {
	k := l.Token
	switch {
	case !k.Mine && l.Out && base(l.Standing) == "LINE" && d.allIn(l):
		d.says(l, outOfSection, "", "The train is in whole and its token in the instrument: give train out of section.")
		return
	case k.Asks && k.Back:
		d.says(l, tokenReplaced, "", "The token drawn by 5-2 is in again: give token replaced.")
		return
	case d.enteredByMistake(l):
		d.says(l, cancelling, "", "You gave train entering section, and no token is out. If no train has gone, cancel it.")
		return
	}
	d.offersSingle(l)
}

// enteredByMistake tells whether this box has rung 2 for a train that has no token, and that nobody has seen go. Nothing
// but 3-5 ends that: no train will come for whom the other end could give 2-1 (common practice, no source).
func (d *desk) enteredByMistake(l *LineView) bool {
	k, stands := l.Token, base(l.Standing)
	return k.Mine && (stands == "ENT" || stands == "LINE") && !k.Out && !k.Back && !l.Gone && d.i.Pilot == nil
}

// offersSingle is a train that is to go on by this line.
func (d *desk) offersSingle(l *LineView) {
	for _, s := range d.v.Sends {
		if s.Section != l.Section || s.From.After(d.v.At) || d.i.Danger || !d.mayOffer(l) {
			continue
		}
		open := d.open(l)
		again := open != nil && open.Beats.Equal(s.Beats) && d.v.At.Sub(open.First) >= OfferAgain
		full := slices.Contains(d.v.Full, l.Section) // his train finds no road till this one has gone
		if l.Standing != "IDLE" && !(l.Standing == "OFF" && (again || full && open == nil)) || !d.allIn(l) {
			continue // the line is taken, the other end has offered, or the offer has been made and meets silence
		}
		if !d.hasWord() {
			d.calls(l, "You have a train to offer: call attention.")
			d.repeats(open)
			return
		}
		key, _ := d.classOf(s.Beats)
		d.add(Advice{Beats: s.Beats, Key: key, Section: l.Section, Train: s.Train, Since: s.From, Again: open != nil, Why: "The section is clear and all tokens are in: ask is line clear for " + d.means(key) + "."})
		return
	}
}
