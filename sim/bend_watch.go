package sim

import (
	"time"

	"taillamp/block"
)

// watch keeps what mistakes ask about: who did what when.
type watch struct {
	answered map[caller]time.Time          // when a box's call was last answered
	rang     map[block.BoxID]time.Time     // when it last rang or turned anything
	sighted  map[block.BoxID]time.Time     // when it last saw a train
	left     map[block.SectionID]time.Time // when a train last left by a line
	wrote    map[block.BoxID]time.Time     // when it last wrote across the page
	said     map[saying]time.Time          // when a box last rang a signal of its own
	repeats  map[saying]time.Time          // when it last repeated one of another's
}

// saying is a signal of a box's own.
type saying struct {
	box block.BoxID
	key block.CodeKey
}

// caller is a box that calls attention on a circuit.
type caller struct {
	circuit block.CircuitID
	box     block.BoxID
}

func newWatch() watch {
	return watch{make(map[caller]time.Time), make(map[block.BoxID]time.Time), make(map[block.BoxID]time.Time),
		make(map[block.SectionID]time.Time), make(map[block.BoxID]time.Time), make(map[saying]time.Time), make(map[saying]time.Time)}
}

// watches follows an act.
func (w *world) watches(e block.Event, out block.Outcome) {
	switch {
	case e.Do == block.Remark:
		w.wrote[e.By] = w.now
	case e.Do == block.Rung || e.Do == block.Turn:
		w.rang[e.By] = w.now
	case e.Do == block.Train && e.Where == block.Leaves:
		w.left[e.Section] = w.now
		w.sighted[e.By] = w.now
	case e.Do == block.Train:
		w.sighted[e.By] = w.now
	}
	w.remembers(out)
	for _, c := range out.Changes {
		switch {
		case c.Signal != nil && c.Signal.Key == "call-attention" && c.Signal.Sense == block.Answer:
			w.answered[caller{c.Signal.Circuit, w.neighbour(c.Signal.Circuit, c.Signal.By)}] = w.now
		case c.Signal != nil && (c.Signal.Did == block.Accepted || c.Signal.Did == block.AcceptedW || c.Signal.Did == block.OutOf):
			w.clearFor(c.Signal.Section)
		case c.Indicator != nil:
			w.clearFor(c.Indicator.Section)
		}
	}
}

// remembers keeps who rang and who repeated what.
func (w *world) remembers(out block.Outcome) {
	for _, c := range out.Changes {
		if c.Signal != nil && c.Signal.Sense == block.Own {
			w.said[saying{c.Signal.By, c.Signal.Key}] = w.now
		}
		if c.Signal != nil && c.Signal.Sense == block.Answer {
			w.repeats[saying{c.Signal.By, c.Signal.Key}] = w.now
		}
	}
}

// clearFor notes for which train a line is accepted: not always the one accepted last.
func (w *world) clearFor(s block.SectionID) {
	sec, ok := w.r.Section(s)
	if l, _ := w.r.Line(w.state, s); !ok || sec.Method != "absolute" || !l.Accepted {
		return
	}
	for _, i := range w.r.View(w.state, sec.Rear).Shelf {
		for _, l := range i.Lines {
			if l.Section == s && l.Train != "" {
				w.clear[s] = l.Train
			}
		}
	}
}

func (w *world) neighbour(id block.CircuitID, box block.BoxID) block.BoxID {
	c, _ := w.circuit(id)
	if c.Boxes[0] == box {
		return c.Boxes[1]
	}
	return c.Boxes[0]
}
