package sim

import "taillamp/block"

// hisSignals tells whether a person works the signals of a box by levers.
func (w *world) hisSignals(box block.BoxID) bool {
	p := w.of[box]
	return p != nil && p.absent && w.r.Layout().Settings.Levers
}

// pulls tells whether a train comes to a box at which a person has the lever of its home signal, on his tablet. A layout
// that has levers of its own says nothing of home signals, and its trains are not held at them.
func (w *world) pulls(t *train) bool {
	return t.at > 0 && t.way[t.at-1].Method == "absolute" && w.hisSignals(t.Calls[t.at].Box) &&
		w.r.Layout().Settings.LeversAt == "tablet"
}

// homeAtDanger tells whether a train finds the home signal of its call against it.
func (w *world) homeAtDanger(t *train) bool {
	if !w.pulls(t) {
		return false
	}
	l, ok := w.r.Line(w.state, t.way[t.at-1].ID)
	return ok && !l.Home
}

// comesIn has a train that stands at a home signal go past it, if it is off now.
func (w *world) comesIn(t *train) {
	if w.homeAtDanger(t) || w.now.Before(t.stands) {
		return
	}
	t.outside = false
	at := t.at
	w.onLine(w.in(afterHeld), func() {
		if t.at == at && !t.running {
			w.comesBy(t)
		}
	})
}
