package blocktest

import (
	"strconv"
	"time"

	"taillamp/block"
)

// Walk makes an evening: sensible acts and mad ones in any order, but trains that move as trains can. draw(n) picks
// 0 … n-1: from rapid, from fuzz bytes or from a seed. The acts are given as they were tried; some of them cannot be.
func Walk(r *block.Rules, length int, draw func(n int) int) []block.Event {
	w := walker{r: r, draw: draw, now: time.Date(1961, 10, 17, 15, 30, 0, 0, time.UTC)}
	w.state = r.Opening(w.now)
	for _, c := range r.Circuits() {
		if c.Method == "absolute" {
			w.circuits = append(w.circuits, c)
		}
	}
	for _, b := range r.Layout().Boxes {
		w.try(block.Event{Do: block.Duty, By: b.ID})
	}
	for len(w.made) < length {
		w.act()
	}
	for _, c := range w.circuits { // whatever was understood in two ways is decided
		w.now = w.now.Add(time.Minute)
		w.try(block.Event{Do: block.Tick})
		w.try(block.Event{Do: block.Duty, By: c.Boxes[0]})
		w.try(block.Event{Do: block.Rung, By: c.Boxes[0], Circuit: c.ID, Beats: block.Beats{1}})
	}
	return w.made
}

// walker knows where its trains are, and how the rules stand.
type walker struct {
	r        *block.Rules
	draw     func(n int) int
	now      time.Time
	state    block.State
	circuits []block.Circuit
	made     []block.Event
	trains   []mover
}

// mover is a train of the walk: in a section, or come to a box.
type mover struct {
	id   block.TrainID
	in   block.Section
	away bool // it has passed, been put clear or gone back
}

// try makes the act part of the walk.
func (w *walker) try(e block.Event) {
	e.At = w.now
	w.made = append(w.made, e)
	if next, _, err := w.r.Step(w.state, e); err == nil {
		w.state = next
	}
}

// gaps are the seconds that pass before an act.
var gaps = []int{0, 1, 2, 3, 3, 5, 8, 20, 45, 70, 130}

// act does one thing, sensible ones oftener than mad ones.
func (w *walker) act() {
	w.now = w.now.Add(time.Duration(gaps[w.draw(len(gaps))]) * time.Second)
	c := w.circuits[w.draw(len(w.circuits))]
	x := w.draw(2)
	by, other := c.Boxes[x], c.Boxes[1-x]
	toMe, fromMe := w.lines(c, by)
	switch n := w.draw(20); {
	case n < 5:
		w.answer(c, by, other)
	case n < 9:
		w.ring(c, by, usual[w.draw(len(usual))])
	case n < 10:
		w.ring(c, by, c.Book.Codes[w.draw(len(c.Book.Codes))].Beats)
	case n < 13:
		w.try(block.Event{Do: block.Turn, By: by, Section: toMe.ID, Show: aspects[w.draw(3)]})
	case n < 15:
		w.leaves(fromMe)
	case n < 18:
		w.moves()
	case n < 19:
		w.try(block.Event{Do: block.Foul, By: by, Section: toMe.ID, Where: fouls[w.draw(2)], Off: w.draw(2) == 0})
	default:
		w.odd(c, by, fromMe)
	}
}

var (
	usual   = []block.Beats{{1}, {1}, {4}, {3, 1}, {2}, {2, 1}, {2, 1}, {3, 5}, {2, 4}}
	aspects = []block.Aspect{block.Blocked, block.Clear, block.Occupied}
	fouls   = []block.Place{block.Inside, block.Outside}
)

// lines are the lines of a circuit toward a box and away from it.
func (w *walker) lines(c block.Circuit, by block.BoxID) (toMe, fromMe block.Section) {
	for _, s := range c.Sections {
		if s.Advance == by {
			toMe = s
		} else {
			fromMe = s
		}
	}
	return toMe, fromMe
}

// ring rings a code, mostly whole, now and then beat by beat.
func (w *walker) ring(c block.Circuit, by block.BoxID, code block.Beats) {
	if w.draw(4) > 0 {
		w.try(block.Event{Do: block.Rung, By: by, Circuit: c.ID, Beats: code})
		return
	}
	for i, n := range code {
		if i > 0 {
			w.now = w.now.Add(700 * time.Millisecond)
		}
		for range n {
			w.now = w.now.Add(300 * time.Millisecond)
			w.try(block.Event{Do: block.Beat, By: by, Circuit: c.ID, Pressed: w.now})
		}
	}
	if due, ok := w.r.Due(w.state); ok && due.After(w.now) && w.draw(3) > 0 {
		w.now = due
		w.try(block.Event{Do: block.Tick})
	}
}

// answer repeats what the other end rang last.
func (w *walker) answer(c block.Circuit, by, other block.BoxID) {
	for _, i := range w.r.View(w.state, by).Shelf {
		if i.Circuit == c.ID && i.Heard != nil {
			w.ring(c, by, i.Heard.Beats)
			return
		}
	}
	w.ring(c, by, block.Beats{1})
}

// leaves sends a train into a section: one that has come to the box, or a new one.
func (w *walker) leaves(s block.Section) {
	for i := range w.trains {
		if t := &w.trains[i]; t.away && t.in.Advance == s.Rear && t.in.Way == s.Way {
			t.in, t.away = s, false
			w.try(block.Event{Do: block.Train, By: s.Rear, Section: s.ID, Where: block.Leaves, Train: t.id})
			return
		}
	}
	id := block.TrainID(strconv.Itoa(len(w.trains) + 1))
	w.trains = append(w.trains, mover{id: id, in: s})
	w.try(block.Event{Do: block.Train, By: s.Rear, Section: s.ID, Where: block.Leaves, Train: id})
}

// moves has a train seen somewhere on its way.
func (w *walker) moves() {
	var out []int
	for i, t := range w.trains {
		if !t.away {
			out = append(out, i)
		}
	}
	if len(out) == 0 {
		return
	}
	t := &w.trains[out[w.draw(len(out))]]
	e := block.Event{Do: block.Train, By: t.in.Advance, Section: t.in.ID, Train: t.id}
	switch w.draw(9) {
	case 0:
		e.Where = block.Stands
	case 1:
		e.Where = block.Heads
	case 2:
		e.Where, e.Lamp = block.Arrives, block.LampSeen
	case 3:
		e.Where, t.away = block.IsClear, true
	case 4:
		e.Where, e.By, t.away = block.Returns, t.in.Rear, true
	case 5:
		e.Where, e.Lamp, t.away = block.Passes, block.LampMissing, true
	default:
		e.Where, e.Lamp, t.away = block.Passes, block.LampSeen, true
	}
	w.try(e)
}

// odd is one of the things that happen seldom.
func (w *walker) odd(c block.Circuit, by block.BoxID, fromMe block.Section) {
	switch w.draw(6) {
	case 0:
		some := c.Sections[w.draw(len(c.Sections))] // his section signal, or his home signal
		w.try(block.Event{Do: block.Lever, By: by, Section: some.ID, Off: w.draw(2) == 0})
	case 1:
		w.try(block.Event{Do: block.Collar, By: by, Circuit: c.ID, Off: w.draw(2) == 0})
	case 2:
		w.try(block.Event{Do: block.Release, By: by, Section: fromMe.ID})
	case 3:
		w.try(block.Event{Do: block.Duty, By: by, Off: w.draw(4) > 0})
	case 4:
		w.ring(c, by, block.Beats{6})
	default:
		w.try(block.Event{Do: block.Remark, By: by, Words: "bell weak"})
	}
}
