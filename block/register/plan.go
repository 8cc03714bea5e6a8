package register

import (
	"slices"

	"taillamp/block"
)

// plan is what the sequence of trains says about one box: which trains come from where and go where, in order. It
// names the train of a line where nobody touched the notice: the first of that class not yet seen.
type plan struct {
	calls []call
	seen  map[block.TrainID]bool
}

type call struct {
	train      block.TrainID
	code       block.Beats
	rear, next block.BoxID // empty: it starts or ends here
	known      bool        // rear and next are known from its times
	stops      bool        // it is booked to stop here and go on
	at         int         // seconds after midnight; -1: order alone
}

func planOf(r *block.Rules, box block.BoxID) plan {
	p := plan{seen: make(map[block.TrainID]bool)}
	timed := slices.ContainsFunc(r.Timetable().Workings, func(w block.Working) bool { return len(w.Calls) > 0 })
	last := -1 // when the train before it in the sequence starts
	for _, w := range r.Timetable().Workings {
		c := call{train: w.Train, code: w.Code, at: -1}
		if len(w.Calls) > 0 {
			last = first(w.Calls[0].Arrive, w.Calls[0].Pass, w.Calls[0].Depart)
		}
		if timed && len(w.Calls) == 0 { // a movement without times of its own: it stands after the one before it
			c.at = last
			if w.From != box && w.To != box {
				continue
			}
		}
		for i, pt := range w.Calls {
			if pt.Box != box {
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
	return p
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
		if p.seen[c.train] || !c.code.Equal(r.Code) || c.known && (c.rear != rear || ahead != "" && c.next != ahead) {
			continue
		}
		r.Train = c.train
		p.seen[c.train] = true
		return
	}
}

// see marks a train that was named by a touch on the notice, so that no other line takes it.
func (p *plan) see(t block.TrainID) {
	if t != "" {
		p.seen[t] = true
	}
}

// stops tells whether a train is booked to stop at this box and go on.
func (p *plan) stops(t block.TrainID) bool {
	return slices.ContainsFunc(p.calls, func(c call) bool { return c.train == t && c.stops })
}

// mayGo tells whether nothing in the sequence speaks against a train going on to that box.
func (p *plan) mayGo(t block.TrainID, ahead block.BoxID) bool {
	for _, c := range p.calls {
		if c.train == t && c.known {
			return c.next == ahead
		}
	}
	return true
}
