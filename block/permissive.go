package block

import (
	"slices"
	"strings"
	"time"
)

// permissive is permissive block on a goods line or loop: several trains at a time in one section, as many as it
// holds, each behind the other and warned of it; a passenger train has it to itself. The rows are those of the
// other-methods reference, 5.3.
//
// The standing is that of the train offered next: idle, offered, accepted. The trains that are in stand in line.trains,
// and line.count is what the indicator shows of them.
type permissive struct{}

// lineOccupied is the other answer, for a line that is occupied already, where the layout has one (from memory).
const lineOccupied CodeKey = "line-occupied"

func (permissive) own(w *work, x int, g *group, codes []*Code) {
	code := codes[0]
	switch {
	case code.Train && w.has(x):
		w.offerBehind(x, g, code)
	case code.Key == lineOccupied && w.has(1-x) && w.t.offer[1-x] != nil:
		w.acceptOccupied(x, g, code)
	case code.Train, code.Key == lineOccupied:
		w.senseless(x, g)
	case code.Key == enteringSection && w.has(x):
		w.enterBehind(x, g, code)
	case (code.Key == outOfSection || code.Key == obstructionGone) && w.has(1-x):
		w.outBehind(x, g, codes)
	case code.Key == cancelling && w.has(x):
		w.t.offer[x] = nil
		w.waits(x, g, code, x)
		w.took(x, g, Signal{Key: code.Key, Sense: Own, Section: w.section(x), Did: Cancelled})
	case code.Key == blockBackInside, code.Key == blockBackOutside:
		w.blockBack(x, g, code)
	case code.Key == openingCode, code.Key == closingCode, code.Key == closingLocked:
		w.farewell(x, g, code)
	case code.Key == obstructionDanger:
		w.danger(x, g, code)
	case code.Key == testingCode:
		w.test(x, g, code)
	default:
		w.across(x, g, code, onlyLine(w))
	}
}

func (permissive) answered(w *work, x int, o *open, g *group) {
	s := Signal{Key: o.code.Key, Sense: Answer, Section: w.section(o.line), To: o.first, Train: o.train, Did: Across}
	switch {
	case o.code.Train:
		s.Did = w.acceptBehind(x, o, g, false)
	case o.void:
	case o.code.Key == enteringSection:
		s.Did = Entering
	case o.code.Key == outOfSection:
		w.giveUpFirst(o.line, g.first)
		s.Did = OutOf
	case o.code.Key == obstructionGone:
		w.removed(x, o)
		s.Did = Removed
	case o.code.Key == cancelling:
		w.cancelBehind(o.line)
		s.Did = Cancelled
	default:
		w.bindOther(x, o)
	}
	w.took(x, g, s)
}

// offerBehind is A's class code. It is no fault to offer into an occupied line: B keeps silence if it is full.
func (w *work) offerBehind(a int, g *group, code *Code) {
	ln := &w.t.lines[a]
	o := w.waits(a, g, code, a)
	w.took(a, g, Signal{Key: code.Key, Sense: Own, Section: w.section(a), Did: Offered, Train: o.train})
	if w.againstDanger(a) {
		w.breaks("R58", a, a, g.first)
	}
	if ln.stands <= ofw {
		ln.stands = off
		ln.offer = &acceptance{code: code, first: g.first, train: o.train}
	}
}

// acceptOccupied is 2-4-1, rung by the box at end b: the train is accepted, and the line is occupied.
func (w *work) acceptOccupied(b int, g *group, code *Code) {
	o := w.t.offer[1-b]
	w.t.offer[1-b] = nil
	did := w.acceptBehind(b, o, g, true)
	w.took(b, g, Signal{Key: code.Key, Sense: Answer, Section: w.section(o.line), To: o.first, Train: o.train, Did: did})
}

// acceptBehind is B's answer to a class code.
func (w *work) acceptBehind(b int, o *open, g *group, occupied bool) Effect {
	ln := &w.t.lines[o.line]
	if ln.stands != acc || ln.used || ln.offer.code != o.code {
		w.judgeAcceptBehind(b, o, g.first, occupied)
	}
	ln.stands, ln.used, ln.warned = acc, false, false
	ln.offer = &acceptance{code: o.code, first: o.first, at: g.first, train: o.train}
	return Accepted
}

// enterBehind is A's 2: one more is in the section.
func (w *work) enterBehind(a int, g *group, code *Code) {
	ln := &w.t.lines[a]
	w.t.offer[a] = nil
	again := ln.ringsAgain(w.t.other[a])
	i := ln.withoutTwo()
	if !again && (i < 0 || !ln.trains[i].found) {
		w.judgeEnterBehind(a, i, g.first)
	}
	if i < 0 && !again {
		ln.trains = append(ln.trains[:len(ln.trains):len(ln.trains)], ln.next(""))
		i = len(ln.trains) - 1
	}
	if i >= 0 {
		ln.change(i).two = g.first
	}
	if !again {
		w.settleBehind(a)
	}
	ln.entered = g.first
	w.waits(a, g, code, a)
	w.took(a, g, Signal{Key: code.Key, Sense: Own, Section: w.section(a), Did: Entering, Train: ln.idOf(i)})
}

// next is the train that goes in on what is accepted.
func (l *line) next(id TrainID) occupant {
	o := occupant{id: id, accepted: l.stands == acc && !l.used}
	if o.accepted && l.offer != nil {
		o.coaching = coaching(l.offer.code)
		if o.id == "" {
			o.id = l.offer.train
		}
	}
	return o
}

// settleBehind puts the line back to nothing accepted; an offer made meanwhile comes into its own.
func (w *work) settleBehind(l int) {
	ln := &w.t.lines[l]
	ln.stands, ln.offer, ln.used = idle, nil, false
	if o := w.t.offer[l]; o != nil && !o.void {
		ln.stands, ln.offer = off, &acceptance{code: o.code, first: o.first, train: o.train}
	}
}

// outBehind is B's 2-1: the first train is out, or an obstruction is gone.
func (w *work) outBehind(b int, g *group, codes []*Code) {
	l := 1 - b
	if w.removes(b, l) {
		w.remove(b, l, g, pick(codes, obstructionGone))
		return
	}
	ln := &w.t.lines[l]
	code := pick(codes, outOfSection)
	if !ln.ringsOut(w.t.other[b]) && permissiveOutForNothing(ln) {
		w.breaks("PM-05", b, l, g.first)
	}
	id := TrainID("")
	if i := ln.firstOut(); i >= 0 {
		id = ln.trains[i].id
	}
	w.waits(b, g, code, l)
	w.took(b, g, Signal{Key: code.Key, Sense: Own, Section: w.section(l), Did: OutOf, Train: id})
}

// firstOut finds the train that a 2-1 gives up: the oldest known to be out, else the oldest; -1 if there is none.
func (l *line) firstOut() int {
	for i := range l.trains {
		if o := &l.trains[i]; !o.given && o.out() {
			return i
		}
	}
	return l.train("")
}

// giveUpFirst is A's repetition of 2-1: one train fewer, and the count with it.
func (w *work) giveUpFirst(l int, at time.Time) {
	ln := &w.t.lines[l]
	i := ln.firstOut()
	ln.outGiven, ln.runaway = at, false
	if i < 0 {
		return
	}
	if o := &ln.trains[i]; o.out() || o.left.IsZero() && o.seen == "" {
		ln.remove(i)
	} else {
		ln.change(i).given = true
	}
	if ln.count > 0 {
		ln.count--
		w.change(Change{Indicator: &Shown{Section: w.section(l), Aspect: ln.shows, Count: ln.count}})
	}
}

// cancelBehind is B's repetition of 3-5: the train accepted is not coming; those that are in stay in.
func (w *work) cancelBehind(l int) {
	if w.t.lines[l].stands <= acw {
		w.settleBehind(l)
	}
}

// standing is the line as the notes form prints it: the train offered next if there is one, else whether any are in.
func (permissive) standing(t *talk, l int) string {
	s := absolute{}.standing(t, l)
	if rest, ok := strings.CutPrefix(s, idle.String()); ok && t.lines[l].held() > 0 {
		return lin.String() + rest
	}
	return s
}

// held is how many trains are in the section, by the bells or by what was seen.
func (l *line) held() int {
	n := 0
	for i := range l.trains {
		if !l.trains[i].given {
			n++
		}
	}
	return n
}

// coaching tells whether a class counts as a passenger train on a permissive line (reference 5.6, PM-ex3).
func coaching(c *Code) bool { return c.Passengers || c.Coaching }

// holdsCoaching tells whether such a train is in the section.
func (l *line) holdsCoaching() bool {
	return slices.ContainsFunc(l.trains, func(o occupant) bool { return !o.given && o.coaching })
}

// capacity is how many trains the line leaving end l holds.
func (w *work) capacity(l int) int { return max(1, w.r.sections[w.p.sections[l]].Capacity) }

// Driver and sealed release: the line has neither act of its own.
func (permissive) hold(*work, int, bool) error   { return nil }
func (permissive) token(*work, int) error        { return ErrNoInstrument }
func (permissive) release(*work, int, int) error { return ErrNoInstrument }
func (permissive) driver(w *work, l int) error   { return absolute{}.driver(w, l) }
func (permissive) told(w *work, l int) error     { return absolute{}.told(w, l) }
func (permissive) foul(w *work, x, l int) error  { return absolute{}.foul(w, x, l) }
