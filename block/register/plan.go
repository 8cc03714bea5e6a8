package register

import (
	"slices"

	"taillamp/block"
)

// plan is what the sequence of trains says about one box: which trains come from where and go where, in order. It
// names the train of a line where nobody touched the notice: the first of that class not yet seen.
type plan struct {
	box       block.BoxID
	timetable *block.Timetable // as it stands
	calls     []call
	seen      map[block.TrainID]bool
}

type call struct {
	block.Working
	rear, next block.BoxID // empty: it starts or ends here
	known      bool        // rear and next are known from its times
	stops      bool        // it is booked to stop here and go on
	at         int         // seconds after midnight; -1: order alone
}

func planOf(r *block.Rules, box block.BoxID) plan {
	p := plan{box: box, timetable: r.Timetable(), seen: make(map[block.TrainID]bool)}
	p.fill()
	return p
}

// follow takes the sequence as it stands after an entry.
func (p *plan) follow(e block.Entry) {
	if t := sequenceAfter(p.timetable, e); t != p.timetable {
		p.timetable = t
		p.fill()
	}
}

// sequenceAfter is the sequence as it stands after an entry.
func sequenceAfter(t *block.Timetable, e block.Entry) *block.Timetable {
	if e.Mark != "" || e.Outcome.Ending != block.Done {
		return t
	}
	if next, err := t.After(e.Event); err == nil { // else the rules were others when it was recorded: it can be read still
		return next
	}
	return t
}

// fill puts down the trains that come to the box, those that have been taken off in their places.
func (p *plan) fill() {
	p.calls = nil
	all := p.timetable.WithOff()
	timed := slices.ContainsFunc(all, func(w block.Working) bool { return len(w.Calls) > 0 })
	last := -1 // when the train before it in the sequence starts
	for _, w := range all {
		c := call{Working: w, at: -1}
		if len(w.Calls) > 0 {
			last = first(w.Calls[0].Arrive, w.Calls[0].Pass, w.Calls[0].Depart)
		}
		if timed && len(w.Calls) == 0 { // a movement without times of its own: it stands after the one before it
			c.at = last
			if w.From != p.box && w.To != p.box {
				continue
			}
		}
		for i, pt := range w.Calls {
			if pt.Box != p.box {
				continue
			}
			c.known, c.at = true, first(pt.Arrive, pt.Pass, pt.Depart)
			c.stops = pt.Arrive >= 0 && pt.Depart >= 0
			if i > 0 {
				c.rear = w.Calls[i-1].Box
			}
			if i+1 < len(w.Calls) {
				c.next = w.Calls[i+1].Box
			}
		}
		if c.known || len(w.Calls) == 0 {
			p.calls = append(p.calls, c)
		}
	}
	slices.SortStableFunc(p.calls, func(x, y call) int { return x.at - y.at })
}

func first(times ...int) int {
	for _, t := range times {
		if t >= 0 {
			return t
		}
	}
	return -1
}

// name gives a new line its train: the first of its class not yet seen that comes from the box in rear, or that
// starts here and goes to the box ahead.
func (p *plan) name(r *Row, rear, ahead block.BoxID) {
	for _, c := range p.calls {
		if p.seen[c.Train] || c.Change == block.Withdrawn || !c.Code.Equal(r.Code) || c.known && (c.rear != rear || ahead != "" && c.next != ahead) {
			continue
		}
		r.Train = c.Train
		p.seen[c.Train] = true
		return
	}
}

// isPast tells whether a train behind that call has been seen: one that does not run is then of no more interest.
func (p *plan) isPast(i int) bool {
	return slices.ContainsFunc(p.calls[i:], func(c call) bool { return p.seen[c.Train] })
}

// see marks a train that was named by a touch on the notice, so that no other line takes it.
func (p *plan) see(t block.TrainID) {
	if t != "" {
		p.seen[t] = true
	}
}

// putOff takes a train as not yet seen: it was cancelled, and may be offered again, moved, or not run at all.
func (p *plan) putOff(t block.TrainID) { delete(p.seen, t) }

// Seen tells whether the box has been offered a train or has offered it, and nobody has cancelled that.
func (b *Book) Seen(t block.TrainID) bool { return b.plan.seen[t] }

// stops tells whether a train is booked to stop at this box and go on.
func (p *plan) stops(t block.TrainID) bool {
	return slices.ContainsFunc(p.calls, func(c call) bool { return c.Train == t && c.stops })
}

// mayGo tells whether nothing in the sequence speaks against a train going on to that box.
func (p *plan) mayGo(t block.TrainID, ahead block.BoxID) bool {
	for _, c := range p.calls {
		if c.Train == t && c.known {
			return c.next == ahead
		}
	}
	return true
}
