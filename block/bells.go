package block

import "time"

// Keys of the signals that the machine itself knows. Every code book names them so.
const (
	callAttention     CodeKey = "call-attention"
	trainApproaching  CodeKey = "train-approaching"
	enteringSection   CodeKey = "entering-section"
	assistingRear     CodeKey = "assisting-rear"
	engineArrived     CodeKey = "engine-arrived"
	outOfSection      CodeKey = "out-of-section"
	obstructionGone   CodeKey = "obstruction-removed"
	warningCode       CodeKey = "warning"
	blockBackInside   CodeKey = "block-back-inside"
	blockBackOutside  CodeKey = "block-back-outside"
	shuntForward      CodeKey = "shunt-forward"
	shuntWithdrawn    CodeKey = "shunt-withdrawn"
	cancelling        CodeKey = "cancelling"
	wrongDescription  CodeKey = "wrong-description"
	shuntForFollowing CodeKey = "shunt-for-following"
	obstructionDanger CodeKey = "obstruction-danger"
	unusuallyLong     CodeKey = "unusually-long"
	stopAndExamine    CodeKey = "stop-and-examine"
	noTailLampAdvance CodeKey = "no-tail-lamp-adv"
	noTailLampRear    CodeKey = "no-tail-lamp-rear"
	dividedCode       CodeKey = "divided"
	runawayWrong      CodeKey = "runaway-wrong"
	runawayRight      CodeKey = "runaway-right"
	openingCode       CodeKey = "opening"
	closingCode       CodeKey = "closing"
	closingLocked     CodeKey = "closing-locked"
	testingCode       CodeKey = "testing"
	trolleyCode       CodeKey = "trolley"
)

// Two boxes ring at once if their calls begin within a second of each other.
const atOnce = time.Second

// repeatWithin is how long a signal waits for its repetition before another code is no longer taken for a wrong one.
const repeatWithin = 60 * time.Second

// sort takes a finished code for what it is: the answer to what the other box rang, a signal of the sender's own,
// a repetition that is not exact, or nothing. The order is that of the absolute-block reference, 4.7.
func (w *work) sort(x int, g *group) {
	y := 1 - x
	if len(g.beats) == 1 && g.beats[0] == 1 {
		w.callAttention(x, g)
		return
	}
	w.t.call[y].open = false // met by a signal of the called box
	codes := w.p.byBeats[string(g.beats)]
	if o := w.awaited(y, g.beats); o != nil {
		if w.mayBeOwn(x, o, g, codes) {
			w.hold(x, g, codes)
		}
		w.repeated(x, o, g)
		return
	}
	if o := w.t.offer[y]; o != nil && len(codes) > 0 && codes[0].Key == warningCode {
		w.p.method.own(w, x, g, codes)
		return
	}
	if s := w.t.slip; s != nil && len(codes) > 0 && s.beats.Equal(g.beats) {
		w.standsBy(s, x, g, codes)
		return
	}
	if len(codes) == 0 {
		w.senseless(x, g)
		return
	}
	if w.hasWord(x, g.first) || !codes[0].Attention {
		w.own(x, g, codes)
		return
	}
	if o := w.fresh(y, g.first); o != nil {
		w.t.slip = &slip{by: x, beats: g.beats, first: g.first, of: o}
		w.took(x, g, Signal{Key: codes[0].Key, Sense: Wrong, Section: w.section(o.line), To: o.first})
		return
	}
	w.own(x, g, codes)
}

// callAttention is one beat: a call, or the answer to the other box's.
func (w *work) callAttention(x int, g *group) {
	y := 1 - x
	mine, his := &w.t.call[x], &w.t.call[y]
	if !his.open {
		*mine = call{at: g.first, open: true, last: mine.last}
		w.took(x, g, Signal{Key: callAttention, Sense: Own, Did: Called})
		return
	}
	his.open, his.answered, his.last = false, g.first, g.first
	if g.first.Sub(his.at) <= atOnce { // each heard the other's beat as the answer to his own: both have the word
		*mine = call{at: g.first, answered: g.first, last: g.first}
	}
	w.took(x, g, Signal{Key: callAttention, Sense: Answer, To: his.at})
}

// hasWord tells whether the box at end x called attention, was answered and has not said its say.
func (w *work) hasWord(x int, at time.Time) bool {
	c := &w.t.call[x]
	return !c.answered.IsZero() && !c.spent && at.Sub(c.answered) <= w.r.attention
}

// awaited finds the signal of end y that the beats would answer: another signal before an offer. An offer that can only
// be accepted under the warning is not answered by 3-5-5: it is accepted when A has repeated that.
func (w *work) awaited(y int, beats Beats) *open {
	for _, o := range []*open{w.t.other[y], w.t.offer[y]} {
		if o != nil && o.code.Answer != string(warningCode) && w.answer(o).Equal(beats) {
			return o
		}
	}
	return nil
}

// answer is the code that answers a signal: its exact repetition unless the book says otherwise.
func (w *work) answer(o *open) Beats {
	if o.code.Answer == "" || o.code.Answer == "repeat" {
		return o.code.Beats
	}
	if c, ok := w.p.book.Key(CodeKey(o.code.Answer)); ok {
		return c.Beats
	}
	return o.code.Beats
}

// mayBeOwn tells whether a code that answers o could as well be the sender's own: he called and was answered since.
func (w *work) mayBeOwn(x int, o *open, g *group, codes []*Code) bool {
	return len(codes) > 0 && codes[0].Attention && w.hasWord(x, g.first) && w.t.call[x].answered.After(o.first)
}

// hold keeps the reading of a code as the sender's own beside that as an answer.
func (w *work) hold(x int, g *group, codes []*Code) {
	other := *w.t
	v := work{r: w.r, s: w.s, p: w.p, t: &other, e: w.e, out: &Outcome{}}
	v.own(x, g, codes)
	w.or = &twofold{talk: &other, second: v.said}
}

// repeated takes a code as the exact repetition of o.
func (w *work) repeated(x int, o *open, g *group) {
	y := 1 - x
	if w.t.other[y] == o {
		w.t.other[y] = nil
	} else {
		w.t.offer[y] = nil
	}
	if s := w.t.slip; s != nil && s.of == o {
		w.t.slip = nil
	}
	w.p.method.answered(w, x, o, g)
	w.judgeClose(x, o, g.first)
	if w.or != nil {
		w.or.first, w.said = w.said, verdict{}
	}
}

// standsBy is a wrong repetition that turns out to be meant: its sender rings it again, or the other box answers it.
func (w *work) standsBy(s *slip, x int, g *group, codes []*Code) {
	w.t.slip = nil
	w.own(s.by, &group{beats: s.beats, first: s.first}, codes)
	if x == s.by {
		return
	}
	if o := w.awaited(s.by, g.beats); o != nil {
		w.repeated(x, o, g)
	}
}

// fresh finds a signal of end y, not a call, that has waited less than a minute for its repetition.
func (w *work) fresh(y int, at time.Time) *open {
	for _, o := range []*open{w.t.other[y], w.t.offer[y]} {
		if o != nil && at.Sub(o.first) < repeatWithin {
			return o
		}
	}
	return nil
}

// own takes a code as a signal that the box at end x rings of its own accord.
func (w *work) own(x int, g *group, codes []*Code) {
	if codes[0].Attention && !w.calledLately(x, g.first) && !w.sameAgain(x, g.beats) {
		w.noCallAttention(x, g)
	}
	if codes[0].Attention {
		w.t.call[x].spent = true
	}
	if s := w.t.slip; s != nil && s.by != x && s.of.code.Beats.Equal(g.beats) {
		w.t.slip = nil // he gives it again, because it was repeated wrongly
	}
	w.p.method.own(w, x, g, codes)
}

// calledLately tells whether a call of the box was answered within the time that an answer is good for, whether or
// not it has rung something on it since.
func (w *work) calledLately(x int, at time.Time) bool {
	c := &w.t.call[x]
	return !c.last.IsZero() && at.Sub(c.last) <= w.r.attention
}

// sameAgain tells whether the box repeats its own signal because it was not answered, or wrongly: one exchange, one
// call. The right code after 5-3 belongs to that exchange too.
func (w *work) sameAgain(x int, beats Beats) bool {
	for _, o := range []*open{w.t.other[x], w.t.offer[x]} {
		if o != nil && o.code.Beats.Equal(beats) {
			return true
		}
	}
	return w.t.lines[x].mend
}

// noCallAttention is R01: a signal that needs it was rung without call attention answered in the last minute.
func (w *work) noCallAttention(x int, g *group) { w.breaks("R01", x, -1, g.first) }

// senseless is R04: a code that is not in the book, or has no meaning here.
func (w *work) senseless(x int, g *group) {
	w.took(x, g, Signal{Sense: Void})
	w.breaks("R04", x, -1, g.first)
}

// waits opens a signal for its repetition; a newer one of the same kind takes the older one's place.
func (w *work) waits(x int, g *group, code *Code, line int) *open {
	o := &open{code: code, first: g.first, line: line, train: g.train}
	if code.Train {
		w.t.offer[x] = o
	} else if code.Answer != "none" {
		w.t.other[x] = o
	}
	return o
}
