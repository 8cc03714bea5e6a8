package register

import "taillamp/block"

// pilot books what the pilotman did at this box: his form and his coming across the page, his riding and his tickets with
// the train (other-methods reference, 9.4).
func (b *Book) pilot(e *block.Event, p *block.Piloted) *Row {
	switch {
	case p.Where == block.Form && p.Off:
		return b.note(e, withWords("pilotman's form withdrawn, ordinary working resumed on "+b.lineOf(p.Section), e.Words))
	case p.Where == block.Form:
		return b.note(e, withWords("pilotman's form received and countersigned for "+b.lineOf(p.Section), e.Words))
	case p.Where == block.Comes:
		return b.note(e, "pilotman has come")
	case p.Where == block.Ticket:
		return b.remark(block.Event{At: e.At, Train: p.Train, Words: withWords("pilotman's ticket", e.Words)})
	}
	return b.remark(block.Event{At: e.At, Train: p.Train, Words: "with pilotman"})
}

// engineers books a line given up to the engineers or handed back, in the books of both its ends.
func (b *Book) engineers(e *block.Event, g *block.LineGiven) *Row {
	s, ok := b.rules.Section(g.Section)
	if !ok || s.Rear != b.Box && s.Advance != b.Box {
		return nil
	}
	words := b.lineOf(g.Section) + " given up to the engineers"
	if g.Back {
		words = b.lineOf(g.Section) + " handed back by the engineers"
	}
	return b.note(e, withWords(words, e.Words))
}

// lineOf is a line as the book names it: its name, and from which box to which.
func (b *Book) lineOf(id block.SectionID) string {
	s, _ := b.rules.Section(id)
	return s.Line + " " + string(s.Rear) + " to " + string(s.Advance)
}

func withWords(what, words string) string {
	if words == "" {
		return what
	}
	return what + ": " + words
}
