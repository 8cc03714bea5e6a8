package sim

import (
	"container/heap"
	"slices"
	"time"

	"taillamp/block"
)

// Company works the boxes of a sitting that nobody else works, and runs its trains. It does nothing by itself: whoever
// owns the sitting asks when something is due, has it done, and tells of everything that happens.
type Company struct{ w *world }

// Enter has an event happen: recorded, with what came of it and the state after it. False: it cannot be.
type Enter func(block.Event) (block.Outcome, block.State, bool)

// NewCompany begins with a sitting that stands at a state. fills are the boxes that the company works; the others are
// people's. o.Begins is the moment at which the sitting began.
func NewCompany(r *block.Rules, o Options, fills func(block.BoxID) bool, opening block.State) *Company {
	o.Beats = true
	w := newWorld(r, o, opening)
	for _, p := range w.people {
		p.absent = !fills(p.Box)
	}
	return &Company{w}
}

// Recall tells of what was recorded before, in order, when a sitting is gone on with.
func (c *Company) Recall(e block.Entry) {
	if e.Mark != "" {
		return
	}
	w := c.w
	w.now = e.Event.At
	w.follow(e.Outcome)
	if e.Outcome.Ending == block.Done {
		w.changes(e.Event)
		w.takesOrder(e.Event)
	}
	w.remembers(e.Outcome)
	for _, x := range e.Outcome.Changes {
		if x.Train != nil {
			w.recalls(x.Train)
		}
	}
}

// Begin starts work at a moment, the sitting standing at a state.
func (c *Company) Begin(now time.Time, s block.State, enter Enter) {
	w := c.w
	w.now, w.state, w.enter = now, s, enter
	w.ends = now.Add(w.o.Most)
	clear(w.ringing)
	if _, rings := w.r.Due(s); rings { // a code that was rung to its end as the sitting stopped has still to be read
		for _, c := range w.circuits {
			w.ringing[c.ID] = now.Add(longestQuiet)
		}
	}
	for _, p := range w.people {
		w.mans(p)
	}
	w.playBack()
	w.putIn()
	w.planSwitches()
	w.takesUp()
	for _, t := range w.trains {
		w.goesOn(t)
	}
	w.wakeAll()
}

// Due is when the company next has something to do.
func (c *Company) Due() (time.Time, bool) { return c.w.queue.first() }

// Advance has everything done that is due by a moment.
func (c *Company) Advance(now time.Time, enter Enter) {
	c.w.enter = enter
	c.w.until(now)
}

// RingOut has the codes that are being rung rung to their end at once, in the rhythm in which they were to be: the sitting
// stops, and half a code would be read as another when it goes on. Nothing else is done any more.
func (c *Company) RingOut(enter Enter) {
	w := c.w
	w.enter = enter
	for _, h := range w.queue.rest() {
		w.now, w.due = h.at, h.at
		h.run()
	}
	w.queue.rest()
}

// Saw tells of an event that somebody else did. A person who takes duty at a box has it from then on; when he leaves
// it, the company works it.
func (c *Company) Saw(e block.Event, out block.Outcome, s block.State) {
	w := c.w
	if e.At.After(w.now) {
		w.now = e.At
	}
	if e.Do == block.Beat { // a code is being rung: until it is at its end that bell is let alone
		w.ringing[e.Circuit] = w.now.Add(longestQuiet)
	}
	w.saw(e, out, s)
	w.called(e)
	if p := w.of[e.By]; p != nil && e.Do == block.Duty && out.Ending == block.Done {
		p.absent = !e.Off || w.o.Helps != nil // nobody learns by having it done
		p.Done()
		if e.Off {
			w.at(w.now.Add(takesOver), func() { w.mans(p); w.marks(p); w.wake(p); w.everyTrain() })
		}
	}
}

// withPerson tells whether a person works one end of a circuit.
func (w *world) withPerson(id block.CircuitID) bool {
	c, _ := w.circuit(id)
	return slices.ContainsFunc(c.Boxes[:], func(b block.BoxID) bool { return w.of[b] != nil && w.of[b].absent })
}

// Relieves tells whether the company works a box that a person leaves: not in a lesson, where nobody learns by having it
// done.
func (c *Company) Relieves() bool { return c.w.o.Helps == nil }

// takesOver is how long a box stands empty before the company works it.
const takesOver = 5 * time.Second

// Works tells whether the company works a box at this moment.
func (c *Company) Works(box block.BoxID) bool {
	p := c.w.of[box]
	return p != nil && !p.absent
}

// Leaves takes the company's signaller out of a box: it stands empty until somebody takes duty there.
func (c *Company) Leaves(box block.BoxID) {
	if p := c.w.of[box]; p != nil {
		p.absent = true
		p.Done()
	}
}

// Enters puts a signaller of the company in a box in which he has been signed on.
func (c *Company) Enters(box block.BoxID) {
	if p := c.w.of[box]; p != nil {
		p.absent = false
		c.w.at(c.w.now, func() { c.w.marks(p); c.w.wake(p); c.w.everyTrain() })
	}
}

// PutOff has everything that was to happen happen so much later, after a pause of the evening.
func (c *Company) PutOff(by time.Duration) {
	w := c.w
	for i := range w.queue.list { // their order stays as it was
		w.queue.list[i].at = w.queue.list[i].at.Add(by)
	}
	for _, p := range w.people {
		p.free = p.free.Add(by)
	}
	for id, when := range w.ringing { // order does not matter: each goes by itself
		w.ringing[id] = when.Add(by)
	}
	for _, t := range w.trains {
		t.from, t.due, t.stands = t.from.Add(by), t.due.Add(by), t.stands.Add(by)
	}
	for _, c := range w.courses {
		c.since = c.since.Add(by)
	}
	w.ends = w.ends.Add(by)
}

// Runs has trains run at another speed from now on. What is under way on the line takes so much less or more of the time
// that it has left; people take the time that they take.
func (c *Company) Runs(speed float64, now time.Time) {
	w := c.w
	was := w.o.Speed
	if was <= 0 {
		was = 1
	}
	if speed <= 0 || speed == was {
		return
	}
	w.o.Speed = speed
	sooner := func(t time.Time) time.Time {
		if !t.After(now) {
			return t
		}
		return now.Add(time.Duration(float64(t.Sub(now)) * was / speed))
	}
	for i := range w.queue.list {
		if h := &w.queue.list[i]; h.of == movement {
			h.at = sooner(h.at)
		}
	}
	heap.Init(&w.queue)
	for _, t := range w.trains {
		t.from, t.due, t.stands = sooner(t.from), sooner(t.due), sooner(t.stands)
	}
}

// mans has a signaller of the company sign on, if his box is open and nobody is there.
func (w *world) mans(p *person) {
	v := w.r.View(w.state, p.Box)
	if !p.absent && v.Open && !v.OnDuty {
		w.record(block.Event{Do: block.Duty, By: p.Box})
	}
}

func (w *world) wakeAll() {
	for _, p := range w.people {
		w.wake(p)
	}
}

// recalls puts a train where it was last seen.
func (w *world) recalls(s *block.Spotted) {
	for _, t := range w.trains {
		if t.Train != s.Train {
			continue
		}
		for k, way := range t.way {
			if way.ID == s.Section {
				w.wasSeen(t, k, s.Where)
			}
		}
	}
}

// wasSeen is a train of an earlier time: it left its call k by the section, or came by it to the next.
func (w *world) wasSeen(t *train, k int, where block.Place) {
	switch where {
	case block.Leaves:
		if k == 0 && w.of[t.From] != nil {
			w.of[t.From].here--
		}
		t.at, t.running, t.two, t.clear = k, true, false, false
		t.due = w.in(w.runs(t, t.way[k], t.Calls[k+1]))
	case block.Heads, block.Stands, block.Arrives, block.Passes, block.IsClear:
		if t.at > k+1 || t.at == k+1 && t.running {
			return // the tail of a train that has gone on
		}
		t.at, t.running = k+1, false
		t.clear = where == block.Passes || where == block.IsClear
		t.outside = where == block.Stands
		if k+1 == len(t.Calls)-1 && t.arrived.IsZero() && !t.outside {
			t.arrived = w.now
			if p := w.of[t.To]; p != nil {
				p.here++
			}
		}
	}
}

// tailFollows has the tail of a train that has gone on from its call, or ended its run there, go by if it has not.
func (w *world) tailFollows(t *train) {
	k := t.at
	if k == 0 || !t.running && t.arrived.IsZero() {
		return
	}
	l, ok := w.line(t.Calls[k].Box, t.way[k-1].ID)
	if ok && slices.ContainsFunc(l.Trains, func(s block.Spotted) bool {
		return s.Train == t.Train && s.Where != block.Passes && s.Where != block.IsClear
	}) {
		w.onLine(w.in(tailBy), func() { w.seesAt(t, k, block.Passes, block.LampSeen) })
	}
}

// goesOn has a train take up what it was doing.
func (w *world) goesOn(t *train) {
	w.tailFollows(t)
	switch {
	case len(t.Calls) < 2 || !t.arrived.IsZero():
	case t.running:
		at := t.due
		if at.Before(w.now) {
			at = w.now.Add(gathersWay)
		}
		t.due = at
		w.onLine(at, func() { w.nears(t) })
	case t.at == 0:
		w.startsFrom(t)
	case t.outside && (w.pulls(t) || t.at == len(t.Calls)-1):
		w.at(w.now, func() { w.comesIn(t) })
	default:
		t.outside = false
		t.waits, t.from = true, w.now
		t.passing = t.Calls[t.at].Pass >= 0
		w.at(w.now, func() { w.go1(t) })
	}
}

// Mind adds to what a box sees what its signaller has to keep in mind: the trains to send on, and the lines from which
// none can be taken. The box may be a person's.
func (c *Company) Mind(box block.BoxID, v block.View) block.View {
	p := c.w.of[box]
	if p == nil {
		return v
	}
	v.Sends, v.Says, v.Full = c.w.sends(p), p.says(), c.w.full(p)
	return v
}
