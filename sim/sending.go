package sim

import (
	"slices"
	"time"

	"taillamp/block"
)

// sends are the trains that a signaller means to send on, in the order of the sequence.
func (w *world) sends(p *person) []block.Sending {
	var sends []block.Sending
	for _, v := range p.calls {
		if from, ok := w.offerFrom(v); ok && !w.untested(v.t.way[v.k].Circuit) {
			sends = append(sends, block.Sending{Train: v.t.Train, Section: v.t.way[v.k].ID, Beats: v.t.Code, From: from, Follows: w.followed(v)})
		}
	}
	return sends
}

// followed tells whether, by the sequence, the next train on a line worked by staff goes the same way.
func (w *world) followed(v visit) bool {
	s, mine := v.t.way[v.k], w.booked(v)
	if !block.WithStaff(s.Method) {
		return false
	}
	same, first := false, time.Time{}
	for _, p := range []*person{w.of[s.Rear], w.of[s.Advance]} {
		if p == nil {
			continue
		}
		for _, o := range p.calls {
			if o.k >= len(o.t.way) || o.t.way[o.k].ID != s.ID {
				continue
			}
			if at := w.booked(o); at.After(mine) && (first.IsZero() || at.Before(first)) {
				first, same = at, p.Box == v.t.Calls[v.k].Box
			}
		}
	}
	return same
}

// untested tells whether signals of opening, closing or testing are still to come on a circuit: no train is offered then.
func (w *world) untested(id block.CircuitID) bool {
	c, _ := w.circuit(id)
	return slices.ContainsFunc(c.Boxes[:], func(b block.BoxID) bool { // who has a chore is at one of its ends
		p := w.of[b]
		return p != nil && len(p.chores) > 0 && slices.ContainsFunc(p.chores, func(c chore) bool { return c.circuit == id })
	})
}

// offerFrom is when a train may be offered on from a box, if the box knows of it and has not sent it yet.
func (w *world) offerFrom(v visit) (time.Time, bool) {
	t := v.t
	if v.k+1 >= len(t.Calls) || t.at > v.k || t.at == v.k && t.running {
		return time.Time{}, false
	}
	lead := 2 * time.Minute
	if t.Freight {
		lead = 3 * time.Minute
	}
	switch {
	case t.at == v.k && v.k == 0:
		return t.from.Add(-lead), t.waits
	case t.at == v.k:
		return w.booked(v).Add(-stopEarly), true
	case t.at == v.k-1 && (t.running && t.two || w.short(t, v.k)):
		if t.Calls[v.k].Pass < 0 {
			return w.booked(v).Add(-stopEarly), true
		}
		return w.now, true
	}
	return time.Time{}, false
}

// short tells whether the run to a call is so short that the train is offered on as soon as it has been accepted.
func (w *world) short(t *train, k int) bool {
	s := t.way[k-1]
	return w.clear[s.ID] == t.Train && t.Calls[k].Run > 0 && time.Duration(t.Calls[k].Run)*time.Second <= shortRun
}

// full are the lines from which a box can take no train: every road of a yard is taken or promised, the bells have still
// to be tested, or it is foggy.
func (w *world) full(p *person) []block.SectionID {
	none := w.fogbound(p)
	for _, c := range p.chores {
		if c, ok := w.circuit(c.circuit); ok {
			for _, s := range c.Sections {
				none = append(none, s.ID)
			}
		}
	}
	if p.box.Roads == 0 {
		return none
	}
	taken, lines := w.taken(p)
	if taken < p.box.Roads {
		return none
	}
	return append(none, lines...)
}

// acceptedTrain is the train that an acceptance is for: the one it names, else the first of that class which is to go by
// that line next, from the other end than the one that accepted.
func (w *world) acceptedTrain(s *block.Signal) block.TrainID {
	if s.Train != "" {
		return s.Train
	}
	sec, ok := w.r.Section(s.Section)
	if !ok {
		return ""
	}
	from := sec.Rear
	if from == s.By { // a single line, against its name
		from = sec.Advance
	}
	for _, v := range w.of[from].calls {
		t := v.t
		if v.k < len(t.way) && t.way[v.k].ID == s.Section && t.Code.Equal(s.Beats) && (t.at < v.k || t.at == v.k && !t.running) {
			return t.Train
		}
	}
	return ""
}
