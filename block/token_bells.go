package block

import "time"

// offerSingle is a class code with which the box at end x asks for the single line, and for its token: E2.
func (w *work) offerSingle(x int, g *group, code *Code) {
	ln, tk := &w.t.lines[singleLine], &w.t.token
	mends := ln.mend && ln.stands >= acc && tk.from == x
	ln.mend = false
	o := w.waits(x, g, code, singleLine)
	o.mends = mends
	did := Offered
	if mends {
		did = Mended
	}
	w.took(x, g, Signal{Key: code.Key, Sense: Own, Section: w.section(singleLine), Did: did, Train: o.train})
	if mends {
		return
	}
	w.judgeOfferSingle(x, g.first)
	if ln.stands <= ofw {
		ln.stands, tk.from = off, x
		ln.offer = &acceptance{code: code, first: g.first, train: o.train}
	}
}

// acceptSingle is the exact repetition of the other end's offer by the box at end x: E3 and E4. The release is the
// last beat held, which comes by itself.
func (w *work) acceptSingle(x int, o *open, g *group) Effect {
	ln, tk := &w.t.lines[singleLine], &w.t.token
	if o.mends && ln.offer != nil {
		mended := *ln.offer
		mended.code = o.code
		ln.offer = &mended
		return Mended
	}
	again := ln.stands == acc && tk.from == 1-x && !tk.out
	if !again {
		w.judgeAcceptSingle(x, g.first)
	}
	if ln.stands < acc || again {
		ln.stands, tk.from, ln.used, tk.used = acc, 1-x, false, false
		ln.offer = &acceptance{code: o.code, first: o.first, at: g.first, train: o.train}
	}
	return Accepted
}

// enterSingle is 2 from the end that the train leaves: E10.
func (w *work) enterSingle(x int, g *group, code *Code) {
	ln := &w.t.lines[singleLine]
	w.t.offer[x] = nil // an offer still open lapses
	i := ln.goingFrom(x)
	if i < 0 || !ln.trains[i].found {
		w.judgeEnterSingle(x, g.first)
	}
	his := ln.stands >= acc && w.t.token.from != x // the other end's train: this 2 speaks of none
	if i < 0 && !his && !ln.ringsAgain(w.t.other[x]) && ln.comingTo(1-x) < 0 {
		o := occupant{from: x, accepted: ln.stands == acc && w.t.token.from == x}
		if ln.offer != nil && o.accepted {
			o.id = ln.offer.train
		}
		ln.trains = append(ln.trains[:len(ln.trains):len(ln.trains)], o)
		i = len(ln.trains) - 1
	}
	if i >= 0 {
		ln.change(i).two = g.first
	}
	if ln.stands < ent {
		ln.stands, w.t.token.from = ent, x
	}
	ln.entered = g.first
	w.waits(x, g, code, singleLine)
	w.took(x, g, Signal{Key: code.Key, Sense: Own, Section: w.section(singleLine), Did: Entering, Train: ln.idOf(i)})
}

// goingFrom finds the oldest train from end x for which 2 has not been rung; -1 if there is none.
func (l *line) goingFrom(x int) int {
	for i := range l.trains {
		if o := &l.trains[i]; o.from == x && o.two.IsZero() && !o.given && !o.shunt {
			return i
		}
	}
	return -1
}

// outSingle is 2-1: a train is out of section, or after 3-3 or 6 the obstruction is gone. E14.
func (w *work) outSingle(x int, g *group, codes []*Code) {
	ln, tk := &w.t.lines[singleLine], &w.t.token
	mine := tk.from != x && ln.stands >= ent // a train that came to this end is to be given up
	if !mine && (tk.blocked[x] != none || w.t.danger[x] != none) {
		code := pick(codes, obstructionGone)
		w.waits(x, g, code, singleLine)
		w.took(x, g, Signal{Key: code.Key, Sense: Own, Section: w.section(singleLine), Did: Removed})
		return
	}
	code := pick(codes, outOfSection)
	if !ln.ringsOut(w.t.other[x]) {
		w.judgeOutSingle(x, g.first)
	}
	w.waits(x, g, code, singleLine)
	w.took(x, g, Signal{Key: code.Key, Sense: Own, Section: w.section(singleLine), Did: OutOf, Train: ln.train0()})
}

// ringsOut tells whether 2-1 is only repeated, because it was not answered.
func (l *line) ringsOut(o *open) bool { return o != nil && o.code.Key == outOfSection }

// giveUpSingle is the answer to the 2-1 of the box at end y: the train that came to it is out of the section.
func (w *work) giveUpSingle(y int, at time.Time) {
	ln := &w.t.lines[singleLine]
	if i := ln.comingTo(y); i >= 0 {
		if ln.trains[i].inside() || ln.trains[i].left.IsZero() && ln.trains[i].seen == "" {
			ln.remove(i)
		} else {
			ln.change(i).given = true
		}
	}
	ln.outGiven, ln.runaway, ln.assist = at, false, none
	if w.t.danger[y] != none {
		w.t.danger[y] = none
	}
	w.settleSingle()
}

// comingTo finds the oldest train that goes to end y and has not been given up; -1 if there is none.
func (l *line) comingTo(y int) int {
	for i := range l.trains {
		if o := &l.trains[i]; o.from != y && !o.given {
			return i
		}
	}
	return -1
}

// cancelSingle is 3-5: E15. With the token out the token goes back first.
func (w *work) cancelSingle(x int, g *group, code *Code) {
	ln, tk := &w.t.lines[singleLine], &w.t.token
	w.t.offer[x] = nil
	if cancelledWithTokenOut(ln, tk, x) {
		w.breaks("TK-11", x, singleLine, g.first)
	}
	w.waits(x, g, code, singleLine)
	w.took(x, g, Signal{Key: code.Key, Sense: Own, Section: w.section(singleLine), Did: Cancelled, Train: ln.train0()})
}

// cancelledSingle is the answer to the 3-5 of the box at end y.
func (w *work) cancelledSingle(y int, at time.Time) {
	ln, tk := &w.t.lines[singleLine], &w.t.token
	if tk.from != y {
		return
	}
	for i := 0; i < len(ln.trains); {
		if o := &ln.trains[i]; o.inside() || o.left.IsZero() {
			ln.remove(i)
			continue
		}
		ln.change(i).given = true
		i++
	}
	ln.outGiven = at
	w.settleSingle()
}

// askToken is 5-2: the box at end x asks for a token for something that is no train, or comes back to the same end. E16.
func (w *work) askToken(x int, g *group, code *Code) {
	ln, tk := &w.t.lines[singleLine], &w.t.token
	if !tk.out && ln.stands != idle && ln.stands < ent {
		w.breaks("TK-02", x, singleLine, g.first)
	}
	if tk.asked[x] == none {
		tk.asked[x] = given
	}
	w.across(x, g, code, singleLine)
}

// grantToken is 5-2 answered by the box at end x. Without the last beat held it releases nothing.
func (w *work) grantToken(x int, at time.Time) {
	ln, tk := &w.t.lines[singleLine], &w.t.token
	y := 1 - x
	if !tk.out && (ln.stands >= acc || tk.blocked != [2]stage{} || tk.asked[x] != none) {
		w.breaks("TK-02", x, singleLine, at)
	}
	tk.asked[y], tk.used = bound, tk.out
}

// replaceToken is 2-5, the pair of 5-2: E17.
func (w *work) replaceToken(x int, g *group, code *Code) {
	tk := &w.t.token
	if tk.out || tk.asked[x] == none {
		w.breaks("TK-08", x, singleLine, g.first)
	}
	w.across(x, g, code, singleLine)
}

// saysTokenOut takes one beat, straight after the box at end x has drawn a token, for word that it is out and no call:
// E6, from memory. The other end gives no answer to it.
func (keyToken) saysTokenOut(w *work, x int, g *group) bool {
	tk := &w.t.token
	if len(g.beats) != 1 || g.beats[0] != 1 {
		return false
	}
	if !tk.out || tk.drawn != x || tk.told || tk.carried || g.first.Sub(tk.moved) > tokenOutBeat || w.t.call[1-x].open {
		return false
	}
	tk.told = true
	w.took(x, g, Signal{Key: tokenIsOut, Sense: Own, Section: w.section(singleLine)})
	return true
}

// tokenOutBeat is how soon after the drawing the beat must come. Common practice, no source.
const tokenOutBeat = 15 * time.Second
