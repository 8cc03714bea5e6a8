package sim

import (
	"slices"
	"time"

	"taillamp/block"
)

// A box opens so long before its first train and closes so long after its last, as the demo's do (no source).
const (
	opensBefore = 13 * time.Minute
	closesAfter = 10 * time.Minute
	looksAgain  = 30 * time.Second
)

// chore is a signal of no train that a box has still to give, or waits to hear answered.
type chore struct {
	circuit block.CircuitID
	key     block.CodeKey
	said    bool
}

// planSwitches has boxes with a closing switch opened and closed as the sequence needs them: open while trains call,
// out where trains run past.
func (w *world) planSwitches() {
	for _, p := range w.people {
		w.planSwitch(p, p.box.Out)
	}
}

// planSwitch puts down when a box opens, if it may, and closes, by the trains that are still to come. What was put down
// for it before falls.
func (w *world) planSwitch(p *person, opens bool) {
	first := slices.IndexFunc(p.calls, stillCalls)
	if !p.box.Switch || len(p.calls) == 0 {
		return
	}
	p.plan++
	plan, last := p.plan, w.booked(p.calls[len(p.calls)-1])
	if opens && first >= 0 {
		w.at(w.booked(p.calls[first]).Add(-opensBefore), func() { w.opens(p, plan) })
	}
	if w.runPast(p.Box, last) {
		w.at(last.Add(closesAfter), func() { w.closes(p, plan) })
	}
}

// replan puts down anew when boxes open and close after the owner has changed the sequence. A box that is out opens for a
// train that it had no need of before.
func (w *world) replan() {
	for _, p := range w.people {
		if p.box.Switch {
			w.planSwitch(p, !w.r.View(w.state, p.Box).Open || p.closing())
		}
	}
}

// closing tells whether he has begun to signal that his box closes.
func (p *person) closing() bool {
	return slices.ContainsFunc(p.chores, func(c chore) bool { return c.key == "closing" })
}

// runPast tells whether a train of the sequence runs past a box without calling after a moment.
func (w *world) runPast(box block.BoxID, after time.Time) bool {
	for _, t := range w.trains {
		for k, s := range t.way {
			c, _ := w.circuit(s.Circuit)
			if slices.Contains(c.Over, box) && w.booked(visit{t, k}).After(after) {
				return true
			}
		}
	}
	return false
}

func (w *world) circuit(id block.CircuitID) (block.Circuit, bool) {
	n, ok := w.byID[id]
	if !ok {
		return block.Circuit{}, false
	}
	return w.circuits[n], true
}

// opens turns a box in when nothing is between its neighbours, then signals it and tests. A box that the company does not
// work is left to people.
func (w *world) opens(p *person, plan int) {
	if p.plan != plan {
		return
	}
	if p.absent || p.closing() {
		w.at(w.now.Add(looksAgain), func() { w.opens(p, plan) })
		return
	}
	if w.r.View(w.state, p.Box).Open {
		return // somebody has done it
	}
	for _, c := range w.circuits {
		if slices.Contains(c.Over, p.Box) && w.r.Works(w.state, c.ID) && !w.idle(c) {
			w.at(w.now.Add(looksAgain), func() { w.opens(p, plan) })
			return
		}
	}
	w.record(block.Event{Do: block.Switch, By: p.Box})
	p.chores = nil
	for _, key := range []block.CodeKey{"opening", "testing"} {
		for _, c := range w.shelf(p.Box) {
			p.chores = append(p.chores, chore{circuit: c.ID, key: key})
		}
	}
	w.wake(p)
}

// closes signals the closing when the box has nothing in hand, and turns it out when all have acknowledged.
func (w *world) closes(p *person, plan int) {
	if p.plan != plan {
		return
	}
	if p.absent {
		w.at(w.now.Add(looksAgain), func() { w.closes(p, plan) })
		return
	}
	if !w.r.View(w.state, p.Box).Open || p.closing() {
		return // it is out, or going out
	}
	for _, c := range w.shelf(p.Box) {
		if !w.idle(c) || w.expects(p) {
			w.at(w.now.Add(looksAgain), func() { w.closes(p, plan) })
			return
		}
	}
	p.chores = nil
	for _, c := range w.shelf(p.Box) {
		p.chores = append(p.chores, chore{circuit: c.ID, key: "closing"})
	}
	w.wake(p)
	w.turnsOut(p)
}

func (w *world) turnsOut(p *person) {
	if len(p.chores) > 0 {
		w.at(w.now.Add(looksAgain/10), func() { w.turnsOut(p) })
		return
	}
	before := w.shelf(p.Box)
	w.record(block.Event{Do: block.Switch, By: p.Box, Off: true})
	for _, c := range w.circuits { // the long sections that have formed are tested
		if slices.Contains(c.Over, p.Box) && w.r.Works(w.state, c.ID) && c.Method == "absolute" && len(before) > 0 {
			tester := w.of[c.Boxes[0]]
			if tester.box.Roads > 0 {
				tester = w.of[c.Boxes[1]]
			}
			tester.chores = append(tester.chores, chore{circuit: c.ID, key: "testing"})
			w.wake(tester)
		}
	}
}

// expects tells whether a train is still to call at a box.
func (w *world) expects(p *person) bool {
	return slices.ContainsFunc(p.calls, stillCalls)
}

// stillCalls tells whether a train is still to call at a box, or to go on from it.
func stillCalls(v visit) bool {
	return v.t.at < v.k || v.t.at == v.k && !v.t.running && v.k+1 < len(v.t.Calls)
}

// idle tells whether nothing is signalled on a circuit, either way.
func (w *world) idle(c block.Circuit) bool {
	for _, s := range c.Sections {
		if l, ok := w.r.Line(w.state, s.ID); ok && (l.Standing != "IDLE" || l.Shows != block.Blocked && c.Method == "absolute" || l.Seen > 0) {
			return false
		}
	}
	return true
}

// shelf are the circuits with bells of their own that a box works at this moment.
func (w *world) shelf(box block.BoxID) []block.Circuit {
	var own []block.Circuit
	for _, c := range w.circuits {
		if (c.Boxes[0] == box || c.Boxes[1] == box) && c.Method == "absolute" && w.r.Works(w.state, c.ID) {
			own = append(own, c)
		}
	}
	return own
}

// says are the chores of a signaller as Next wants them: one circuit's first, then the other's.
func (p *person) says() []block.Saying {
	if len(p.chores) == 0 || p.chores[0].said {
		return nil // or given, and not answered yet
	}
	return []block.Saying{{Circuit: p.chores[0].circuit, Key: p.chores[0].key}}
}

// heard marks a chore given, or answered and so done.
func (p *person) heard(s *block.Signal) {
	if len(p.chores) == 0 || p.chores[0].circuit != s.Circuit || p.chores[0].key != s.Key {
		return
	}
	switch {
	case s.Sense == block.Own && s.By == p.Box:
		p.chores[0].said = true
	case s.Sense == block.Answer && s.By != p.Box:
		p.chores = p.chores[1:]
	}
}
