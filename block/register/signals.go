package register

import (
	"slices"
	"strings"

	"taillamp/block"
)

// signal books a bell signal. Call attention is not booked; a signal with a column fills it; one without goes across.
func (b *Book) signal(s *block.Signal) *Row {
	if s.Sense == block.Wrong || s.Sense == block.Void || s.Did == "" || s.Did == block.Called || s.Key == "call-attention" {
		return nil
	}
	c, ok := b.circuit(s.Circuit)
	if !ok {
		return nil
	}
	sec, ok := b.rules.Section(s.Section)
	switch {
	case ok && s.Key == assistingRear:
		return b.assisted(s)
	case !ok || !hasColumn(s.Did):
		if s.Did == block.Mended && s.Sense == block.Answer {
			b.mend(s)
		}
		return b.across(c, s)
	case sec.Way == "both":
		return b.onSingle(sec, s)
	case sec.Advance == b.Box:
		return b.fromRear(sec, sec.Rear, s)
	}
	return b.toAhead(sec, sec.Advance, s)
}

// assistingRear is the signal for an engine behind the train, sent after its 2: it belongs to that train's remarks.
const assistingRear = "assisting-rear"

func (b *Book) assisted(s *block.Signal) *Row {
	r := b.last1(func(r *Row) bool {
		return r.ahead == s.Section && r.Has(EnteringSent) && !r.Has(OutReceived) ||
			r.rear == s.Section && r.Has(EnteringReceived) && !r.Has(OutSent)
	})
	if r == nil || s.Sense == block.Answer {
		return r
	}
	way := " received "
	if s.By == b.Box {
		way = " sent "
	}
	r.Remarks = append(r.Remarks, s.Beats.String()+way+b.Rounding().Full(b.cell(s.First).At))
	return r
}

// mend writes the right class of a train to its line; the remarks keep what it was first called.
func (b *Book) mend(s *block.Signal) {
	r := b.last1(func(r *Row) bool {
		return r.ahead == s.Section && r.Has(AcceptedAhead) && !r.Has(OutReceived) ||
			r.rear == s.Section && r.Has(Accepted) && !r.Has(OutSent)
	})
	if r == nil {
		return
	}
	r.Remarks = append(r.Remarks, "first described as "+r.Code.String())
	train := r.Train
	b.describe(r, s)
	r.Train = train
}

func (b *Book) circuit(id block.CircuitID) (block.Circuit, bool) {
	for _, c := range b.circuits {
		if c.ID == id {
			return c, true
		}
	}
	return block.Circuit{}, false
}

func hasColumn(e block.Effect) bool {
	switch e {
	case block.Offered, block.Accepted, block.AcceptedW, block.Entering, block.OutOf:
		return true
	}
	return false
}

// onSingle books a signal of a single line: which way the train runs, the box that offered it says.
func (b *Book) onSingle(sec block.Section, s *block.Signal) *Row {
	other := sec.Rear
	if other == b.Box {
		other = sec.Advance
	}
	mine := s.By == b.Box
	own := s.Sense == block.Own
	forward := s.Did != block.OutOf // 2-1 is rung by the box the train came to
	if mine == own == forward {
		return b.toAhead(sec, other, s)
	}
	return b.fromRear(sec, other, s)
}

// fromRear books a signal about a train that comes to this box.
func (b *Book) fromRear(sec block.Section, rear block.BoxID, s *block.Signal) *Row {
	switch {
	case s.Did == block.Offered && s.Sense == block.Own:
		return b.offered(sec, rear, s)
	case s.Did == block.Accepted || s.Did == block.AcceptedW:
		r := b.awaiting(sec.ID, OfferedFromRear, Accepted, s.Train)
		if r != nil {
			r.RearWarning = s.Did == block.AcceptedW
		}
		return b.fill(r, Accepted, s.First)
	case s.Did == block.Entering && s.Sense == block.Answer:
		return b.fill(b.awaiting(sec.ID, Accepted, EnteringReceived, ""), EnteringReceived, s.To)
	case s.Did == block.OutOf && s.Sense == block.Answer:
		return b.fill(b.awaiting(sec.ID, Accepted, OutSent, ""), OutSent, s.To)
	}
	return nil
}

// offered opens a line, or is the same train offered again after a silence: then the later time stands.
func (b *Book) offered(sec block.Section, rear block.BoxID, s *block.Signal) *Row {
	if r := b.last1(func(r *Row) bool {
		return r.rear == sec.ID && r.Has(OfferedFromRear) && !r.Has(Accepted) && !r.Has(OutSent)
	}); r != nil && r.Code.Equal(s.Beats) {
		r.Cells[OfferedFromRear] = b.cell(s.First)
		return r
	}
	r := &Row{Kind: TrainRow, Page: pageOf(sec, rear), Rear: rear, RearLine: sec.Line, rear: sec.ID}
	b.describe(r, s)
	if r.Train == "" {
		b.plan.name(r, rear, "")
	}
	b.open(r)
	return b.fill(r, OfferedFromRear, s.First)
}

// describe writes what a class code says of the train.
func (b *Book) describe(r *Row, s *block.Signal) {
	r.Code, r.Key, r.Train = s.Beats, s.Key, s.Train
	b.plan.see(r.Train)
	if c, ok := b.circuit(s.Circuit); ok {
		if code, ok := c.Book.Key(s.Key); ok {
			r.Class = code.Class
		}
	}
}

// awaiting finds the oldest line of a section, on the side of the page that the columns stand on, that has one and lacks
// another.
func (b *Book) awaiting(sec block.SectionID, has, lacks Column, train block.TrainID) *Row {
	return b.first(func(r *Row) bool {
		return r.section(lacks) == sec && r.Has(has) && !r.Has(lacks) && (train == "" || r.Train == "" || r.Train == train)
	})
}

// toAhead books a signal about a train that this box sends on.
func (b *Book) toAhead(sec block.Section, ahead block.BoxID, s *block.Signal) *Row {
	switch {
	case s.Did == block.Offered && s.Sense == block.Own:
		return b.offersOn(sec, ahead, s)
	case s.Did == block.Accepted || s.Did == block.AcceptedW:
		r := b.awaiting(sec.ID, OfferedAhead, AcceptedAhead, s.Train)
		if r != nil {
			r.AheadWarn = s.Did == block.AcceptedW
		}
		return b.fill(r, AcceptedAhead, s.First)
	case s.Did == block.Entering && s.Sense == block.Answer:
		return b.fill(b.awaiting(sec.ID, AcceptedAhead, EnteringSent, ""), EnteringSent, s.To)
	case s.Did == block.OutOf && s.Sense == block.Answer:
		return b.fill(b.awaiting(sec.ID, AcceptedAhead, OutReceived, ""), OutReceived, s.To)
	}
	return nil
}

// offersOn is this box offering a train forward: it joins the oldest line of that train, or of that class that goes
// that way, or opens a line for a train that starts here.
func (b *Book) offersOn(sec block.Section, ahead block.BoxID, s *block.Signal) *Row {
	r := b.last1(func(r *Row) bool {
		return r.ahead == sec.ID && r.Has(OfferedAhead) && !r.Has(AcceptedAhead) && r.Code.Equal(s.Beats)
	})
	if r != nil { // offered again after a silence
		r.Cells[OfferedAhead] = b.cell(s.First)
		return r
	}
	r = b.first(func(r *Row) bool {
		return r.Kind == TrainRow && r.ahead == "" && !r.off && r.Rear != ahead && b.goesOn(r, ahead, s)
	})
	if r == nil {
		r = &Row{Kind: TrainRow, Page: pageOf(sec, b.Box)}
		b.describe(r, s)
		if r.Train == "" {
			r.Train = b.waiting(sec.ID, s.Beats)
		}
		if r.Train == "" {
			b.plan.name(r, "", ahead)
		}
		b.open(r)
	}
	r.Ahead, r.AheadLine, r.ahead = ahead, sec.Line, sec.ID
	if sec.Way != "both" || r.rear == "" {
		r.Page = pageOf(sec, b.Box)
	}
	return b.fill(r, OfferedAhead, s.First)
}

// goesOn tells whether the train of a line may be the one that is being offered on to a box.
func (b *Book) goesOn(r *Row, ahead block.BoxID, s *block.Signal) bool {
	if s.Train != "" && r.Train != "" {
		return r.Train == s.Train
	}
	return r.Code.Equal(s.Beats) && b.plan.mayGo(r.Train, ahead)
}

// pageOf is the page of a train on that line, sent by the box in rear: Down, Up, or of a single line its own pages.
func pageOf(sec block.Section, rear block.BoxID) string {
	switch {
	case sec.Way == "down":
		return "Down"
	case sec.Way == "up":
		return "Up"
	}
	way := " Up"
	if rear == sec.Rear {
		way = " Down"
	}
	name, _, _ := strings.Cut(sec.Line, " ")
	return name + way
}

// Pages are the pages that the book of a box may come to have, Down and Up first, then those of its branches.
func Pages(r *block.Rules, box block.BoxID) []string {
	var main, branches []string
	for _, c := range r.Circuits() {
		if c.Boxes[0] != box && c.Boxes[1] != box {
			continue
		}
		for _, sec := range c.Sections {
			for _, rear := range []block.BoxID{sec.Rear, sec.Advance} {
				page, to := pageOf(sec, rear), &main
				if sec.Way == "both" {
					to = &branches
				}
				if !slices.Contains(*to, page) {
					*to = append(*to, page)
				}
			}
		}
	}
	slices.Sort(main)
	return append(main, branches...)
}

// across books a signal that has no column. Its answer completes the same line.
func (b *Book) across(c block.Circuit, s *block.Signal) *Row {
	if s.Sense == block.Answer {
		r := b.last1(func(r *Row) bool {
			return r.Kind == SignalRow && r.Key == s.Key && !r.Has(Acknowledged) && r.Other != "" &&
				(r.Other == c.Boxes[0] || r.Other == c.Boxes[1]) && r.Sent == (s.By != b.Box)
		})
		return b.fill(r, Acknowledged, s.First)
	}
	other := c.Boxes[0]
	if other == b.Box {
		other = c.Boxes[1]
	}
	r := &Row{Kind: SignalRow, Page: acrossPage, Code: s.Beats, Key: s.Key, Sent: s.By == b.Box, Other: other}
	if sec, ok := b.rules.Section(s.Section); ok {
		r.Line = sec.Line
	}
	if code, ok := c.Book.Key(s.Key); ok {
		r.Remarks = []string{code.Means}
	}
	r.Urgent = urgent(s.Key)
	if s.Key == releaseToken || s.Key == tokenReplaced {
		b.withToken(r, s.Section)
	}
	b.open(r)
	return b.fill(r, Given, s.First)
}

// urgent tells whether a signal is one of the emergencies.
func urgent(k block.CodeKey) bool {
	switch k {
	case "obstruction-danger", "stop-and-examine", "no-tail-lamp-adv", "no-tail-lamp-rear", "divided", "runaway-wrong", "runaway-right":
		return true
	}
	return false
}
