package sim

import (
	"time"

	"taillamp/block"
)

// Played is a box whose signaller is played back from a recorded sitting: the other hand of last week's evening. What he
// did in answer to something comes as long after the same thing now as it came then; what he did of his own accord comes as
// long after the beginning. He sees nothing new: who works otherwise than the people did then gets the answers of then.
type Played struct {
	Began   time.Time     // of the recorded sitting
	Entries []block.Entry // its record
}

// hand is one thing that the recorded signaller did.
type hand struct {
	event block.Event
	after time.Duration // what he answered, or the beginning
}

// handsOf sorts what a recorded signaller did by how many codes he had heard before it: those of the code numbered n are in
// place n.
func (w *world) handsOf(box block.BoxID, p Played) [][]hand {
	hands := make([][]hand, 1)
	last := p.Began
	for _, e := range p.Entries {
		if e.Mark != "" {
			continue
		}
		if e.Event.By == box && e.Outcome.Ending != block.Refused && !ofTrains(e.Event) {
			at := e.Event.At
			if !e.Event.Pressed.IsZero() {
				at = e.Event.Pressed // the rhythm is the hand's own
			}
			n := len(hands) - 1
			hands[n] = append(hands[n], hand{e.Event, max(0, at.Sub(last))})
		}
		for _, c := range e.Outcome.Changes {
			if c.Code != nil && c.Code.By != box && w.hears(box, c.Code.Circuit) {
				hands, last = append(hands, nil), e.Event.At
			}
		}
	}
	return hands
}

// ofTrains tells whether an event is a train's own doing: it runs anew.
func ofTrains(e block.Event) bool {
	return e.Do == block.Train && (e.Where == block.Leaves || e.Where == block.Stands || e.Where == block.Heads)
}

func (w *world) hears(box block.BoxID, id block.CircuitID) bool {
	c, ok := w.circuit(id)
	return ok && (c.Boxes[0] == box || c.Boxes[1] == box)
}

// playBack has the recorded signallers begin.
func (w *world) playBack() {
	for _, p := range w.people {
		hand, ok := w.o.Plays[p.Box]
		if !ok {
			continue
		}
		p.absent = true // nobody else thinks there
		w.hands[p.Box] = w.handsOf(p.Box, hand)
		w.plays(p.Box, 0)
	}
}

// plays has everything happen that the recorded signaller did after he had heard so many codes.
func (w *world) plays(box block.BoxID, heard int) {
	hands := w.hands[box]
	if heard >= len(hands) {
		return
	}
	for _, h := range hands[heard] {
		e := h.event
		w.at(w.now.Add(h.after), func() {
			e.Pressed = time.Time{}
			if e.Do == block.Beat {
				e.Pressed = w.due
			}
			if e.Do == block.Duty && w.r.OnDuty(w.state, box) != e.Off {
				return // he is there, or gone, already
			}
			w.record(e)
		})
	}
}

// hearsPlayed counts what the recorded signallers hear.
func (w *world) hearsPlayed(c *block.Heard) {
	for _, p := range w.people {
		if w.hands[p.Box] != nil && c.By != p.Box && w.hears(p.Box, c.Circuit) {
			w.heardBy[p.Box]++
			w.plays(p.Box, w.heardBy[p.Box])
		}
	}
}
