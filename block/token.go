package block

import "time"

// keyToken is electric token working of a single line: two instruments, electrically joined, one set of tokens, of
// which one at most can be out. Tablet and electric train staff are the same thing with another thing in the driver's
// hand. T0 to T6, S1, S2 and E1 to E23 in the comments are states and rows of the other-methods reference, 2.4.
//
// A single line stands at the beginning of talk.lines whichever way the train goes; tokenState.from says which end it
// comes from. Its bell standing and the place of the token are two things, and are kept as two.
type keyToken struct{}

// singleLine is the place of a single line in talk.lines.
const singleLine = downEnd

// Keys of the signals that only token lines know.
const (
	releaseToken  CodeKey = "release-token"  // 5-2
	tokenReplaced CodeKey = "token-replaced" // 2-5
	tokenIsOut    CodeKey = "token-out"      // one beat after drawing; not a call
)

// tokenState is where the tokens of a section are, and what its two ends have done about them. Everything in pairs is
// by end.
type tokenState struct {
	in      [2]int    // tokens in each instrument
	out     bool      // one is out
	shunt   bool      // it was drawn by 5-2, and takes no train through
	carried bool      // a train has it; else a box
	holder  TrainID   // the train that has it
	with    int       // the end whose box has it, gave it to the train, or put it back last
	drawn   int       // the end at which it was drawn
	moved   time.Time // when it was last drawn, handed over, given up or put back
	told    bool      // the beat that says it is out has been given
	used    bool      // it has been out for the train accepted
	from    int       // the end that the train offered, accepted or in the section comes from
	asked   [2]stage  // by asker: 5-2, until 2-5 is answered
	blocked [2]stage  // by sender: 3-3
	foul    [2]Place  // what stands or moves on the single line there, or within the clearing point
	signal  [2]bool   // the section signal is off
	pulled  bool      // it has been pulled for the token that is out
	away    string    // numbers of the tokens that the lineman has in his bag
	bagged  int       // how many those are
	siding  int       // tokens in the instrument of the siding between, each with a train shut in
	failed  time.Time // when an end first found that the instruments have failed
}

// own works a signal that the box at end x rings of its own accord.
func (keyToken) own(w *work, x int, g *group, codes []*Code) {
	code := codes[0]
	switch {
	case code.Train:
		w.offerSingle(x, g, code)
	case code.Key == enteringSection:
		w.enterSingle(x, g, code)
	case code.Key == outOfSection || code.Key == obstructionGone:
		w.outSingle(x, g, codes)
	case code.Key == cancelling:
		w.cancelSingle(x, g, code)
	case code.Key == releaseToken:
		w.askToken(x, g, code)
	case code.Key == tokenReplaced:
		w.replaceToken(x, g, code)
	case code.Key == blockBackOutside:
		w.blockSingle(x, given)
		w.across(x, g, code, singleLine)
	case code.Key == wrongDescription:
		w.t.offer[x] = nil
		w.across(x, g, code, singleLine)
	case code.Key == openingCode || code.Key == closingCode || code.Key == closingLocked:
		w.farewell(x, g, code)
	default:
		w.emergency(x, g, code)
	}
}

// answered works the exact repetition, by the box at end x, of the other box's signal o.
func (keyToken) answered(w *work, x int, o *open, g *group) {
	s := Signal{Key: o.code.Key, Sense: Answer, Section: w.section(singleLine), To: o.first, Train: o.train, Did: Across}
	switch {
	case o.code.Train:
		s.Did = w.acceptSingle(x, o, g)
	case o.void:
	default:
		s.Did = w.bindSingle(x, o, g)
	}
	w.took(x, g, s)
}

// bindSingle is what the repetition of a signal other than an offer makes binding.
func (w *work) bindSingle(x int, o *open, g *group) Effect {
	ln, tk, y := &w.t.lines[singleLine], &w.t.token, 1-x
	switch o.code.Key {
	case enteringSection:
		if ln.stands == ent {
			ln.stands = lin
		}
		return Entering
	case outOfSection:
		w.giveUpSingle(y, g.first)
		return OutOf
	case obstructionGone:
		w.t.danger[y] = none
		w.blockSingle(y, none)
		w.settleSingle()
		return Removed
	case cancelling:
		w.cancelledSingle(y, g.first)
		return Cancelled
	case releaseToken:
		w.grantToken(x, g.first)
	case tokenReplaced:
		tk.asked[y] = none
		for i := len(ln.trains) - 1; i >= 0; i-- {
			if o := &ln.trains[i]; o.shunt && o.inside() {
				ln.remove(i) // it went through, wrongly, and no 2-1 will speak of it
			}
		}
		w.settleSingle()
	case blockBackOutside:
		w.blockSingle(y, bound)
	case obstructionDanger:
		w.t.danger[y] = bound
		if ln.stands < ent && !tk.out {
			w.t.offer = [2]*open{}
			w.settleSingle() // E20: what was offered or accepted is given up
		}
	default:
		w.bindOther(x, o)
	}
	return Across
}

// blockSingle is how far the box at end x has got with blocking back, the line's own overlay with it.
func (w *work) blockSingle(x int, s stage) {
	tk := &w.t.token
	if s != given || tk.blocked[x] == none {
		tk.blocked[x] = s
	}
	w.t.lines[singleLine].bbOut = max(tk.blocked[0], tk.blocked[1])
}

// settleSingle finds where the line stands when nothing is accepted on it any more: an offer made meanwhile comes into
// its own.
func (w *work) settleSingle() {
	ln, tk := &w.t.lines[singleLine], &w.t.token
	if ln.stands >= acc && ln.stands != doubt && len(ln.trains) > 0 && !ln.allGiven() {
		return // another train is still in the section by bell
	}
	ln.offer, ln.stands, ln.used, tk.used = nil, idle, false, tk.out
	if !tk.out && tk.asked == [2]stage{} { // nothing is left of the train before
		*tk = tokenState{in: tk.in, blocked: tk.blocked, foul: tk.foul, signal: tk.signal, failed: tk.failed,
			away: tk.away, bagged: tk.bagged, siding: tk.siding}
	}
	for e, o := range w.t.offer {
		if o != nil && !o.void {
			ln.stands, tk.from = off, e
			ln.offer = &acceptance{code: o.code, first: o.first, train: o.train}
		}
	}
}

// allGiven tells whether every train still in the list has been given up.
func (l *line) allGiven() bool { return l.train("") < 0 }

// taken tells whether the single line is not free for another train: one is accepted or in the section, a token is
// out or asked for, or one end has blocked back.
func (w *work) taken() bool {
	tk := &w.t.token
	out := tk.out && !w.t.pilot.inForce() // a token that is lost stays out
	return w.t.lines[singleLine].stands >= acc || out || tk.asked != [2]stage{} || tk.blocked != [2]stage{}
}

// standing is the line as the notes form prints it: how it stands by the bells; then +token with a token out, +shunt
// with one asked for by 5-2, and the overlays of absolute block.
func (keyToken) standing(t *talk, _ int) string {
	tk := &t.token
	s := t.lines[singleLine].stands.String()
	for _, o := range []struct {
		on   bool
		word string
	}{
		{tk.out, "+token"},
		{tk.asked != [2]stage{}, "+shunt"},
		{tk.blocked != [2]stage{}, "+bbOut"},
		{t.danger != [2]stage{}, "+danger"},
		{t.lines[singleLine].engineers.on, "+engineers"},
	} {
		if o.on {
			s += o.word
		}
	}
	return s
}

// Of the instruments of absolute block a token line has none.
func (keyToken) turn(*work, int, int, Aspect) error { return ErrNoInstrument }
func (keyToken) release(*work, int, int) error      { return ErrNoInstrument }
func (keyToken) driver(*work, int) error            { return nil }

// stock puts the tokens of a circuit into its instruments, as the layout has them.
func (r *Rules) stock(p *circuitPlan, t *talk) {
	if p.sections[singleLine] < 0 || !withTokens(p.kind) {
		return
	}
	for e, b := range p.boxes {
		t.token.in[e] = r.sections[p.sections[singleLine]].Tokens[r.boxes[b].ID]
	}
}
