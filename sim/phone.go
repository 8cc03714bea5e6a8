package sim

import (
	"slices"
	"time"

	"taillamp/block"
)

// A simulated signaller answers his telephone, says who he is and that the bells say all that he has to say, and puts the
// receiver down when the other does. He takes nothing from words: what is signalled is signalled by bell.
const (
	answersIn = 4 * time.Second
	speaksIn  = 2 * time.Second
	hangsUpIn = time.Second
)

// called follows the telephones between two boxes, and has the company's own answered.
func (w *world) called(e block.Event) {
	if e.Do != block.Call || e.Circuit == "" || e.Words != "" {
		return
	}
	if w.phones == nil {
		w.phones = make(map[block.CircuitID][]block.BoxID)
	}
	on := slices.DeleteFunc(slices.Clone(w.phones[e.Circuit]), func(b block.BoxID) bool { return b == e.By })
	if !e.Off {
		on = append(on, e.By)
	}
	w.phones[e.Circuit] = on
	me := w.of[w.neighbour(e.Circuit, e.By)]
	if me == nil || me.absent || !w.r.View(w.state, me.Box).OnDuty {
		return
	}
	c := block.Event{Do: block.Call, By: me.Box, Circuit: e.Circuit}
	speaking := slices.Contains(on, me.Box)
	switch {
	case e.Off && speaking:
		c.Off = true
		w.at(w.in(hangsUpIn), func() { w.phones0(c) })
	case !e.Off && !speaking:
		w.at(w.in(answersIn), func() {
			if !slices.Contains(w.phones[e.Circuit], e.By) || me.absent {
				return // he has put it down again
			}
			w.phones0(c)
			w.at(w.in(speaksIn), func() {
				if c.Words = me.box.Name + " here. I am simulated: what I have to say the bells say."; len(w.phones[e.Circuit]) == 2 {
					w.record(c)
				}
			})
		})
	}
}

// phones0 lifts or puts down a receiver of the company's.
func (w *world) phones0(e block.Event) {
	w.record(e)
	w.called(e)
}
