package block

import (
	"slices"
	"strconv"
	"time"
)

// staff is the working of a single line by one train staff, which no instrument holds: it is in a hand, at one end or on
// a train. One-train working has nothing else; with tickets several trains may follow one another, each but the last on a
// ticket, which comes out of a locked box whose key the staff is. With block telegraph the bells say besides that one
// train only is between the two. W0 to W3 and P-A to P-B in the comments are states of the other-methods reference, 3.2
// and 3.3.
//
// The bells of the block, and the trains, are those of a token line: one train accepted, from one end.
type staff struct {
	keyToken
	tickets bool
	block   bool
}

// staffState is where the staff of a line is, and what has come of its tickets. Everything in pairs is by end.
type staffState struct {
	with    int       // the end whose box has it, or gave it to the train
	carried bool      // a train has it
	holder  TrainID   // that train
	moved   time.Time // when it was last handed over, given up or walked
	open    bool      // the ticket box at that end is open: the staff is in its lock
	showed  bool      // it was shown to a driver, since it came here or the last ticket
	shown   TrainID   // that driver's train
	sent    lastSent  // how the last train was sent: by which end, when
	tickets []ticket  // issued and not given up
	issued  int       // how many there have been
	spent   []string  // those given up
	last    [2]time.Time
}

// lastSent is the sending of a train by an end.
type lastSent struct {
	by int
	at time.Time
}

// ticket is authority for one journey of one train.
type ticket struct {
	number string
	train  TrainID
	from   int
	gone   bool // its train has gone on it
}

// own works a signal that the box at end x rings of its own accord. Without block telegraph a bell says nothing of the
// line, and tokens are not asked for.
func (m staff) own(w *work, x int, g *group, codes []*Code) {
	if key := codes[0].Key; m.block && key != releaseToken && key != tokenReplaced {
		m.keyToken.own(w, x, g, codes)
		return
	}
	w.waits(x, g, codes[0], singleLine)
	w.took(x, g, Signal{Key: codes[0].Key, Sense: Own, Section: w.section(singleLine), Did: effectOf(codes[0].Key, codes[0].Train)})
}

func (m staff) answered(w *work, x int, o *open, g *group) {
	if m.block {
		m.keyToken.answered(w, x, o, g)
		return
	}
	did := effectOf(o.code.Key, o.code.Train)
	if did == Offered {
		did = Accepted
	}
	w.took(x, g, Signal{Key: o.code.Key, Sense: Answer, Section: w.section(o.line), To: o.first, Did: did, Train: o.train})
}

// hold is a bell key kept down, which releases nothing here.
func (staff) hold(*work, int, bool) error { return nil }

// token works the staff and its tickets at end x.
func (m staff) token(w *work, x int) error {
	if !m.tickets && slices.Contains([]Place{ShownTo, Unlocked, Issued, Spent}, w.e.Where) {
		return ErrNoInstrument
	}
	switch w.e.Where {
	case Handed:
		return w.handStaff(x, m)
	case GivenUp:
		return w.receiveStaff(x)
	case Walked:
		return w.walkStaff(x)
	case ShownTo:
		return w.showStaff(x)
	case Unlocked:
		w.unlock(x)
		return nil
	case Issued:
		return w.issue(x, m)
	case Spent:
		return w.takeTicket(x)
	}
	return ErrNoInstrument
}

// handStaff gives the staff to a train at end x: W1, P-→. Its ticket box must be locked first, for the staff is the key.
func (w *work) handStaff(x int, m staff) error {
	st := &w.t.staff
	switch {
	case st.with != x && !st.carried, st.with == x && st.carried:
		return ErrNoToken
	case st.with != x: // it must have come here, and nobody wrote it down
		w.breaks("ST-10", x, singleLine, w.e.At)
	case st.open:
		w.refuse(TicketBoxOpen)
		return nil
	}
	if m.block && w.occupiedByBell() {
		w.breaks("ST-04", x, singleLine, w.e.At)
	}
	st.with, st.carried, st.holder, st.showed, st.moved = x, true, w.e.Train, false, w.e.At
	st.sent = lastSent{x, w.e.At}
	w.movedStaff(x, "")
	return nil
}

// receiveStaff takes the staff from a train at end x: W0, P-B.
func (w *work) receiveStaff(x int) error {
	st := &w.t.staff
	if !st.carried || w.e.Train != "" && st.holder != "" && st.holder != w.e.Train {
		return ErrNoToken
	}
	st.with, st.carried, st.holder, st.moved = x, false, "", w.e.At
	w.movedStaff(x, "")
	return nil
}

// walkStaff is the staff wanted at the other end, and no train to take it: it is walked or ridden over. ST-07 if it was
// sent, or left behind, by whoever sent the last train.
func (w *work) walkStaff(x int) error {
	st := &w.t.staff
	switch {
	case st.carried || st.with != x:
		return ErrNoToken
	case st.open:
		w.refuse(TicketBoxOpen)
		return nil
	}
	if !st.sent.at.IsZero() {
		w.breaks("ST-07", st.sent.by, singleLine, st.sent.at)
	}
	st.with, st.showed, st.sent, st.moved = 1-x, false, lastSent{}, w.e.At
	w.movedStaff(1-x, "")
	return nil
}

// showStaff shows the staff to the driver who is to have a ticket.
func (w *work) showStaff(x int) error {
	st := &w.t.staff
	if st.carried || st.with != x {
		return ErrNoToken
	}
	st.showed, st.shown = true, w.e.Train
	w.movedStaff(x, "")
	return nil
}

// unlock opens the ticket box at end x, or locks it again. Without the staff there is no key.
func (w *work) unlock(x int) {
	st := &w.t.staff
	if st.carried || st.with != x {
		w.refuse(NoStaff)
		return
	}
	st.open = !w.e.Off
	w.movedStaff(x, "")
}

// issue gives a ticket to a train at end x: P-Ak. Tickets come off in the order of their numbers unless one is named.
func (w *work) issue(x int, m staff) error {
	st := &w.t.staff
	number := w.e.Words
	if number == "" {
		number = strconv.Itoa(st.issued + 1)
	}
	again := slices.Contains(st.spent, number) || slices.ContainsFunc(st.tickets, func(t ticket) bool { return t.number == number })
	switch {
	case st.with != x || st.carried || !st.open:
		w.breaks("ST-02", x, singleLine, w.e.At)
	case again:
		w.breaks("ST-08", x, singleLine, w.e.At)
	case m.block && w.occupiedByBell():
		w.breaks("ST-04", x, singleLine, w.e.At)
	case !st.showed || st.shown != "" && w.e.Train != "" && st.shown != w.e.Train:
		w.breaks("ST-03", x, singleLine, w.e.At)
	}
	st.issued++
	st.showed, st.sent = false, lastSent{x, w.e.At}
	st.tickets = append(slices.Clip(st.tickets), ticket{number: number, train: w.e.Train, from: x})
	w.movedStaff(x, number)
	return nil
}

// takeTicket is a ticket given up at end x by the train that came on it, and cancelled.
func (w *work) takeTicket(x int) error {
	st := &w.t.staff
	i := slices.IndexFunc(st.tickets, func(t ticket) bool {
		return (w.e.Words == "" || t.number == w.e.Words) && (w.e.Train == "" || t.train == "" || t.train == w.e.Train)
	})
	if i < 0 {
		return ErrNoToken
	}
	number := st.tickets[i].number
	st.spent = append(slices.Clip(st.spent), number)
	st.tickets = slices.Delete(slices.Clone(st.tickets), i, i+1)
	w.movedStaff(x, number)
	return nil
}

// occupiedByBell tells whether the bells have a train in the section.
func (w *work) occupiedByBell() bool { return w.t.lines[singleLine].stands >= ent }

// movedStaff tells what became of the staff, or of the ticket of that number, at the box at end x.
func (w *work) movedStaff(x int, number string) {
	w.change(Change{Token: &Moved{Section: w.section(singleLine), Box: w.id(x), Out: w.t.staff.carried, Train: w.e.Train, Number: number}})
}

// train follows a train on the single line. Where no bell gives it up, it is gone as soon as it has come in whole.
func (m staff) train(w *work, l int) error {
	err := m.keyToken.train(w, l)
	ln := &w.t.lines[singleLine]
	for i := len(ln.trains) - 1; err == nil && !m.block && i >= 0; i-- {
		if ln.trains[i].inside() {
			ln.remove(i)
		}
	}
	return err
}

// lever is the branch signal at end x: where it is locked at all, the staff given to a train frees it, or a ticket.
func (staff) lever(w *work, x, _ int, back bool) error {
	ln := &w.t.lines[singleLine]
	if !back {
		switch {
		case ln.collar[x]:
			w.refuse(Collared)
			return nil
		case w.authority(x, "") >= 0:
		case w.p.level != Free && w.p.level != "":
			w.refuse(NotDrawn)
			return nil
		default:
			w.breaks("ST-01", x, singleLine, w.e.At)
		}
	}
	w.t.token.signal[x] = !back
	w.change(Change{Lever: &Pulled{Section: w.section(singleLine), Off: !back}})
	return nil
}

// place puts the staff where the layout has it at the opening.
func (r *Rules) placeStaff(p *circuitPlan, t *talk) {
	if p.sections[singleLine] < 0 || !withStaff(p.kind) {
		return
	}
	if at := r.sections[p.sections[singleLine]].Staff; at == r.boxes[p.boxes[upEnd]].ID {
		t.staff.with = upEnd
	}
}
