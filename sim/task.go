package sim

import (
	"slices"
	"time"

	"taillamp/block"
)

// Task is something that happens at a box and that its signaller has to work by the regulations: a shunt, a train
// cancelled, a tail lamp that is not there. A simulated signaller works it rightly; a person is told what is wanted, and
// waited for.
type Task struct {
	Kind  TaskKind
	Box   block.BoxID   // who has to deal with it
	From  block.BoxID   // the neighbour by whose line it happens
	After time.Duration // from the beginning of the sitting; then as soon as the line is fit for it
}

// TaskKind is what happens.
type TaskKind string

// The kinds of task.
const (
	Crossing     TaskKind = "crossing"      // an engine crosses within the clearing point just as a train is offered
	ShuntInside  TaskKind = "shunt-inside"  // a shunt stands inside the home signal: 2-4, later 2-1
	ShuntOutside TaskKind = "shunt-outside" // … goes outside it: 3-3, later 2-1
	Cancel       TaskKind = "cancel"        // the neighbour cancels a train that was accepted: 3-5
	Misdescribed TaskKind = "misdescribed"  // … has described a train wrongly: 5-3, then the right code
	Warn         TaskKind = "warn"          // something stands within the clearing point, and the box's card authorises 3-5-5
	Obstructed   TaskKind = "obstructed"    // the neighbour rings 6, later 2-1
	NoLamp       TaskKind = "no-lamp"       // a train goes by without its tail lamp: 4-5 and, if it goes on, 9
	Divided      TaskKind = "divided"       // the neighbour saw a train go by in two parts: 5-5
	BellFails    TaskKind = "bell-fails"    // the bell to the neighbour is dead for some minutes: written in the book, and tested after
)

// TaskKinds lists them all.
func TaskKinds() []TaskKind {
	return []TaskKind{Crossing, ShuntInside, ShuntOutside, Cancel, Misdescribed, Warn, Obstructed, NoLamp, Divided, BellFails}
}

// order is what a person is told of a task in hand.
type order struct {
	box   block.BoxID
	words string
}

// planTasks has every task begin in its time.
func (w *world) planTasks() {
	for _, e := range w.o.Events {
		w.at(e.At, func() { w.record(e) })
	}
	for _, t := range w.o.Tasks {
		if p := w.of[t.Box]; p != nil {
			w.at(w.o.Begins.Add(t.After), func() { w.tries(t, p) })
		}
	}
}

const triesAgain = time.Second / 2

// tries begins a task if the line is fit for it, else looks again.
func (w *world) tries(t Task, p *person) {
	v := w.view(p)
	m := moment{w: w, p: p, v: &v}
	k := taskOf(t.Kind)
	if !w.busy(p) && m.anyLine(true, func() bool { return m.i.To == t.From && k.fit(&m) }) {
		w.play(&Bend{Rule: block.RuleID(t.Kind), err: &mistake{plays: k.plays}}, m)
		return
	}
	w.at(w.now.Add(triesAgain), func() { w.tries(t, p) })
}

// busy tells whether a task is in hand at a box: one thing at a time.
func (w *world) busy(p *person) bool {
	return slices.ContainsFunc(w.scripts, func(s *script) bool { return s.me == p.Box })
}

// asks tells a person what is wanted and waits till it is done; a simulated signaller does it.
func (s *script) asks(words string, act func(), limit time.Duration, so func() bool) {
	if s.vain {
		return
	}
	if s.p.absent && words != "" {
		o := &order{s.me, words}
		s.w.orders = append(s.w.orders, o)
		defer func() { s.w.orders = slices.DeleteFunc(s.w.orders, func(x *order) bool { return x == o }) }()
	} else if !s.p.absent {
		act()
	}
	s.until(limit, so)
}

// tells is asks where there is nothing to be done but to wait.
func (s *script) tells(words string, d time.Duration) {
	s.asks(words, func() {}, d, func() bool { return false })
	s.vain = false // the time is over, nothing was waited for in vain
}

// Orders are what is wanted of the person at a box at this moment.
func (c *Company) Orders(box block.BoxID) []string {
	var words []string
	for _, o := range c.w.orders {
		if o.box == box {
			words = append(words, o.words)
		}
	}
	return words
}
