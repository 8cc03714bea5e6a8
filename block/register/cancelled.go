package register

import "taillamp/block"

// cancelled is 3-5 about a train: its line stays as it was written, and no more is booked in the columns of that section,
// but in a new line when the train is offered again. An offer that was not accepted falls with the 3-5, one that was with
// its repetition (absolute-block reference, 3.1 and 5, row 24).
func (b *Book) cancelled(s *block.Signal) *Row {
	if s == nil || s.Key != cancelling || s.Sense == block.Wrong || s.Section == "" {
		return nil
	}
	answered := s.Sense == block.Answer && s.Did == block.Cancelled
	r := b.last1(func(r *Row) bool {
		comes := r.rear == s.Section && r.Has(OfferedFromRear) && !r.Has(OutSent) && r.Has(Accepted) == answered
		goes := r.ahead == s.Section && r.Has(OfferedAhead) && !r.Has(OutReceived) && r.Has(AcceptedAhead) == answered
		return r.Kind == TrainRow && (comes || goes) && (s.Train == "" || r.Train == "" || r.Train == s.Train)
	})
	if r == nil {
		return nil
	}
	if r.rear == s.Section {
		r.from, r.rear = r.rear, ""
	} else {
		r.to, r.ahead = r.ahead, ""
	}
	r.off = true
	r.Remarks = append(r.Remarks, "cancelled") // common practice, no source
	if r.rear == "" && r.ahead == "" {
		b.plan.putOff(r.Train)
	}
	return r
}

const cancelling = "cancelling"

// waiting is the train of that class that has come, and whose offering on by a section was cancelled: it is the one that is
// now offered there again.
func (b *Book) waiting(sec block.SectionID, code block.Beats) block.TrainID {
	again := b.last1(func(r *Row) bool { return r.Kind == TrainRow && r.ahead == sec })
	r := b.last1(func(r *Row) bool { return r.off && r.to == sec && r.Rear != "" && r.from == "" && r.Code.Equal(code) })
	if r == nil || again != nil && again.Train == r.Train {
		return ""
	}
	return r.Train
}
