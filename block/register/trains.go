package register

import (
	"taillamp/block"
)

// sighting books what the box saw of a train: arrived, passed, departed.
func (b *Book) sighting(e *block.Event, t *block.Spotted) *Row {
	sec, ok := b.rules.Section(t.Section)
	if !ok || e.By != b.Box {
		return nil
	}
	switch t.Where {
	case block.Leaves:
		return b.departs(sec, t, e)
	case block.Departs:
		r := b.ofTrain(t.Train, sec.ID)
		return b.fill(r, Departed, e.At)
	case block.Heads:
		r := b.coming(sec, t.Train)
		if r == nil || r.Has(Arrived) || r.Has(Passed) {
			return r
		}
		r.bySight = true
		return b.fill(r, Arrived, e.At)
	case block.WasIn:
		return b.late(sec, t.Train, Arrived, e)
	case block.WasBy:
		return b.late(sec, t.Train, Passed, e)
	case block.Arrives:
		return b.fill(b.coming(sec, t.Train), Arrived, e.At)
	case block.Passes:
		r := b.coming(sec, t.Train)
		if r == nil || r.Has(Arrived) || r.Has(Passed) || r.Has(Departed) {
			return r
		}
		return b.fill(r, Passed, e.At)
	}
	return nil
}

// late books an arrival or a passing that was forgotten until the train was out of section: with the time at which it is
// booked, and marked, for nobody knows any more when it was.
func (b *Book) late(sec block.Section, train block.TrainID, c Column, e *block.Event) *Row {
	r := b.last1(func(r *Row) bool {
		return r.Kind == TrainRow && r.rear == sec.ID && r.Has(OutSent) && !r.Has(Arrived) && !r.Has(Passed) && r.Train == train
	})
	if r = b.fill(r, c, e.At); r != nil {
		r.Cells[c].Late = true
	}
	return r
}

// coming finds the line of a train that comes to this box by a section.
func (b *Book) coming(sec block.Section, train block.TrainID) *Row {
	if r := b.first(func(r *Row) bool { return r.rear == sec.ID && r.Train == train && train != "" && !r.Has(OutSent) }); r != nil {
		return r
	}
	r := b.first(func(r *Row) bool {
		return r.rear == sec.ID && !r.Has(OutSent) && !r.Has(Arrived) && !r.Has(Passed) && (r.Train == "" || train == "")
	})
	if r != nil && r.Train == "" {
		r.Train = train
	}
	return r
}

// ofTrain finds the open line of a train that is at this box, coming or going.
func (b *Book) ofTrain(train block.TrainID, sec block.SectionID) *Row {
	return b.last1(func(r *Row) bool {
		return r.Kind == TrainRow && (r.Train == train && train != "" || train == "" && (r.ahead == sec || r.rear == sec)) && !r.Has(Departed)
	})
}

// departs books the train passing the section signal. If its engine has only just come by it did not stop, unless it was
// booked to and took longer than a start takes; else it started from the box so long before.
func (b *Book) departs(sec block.Section, t *block.Spotted, e *block.Event) *Row {
	r := b.first(func(r *Row) bool {
		return r.ahead == sec.ID && r.Train == t.Train && t.Train != "" && !r.Has(OutReceived)
	})
	if r == nil {
		r = b.first(func(r *Row) bool {
			return r.ahead == sec.ID && !r.Has(OutReceived) && !r.Has(Departed) && (r.Train == "" || t.Train == "")
		})
	}
	if r == nil || r.Has(Departed) || r.Has(Passed) {
		return r
	}
	at := b.clock.At(e.At).Add(b.fast)
	since := at.Sub(r.Cells[Arrived].At)
	stopped := b.plan.stops(r.Train) && since > startToSignal
	if r.bySight && since <= passing && !stopped {
		r.Cells[Passed], r.Cells[Arrived], r.bySight = r.Cells[Arrived], Cell{}, false
		return r
	}
	r = b.fill(r, Departed, e.At.Add(-startToSignal))
	if came := r.Cells[Arrived].At; r.Has(Arrived) && r.Cells[Departed].At.Before(came) {
		r.Cells[Departed].At = came
	}
	return r
}
