package register

import "taillamp/block"

// Signals of tokens that go with no train: they are written across the page, and the token's times stand with them
// (other-methods reference, 2.9).
const (
	releaseToken  = "release-token"
	tokenReplaced = "token-replaced"
)

// token books a token drawn or restored at this box: with the train that goes or came with it, or with the 5-2 and 2-5
// that no train belongs to.
func (b *Book) token(e *block.Event, m *block.Moved) *Row {
	if m.Box != b.Box && e.By != b.Box {
		return nil
	}
	switch e.Where {
	case block.Drawn:
		if r := b.drawnFor(m.Section); r != nil {
			return b.fill(r, TokenOut, e.At)
		}
	case block.Handed, block.GivenUp, block.Walked, block.Unlocked, block.ShownTo, block.Issued, block.Spent:
		return b.staff(e, m)
	case block.Taken:
		return b.note(e, "lineman took tokens nos. "+e.Words+" of "+b.lineOf(m.Section))
	case block.Put:
		return b.note(e, "lineman put in tokens nos. "+e.Words+" of "+b.lineOf(m.Section)+", numbers compared")
	case block.ShutIn:
		return b.remark(block.Event{At: e.At, Train: e.Train, Words: "shut in at the siding, token in"})
	case block.LetOut:
		return b.remark(block.Event{At: e.At, Train: e.Train, Words: "let out of the siding to " + b.far(m.Section)})
	case block.Restored:
		if r := b.restoredFrom(m.Section); r != nil {
			return b.fill(r, TokenIn, e.At)
		}
		b.tokenIn[m.Section] = b.cell(e.At) // of a 2-5 that is yet to be rung
	}
	return nil
}

// drawnFor is the line a token drawn here belongs to: the train accepted ahead that has none, or the 5-2 answered last.
func (b *Book) drawnFor(sec block.SectionID) *Row {
	r := b.last1(func(r *Row) bool {
		return r.Kind == TrainRow && r.ahead == sec && r.Has(AcceptedAhead) && !r.Has(OutReceived) ||
			b.asked(r, sec) && r.Sent
	})
	if r == nil || r.Has(TokenOut) {
		return nil
	}
	return r
}

// asked tells whether a line of the book is a 5-2 about that section which has been answered.
func (b *Book) asked(r *Row, sec block.SectionID) bool {
	return r.Kind == SignalRow && r.Key == releaseToken && r.tokenOf == sec && r.Has(Acknowledged)
}

// restoredFrom is the line a token put back here belongs to: the train that came with it, or the one that was to have
// gone. A token drawn for shunting waits for its 2-5.
func (b *Book) restoredFrom(sec block.SectionID) *Row {
	last := b.last1(func(r *Row) bool {
		return r.Kind == TrainRow && (r.rear == sec && r.Has(Accepted) || r.ahead == sec && r.Has(TokenOut)) ||
			b.asked(r, sec) && r.Has(TokenOut)
	})
	if last == nil || last.Kind != TrainRow || last.Has(TokenIn) {
		return nil
	}
	return last
}

// shunt is what the sequence has a token asked for by that code for, such as an engineer's trolley: the first not yet seen
// that comes to either end of the section.
func (b *Book) shunt(code block.Beats, id block.SectionID) block.TrainID {
	sec, _ := b.rules.Section(id)
	for _, w := range b.plan.timetable.Workings {
		here := len(w.Calls) == 0
		for _, c := range w.Calls {
			here = here || c.Box == sec.Rear || c.Box == sec.Advance
		}
		if here && w.Code.Equal(code) && !b.plan.seen[w.Train] {
			return w.Train
		}
	}
	return ""
}

// withToken writes to the line of a 5-2 or 2-5 what the box knows besides the bells: the train of the sequence that it
// is for, and the token put back before.
func (b *Book) withToken(r *Row, sec block.SectionID) {
	r.tokenOf = sec
	switch r.Key {
	case releaseToken:
		r.Train = b.shunt(r.Code, sec)
		b.plan.see(r.Train)
	case tokenReplaced:
		if asked := b.last1(func(x *Row) bool { return x.Key == releaseToken && x.tokenOf == sec }); asked != nil {
			r.Train = asked.Train
		}
		if cell, ok := b.tokenIn[sec]; ok && r.Sent {
			r.Cells[TokenIn] = cell
			delete(b.tokenIn, sec)
		}
	}
}

// far is the box at the other end of a single line.
func (b *Book) far(id block.SectionID) string {
	s, _ := b.rules.Section(id)
	if s.Rear == b.Box {
		return string(s.Advance)
	}
	return string(s.Rear)
}
