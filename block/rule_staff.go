package block

import "time"

// onStaff is what authority() gives for a train that has the staff itself; a ticket is its place in the list.
const onStaff = 1 << 16

// authority finds what lets a train go from end x: the staff in its driver's hand, or a ticket that was issued there and
// not used; -1 for nothing. A train of no name has what there is.
func (w *work) authority(x int, train TrainID) int {
	st := &w.t.staff
	if st.carried && st.with == x && (train == "" || st.holder == "" || st.holder == train) {
		return onStaff
	}
	for i := range st.tickets {
		if t := &st.tickets[i]; t.from == x && !t.gone && (train == "" || t.train == "" || t.train == train) {
			return i
		}
	}
	return -1
}

// judgeLeavesStaff lays a train that leaves end x to the first rule that fits, and tells whether one did: ST-01 without
// staff or ticket, or a second one where one only may be; ST-09 with the staff of another section besides; ST-12 before
// the other end accepted it; ST-05 sooner than the laid-down time after the last. Where the staff lies in that box and
// nobody marked its handing over, the train has it.
func (w *work) judgeLeavesStaff(x int, m staff) bool {
	ln, st := &w.t.lines[singleLine], &w.t.staff
	i := w.authority(x, w.e.Train)
	if i < 0 && st.with == x && !st.carried && !st.open && !w.otherStaff(x) {
		st.carried, st.holder, st.moved, st.sent = true, w.e.Train, w.e.At, lastSent{x, w.e.At}
		i = onStaff
	}
	before := len(w.said.irregular)
	switch {
	case i < 0, !m.tickets && ln.held() > 0:
		w.breaks("ST-01", x, singleLine, w.e.At)
		if w.otherStaff(x) {
			w.breaks("ST-09", x, singleLine, w.e.At)
		}
	case m.block && (ln.stands < acc || w.t.token.from != x):
		w.breaks("ST-12", x, singleLine, w.e.At)
	case !m.block && w.tooSoon(x):
		w.breaks("ST-05", x, singleLine, w.e.At)
	}
	if i >= 0 && i != onStaff {
		st.tickets = append([]ticket(nil), st.tickets...)
		st.tickets[i].gone = true
		if st.tickets[i].train == "" {
			st.tickets[i].train = w.e.Train
		}
	}
	st.last[x] = w.e.At
	return len(w.said.irregular) > before
}

// tooSoon tells whether the last train left end x less than the laid-down time ago.
func (w *work) tooSoon(x int) bool {
	last, least := w.t.staff.last[x], time.Duration(w.r.sections[w.p.sections[singleLine]].Interval)
	return !last.IsZero() && w.e.At.Sub(last) < least
}

// otherStaff tells whether the train that leaves has the staff of another section, which this box gave it.
func (w *work) otherStaff(x int) bool {
	for _, n := range w.r.boxes[w.p.boxes[x]].circuits {
		p, st := &w.r.circuits[n], &w.s.circuits[n].talk.staff
		if p.id != w.p.id && withStaff(p.kind) && st.carried && st.holder == w.e.Train && st.with == p.end(w.p.boxes[x]) {
			return true
		}
	}
	return false
}

// judgeOfferStaff is ST-06: the end that has not got the staff offers a train. While a train takes the staff over, the end
// that gave it may offer another, and meets silence.
func (w *work) judgeOfferStaff(x int, at time.Time) {
	if w.againstDanger(x) {
		w.breaks("R58", x, singleLine, at)
	} else if w.t.staff.with != x {
		w.breaks("ST-06", x, singleLine, at)
	}
}

// judgeAcceptStaff is ST-12 for a train accepted while another is accepted or between the two, or the line is not free.
func (w *work) judgeAcceptStaff(x int, at time.Time) {
	tk := &w.t.token
	switch {
	case w.againstDanger(x):
		w.breaks("R58", x, singleLine, at)
	case w.taken() || tk.foul[x] != "":
		w.breaks("ST-12", x, singleLine, at)
	}
}

// judgeEnterStaff is ST-12 for a 2 with no train accepted from that end.
func (w *work) judgeEnterStaff(x int, at time.Time) {
	ln := &w.t.lines[singleLine]
	if !ln.ringsAgain(w.t.other[x]) && (w.t.token.from != x || ln.stands < acc) {
		w.breaks("ST-12", x, singleLine, at)
	}
}

// judgeOutStaff lays a 2-1 at end x: ST-12 if there is no train to give up, if it is not known to be whole, or if its 2
// was never rung, which is the other end's; ST-08 if it came on a ticket that was not given up.
func (w *work) judgeOutStaff(x int, at time.Time) {
	ln := &w.t.lines[singleLine]
	i := ln.comingTo(x)
	if i >= 0 && ln.trains[i].found {
		return
	}
	whole := i < 0 || ln.trains[i].inside() || ln.trains[i].left.IsZero() && ln.trains[i].seen == ""
	switch {
	case ln.stands < acc && i < 0, w.t.token.from == x, !whole:
		w.breaks("ST-12", x, singleLine, at)
	case i >= 0 && ln.trains[i].two.IsZero():
		w.breaks("ST-12", 1-x, singleLine, ln.trains[i].left)
	}
	for _, t := range w.t.staff.tickets {
		if i >= 0 && t.gone && t.from != x && (t.train == "" || t.train == ln.trains[i].id) {
			w.breaks("ST-08", x, singleLine, at)
		}
	}
}
