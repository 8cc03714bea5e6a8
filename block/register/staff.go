package register

import "taillamp/block"

// staff books what was done with the train staff of a line and its tickets: the authority with the train that has it, all
// else across the page (other-methods reference, 3.4). A token handed over is no entry of its own: its drawing is.
func (b *Book) staff(e *block.Event, m *block.Moved) *Row {
	if s, ok := b.rules.Section(m.Section); !ok || block.WithTokens(s.Method) {
		return nil
	}
	with := func(words string) *Row { return b.remark(block.Event{At: e.At, Train: e.Train, Words: words}) }
	switch e.Where {
	case block.Handed:
		return with("staff")
	case block.GivenUp:
		return with("staff here")
	case block.Walked:
		if e.By == b.Box {
			return b.note(e, "staff sent on foot to "+string(m.Box))
		}
		return b.note(e, "staff brought on foot from "+string(e.By))
	case block.ShownTo:
		return with("staff shown")
	case block.Issued:
		return with("ticket " + m.Number)
	case block.Spent:
		return with("ticket " + m.Number + " given up and cancelled")
	}
	return nil
}
