package sim

import (
	"slices"

	"taillamp/block"
)

// changes takes the owner's change of the sequence: a train more, one less, or one at another time. A train that is
// on its way is let alone; whoever owns the sitting sees to that.
func (w *world) changes(e block.Event) {
	next, err := w.timetable.After(e)
	if err != nil || next == w.timetable {
		return
	}
	w.timetable = next
	switch e.Where {
	case block.Added:
		k, _ := next.Find(e.Train)
		t := w.newTrain(k)
		w.planTrolley(t, w.now)
		w.trains = append(w.trains, t)
	case block.Retimed:
		if t := w.train(e.Train); t != nil {
			t.Working, _ = next.Find(e.Train)
		}
	case block.Withdrawn:
		gone := w.train(e.Train)
		if gone == nil {
			return
		}
		gone.waits = false // it may have been about to go
		w.trains = slices.DeleteFunc(w.trains, func(t *train) bool { return t == gone })
		for _, p := range w.people {
			p.calls = slices.DeleteFunc(p.calls, func(v visit) bool { return v.t == gone })
		}
	}
	w.sortCalls()
}

// changed sets to work what the owner has changed.
func (w *world) changed(e block.Event) {
	if t := w.train(e.Train); t != nil && t.at == 0 && !t.running && !t.going {
		w.startsFrom(t)
	}
	w.replan()
	w.wakeAll()
}

func (w *world) train(id block.TrainID) *train {
	i := slices.IndexFunc(w.trains, func(t *train) bool { return t.Train == id })
	if i < 0 {
		return nil
	}
	return w.trains[i]
}
