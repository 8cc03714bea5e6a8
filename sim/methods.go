package sim

import (
	"time"

	"taillamp/block"
)

// What is done with tokens and drivers, as the golden day of the demo has it (its section 5; guesses, no source).
const (
	givesUp   = 45 * time.Second // from a train's arriving to its token being given up
	letsGo    = 2 * time.Second  // from the token drawn to the release ending
	stopped   = 10 * time.Second // from arriving to standing at the signals
	leastTold = 60 * time.Second // for a driver to be brought to a stand and told
	toldIn    = 20 * time.Second // for one who stands already
	toldFor   = 20 * time.Second // how long ago he may have been told
)

// mayEnter tells whether a line worked otherwise than by absolute block is free for a train: accepted, and with its
// token at hand where there is one.
func (w *world) mayEnter(t *train, s block.Section) bool {
	if w.clear[s.ID] != t.Train && !silent(s) {
		return false
	}
	l, ok := w.line(t.Calls[t.at].Box, s.ID)
	if !ok {
		return false
	}
	if l.Staff != nil {
		return l.Staff.Ready || l.Staff.Shows == block.StaffHere && !l.Staff.Open && !w.ticketFor(t, s)
	}
	if p := w.pilotman(t.Calls[t.at].Box, s); p != nil {
		return p.Riding && p.With == t.Train
	}
	if k := l.Token; k != nil { // here, or given to the driver by a person who did not wait until he goes
		return k.Hand == "box" || k.Hand == "train" && (k.Train == "" || k.Train == t.Train)
	}
	return true
}

// pilotman is he who works a line in place of its tokens, as a box of it knows of him; nil if there is none.
func (w *world) pilotman(box block.BoxID, s block.Section) *block.PilotView {
	for _, i := range w.r.View(w.state, box).Shelf {
		if i.Circuit == s.Circuit {
			return i.Pilot
		}
	}
	return nil
}

// line is a line as the box has it before him.
func (w *world) line(box block.BoxID, id block.SectionID) (block.LineView, bool) {
	for _, i := range w.r.View(w.state, box).Shelf {
		for _, l := range i.Lines {
			if l.Section == id {
				return l, true
			}
		}
	}
	return block.LineView{}, false
}

// silent tells whether no bell speaks of the trains on a line: the staff alone lets them go.
func silent(s block.Section) bool { return s.Method == "oneTrain" || s.Method == "staffTicket" }

// ticketFor tells whether a train goes on a ticket: the next one goes the same way, and bells keep the two
// apart.
func (w *world) ticketFor(t *train, s block.Section) bool {
	if silent(s) {
		return false
	}
	return w.followed(visit{t, t.at})
}

// handsToken gives the driver his token, or the staff, as the train goes.
func (w *world) handsToken(t *train, s block.Section, box block.BoxID) {
	l, ok := w.line(box, s.ID)
	if ok && (l.Token != nil && l.Token.Hand == "box" || l.Staff != nil && l.Staff.Shows == block.StaffHere && !l.Staff.Ready) {
		w.record(block.Event{Do: block.Token, By: box, Section: s.ID, Where: block.Handed, Train: t.Train})
	}
}

// givesToken has the driver give up his token, staff or ticket where he has arrived.
func (w *world) givesToken(t *train) {
	s, box := t.way[t.at-1], t.Calls[t.at].Box
	l, ok := w.line(box, s.ID)
	if !ok || l.Token == nil && l.Staff == nil || w.pilotman(box, s) != nil {
		return
	}
	what := block.GivenUp
	if l.Staff != nil && !l.Staff.Coming {
		what = block.Spent
	}
	w.at(w.in(givesUp), func() {
		if l, ok := w.line(box, s.ID); !ok || l.Token != nil && (!l.Token.Out || l.Token.Hand == "box") {
			return // it was put in already, without waiting for him
		}
		w.record(block.Event{Do: block.Token, By: box, Section: s.ID, Where: what, Train: t.Train})
	})
}

// letGo ends the release: the token has been drawn. A person lets go of his key himself.
func (w *world) letGo(e block.Event) {
	s, _ := w.r.Section(e.Section)
	other := s.Rear
	if other == e.By {
		other = s.Advance
	}
	w.at(w.now.Add(letsGo), func() {
		if w.of[other].absent {
			return
		}
		w.record(block.Event{Do: block.Hold, By: other, Circuit: s.Circuit, Off: true})
	})
}

// cautions stops and tells the driver of a train that is to follow another into a permissive line.
func (w *world) cautions(t *train) {
	s, box := t.way[t.at], t.Calls[t.at].Box
	if s.Method != "permissive" || w.tellsNobody(s.ID) {
		return
	}
	if l, ok := w.r.Line(w.state, s.ID); !ok || l.Count == 0 {
		return
	}
	if least := w.in(leastTold); t.from.Before(least) {
		t.from = least
	}
	w.at(w.in(stopped), func() {
		w.record(block.Event{Do: block.Driver, By: box, Where: block.Stopped, Train: t.Train})
	})
	w.at(t.from, func() {
		t.told = w.now
		w.record(block.Event{Do: block.Driver, By: box, Where: block.Warned, Train: t.Train})
	})
}

// tellsFirst stops and tells the driver of a train that may now follow another into a permissive line, if that was not
// done a moment ago, and tells whether the train has to wait for it.
func (w *world) tellsFirst(t *train) bool {
	s, box := t.way[t.at], t.Calls[t.at].Box
	if s.Method != "permissive" || w.tellsNobody(s.ID) || w.now.Sub(t.told) <= toldFor {
		return false
	}
	if l, ok := w.r.Line(w.state, s.ID); !ok || !l.InSection {
		return false
	}
	w.record(block.Event{Do: block.Driver, By: box, Where: block.Stopped, Train: t.Train})
	t.from = w.in(toldIn)
	w.at(t.from, func() {
		t.told = w.now
		w.record(block.Event{Do: block.Driver, By: box, Where: block.Warned, Train: t.Train})
		w.go1(t)
	})
	return true
}
