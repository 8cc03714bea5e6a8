package lesson

import (
	"slices"
	"time"

	"taillamp/block"
)

// Skill is something that a learner shows, counted from the record.
type Skill string

// skills are how each is counted. The limit is how long the learner may take; zero: as long as he likes.
var skills = map[Skill]func(limit time.Duration) counter{
	"calls-answered":  func(d time.Duration) counter { return &answering{limit: d} },
	"offers-repeated": func(time.Duration) counter { return &repeating{} },
	"cleared":         func(d time.Duration) counter { return newShowing(block.Clear, block.Accepted, d) },
	"on-line":         func(d time.Duration) counter { return newShowing(block.Occupied, block.Entering, d) },
	"out-after-lamp":  func(time.Duration) counter { return &lamps{seen: map[block.SectionID]bool{}} },
	"sent-on":         func(time.Duration) counter { return own(block.Entering) },
	"out-given":       func(time.Duration) counter { return own(block.OutOf) },
	"refused":         func(time.Duration) counter { return &refusing{fouls: map[block.SectionID]bool{}} },
	"roads-kept":      func(time.Duration) counter { return &roads{} },
	"obstructions":    func(time.Duration) counter { return own(block.Removed) },
	"cancelled":       func(time.Duration) counter { return theirs(block.Cancelled) },
	"mended":          func(time.Duration) counter { return theirs(block.Mended) },
	"warned":          func(time.Duration) counter { return theirs(block.AcceptedW) },
	"danger":          func(time.Duration) counter { return keyed("obstruction-danger", block.Answer) },
	"lamp-told":       func(time.Duration) counter { return keyed("no-tail-lamp-rear", block.Own) },
	"divided":         func(time.Duration) counter { return keyed("divided", block.Answer) },
	"remarked":        func(time.Duration) counter { return &remarking{} },
	"token-restored":  func(time.Duration) counter { return &restoring{} },
	"token-drawn":     func(time.Duration) counter { return &restoring{drawn: true} },
	"two-in-loop":     func(time.Duration) counter { return &loop{} },
}

// answering counts calls for attention answered in time.
type answering struct {
	nothing
	limit time.Duration
	calls []call
}

type call struct {
	circuit block.CircuitID
	at      time.Time
}

func (a *answering) change(f *fold, _ block.Event, c block.Change, t *tally) {
	s := c.Signal
	if s == nil || s.Key != "call-attention" {
		return
	}
	if !f.mine(s) && s.Sense == block.Own && touches(f, s.Circuit) {
		// Called again, the call before it is not waited for any more: he rang something else meanwhile.
		a.calls = slices.DeleteFunc(a.calls, func(k call) bool { return k.circuit == s.Circuit })
		a.calls = append(a.calls, call{s.Circuit, s.First})
		return
	}
	if f.mine(s) && s.Sense == block.Own { // both called at once: nobody is to be blamed for either
		a.calls = slices.DeleteFunc(a.calls, func(k call) bool { return k.circuit == s.Circuit })
	}
	if !f.mine(s) || s.Sense != block.Answer {
		return
	}
	for n, k := range a.calls {
		if k.circuit == s.Circuit {
			t.add(s.First.Sub(k.at) <= a.limit)
			a.calls = append(a.calls[:n], a.calls[n+1:]...)
			return
		}
	}
}

func (a *answering) time(f *fold, t *tally) {
	kept := a.calls[:0]
	for _, k := range a.calls {
		if f.now.Sub(k.at) > 2*a.limit { // so long that nobody will call it an answer
			t.bad++
		} else {
			kept = append(kept, k)
		}
	}
	a.calls = kept
}

// touches tells whether the learner's box has that bell.
func touches(f *fold, id block.CircuitID) bool {
	for _, c := range f.r.Circuits() {
		if c.ID == id {
			return c.Boxes[0] == f.l.Box || c.Boxes[1] == f.l.Box
		}
	}
	return false
}

// repeating counts offers repeated exactly at the first attempt.
type repeating struct {
	nothing
	fluffed map[block.CircuitID]bool
}

func (r *repeating) change(f *fold, _ block.Event, c block.Change, t *tally) {
	s := c.Signal
	if s == nil || !f.mine(s) {
		return
	}
	if r.fluffed == nil {
		r.fluffed = make(map[block.CircuitID]bool)
	}
	switch {
	case s.Sense == block.Wrong:
		t.bad++
		r.fluffed[s.Circuit] = true
	case s.Sense == block.Answer && s.Did == block.Accepted:
		if !r.fluffed[s.Circuit] {
			t.good++
		}
		delete(r.fluffed, s.Circuit)
	}
}

// showing counts needles that were turned in time after a signal was repeated.
type showing struct {
	nothing
	show   block.Aspect
	after  block.Effect
	limit  time.Duration
	wanted map[block.SectionID]time.Time
}

func newShowing(show block.Aspect, after block.Effect, d time.Duration) counter {
	return &showing{show: show, after: after, limit: d, wanted: make(map[block.SectionID]time.Time)}
}

func (w *showing) change(f *fold, _ block.Event, c block.Change, t *tally) {
	switch {
	case c.Signal != nil && f.mine(c.Signal) && c.Signal.Sense == block.Answer && c.Signal.Did == w.after:
		l, ok := f.toMe(c.Signal.Section)
		if !ok {
			return
		}
		if l.Shows == w.show { // turned before, or while, it was repeated
			t.good++
			return
		}
		w.wanted[c.Signal.Section] = c.Signal.First
	case c.Indicator != nil && c.Indicator.Aspect == w.show && !w.wanted[c.Indicator.Section].IsZero():
		t.add(f.now.Sub(w.wanted[c.Indicator.Section]) <= w.limit)
		delete(w.wanted, c.Indicator.Section)
	}
}

func (w *showing) time(f *fold, t *tally) {
	for id, at := range w.wanted { // order does not matter: each is counted by itself
		if f.now.Sub(at) > 2*w.limit {
			t.bad++
			delete(w.wanted, id)
		}
	}
}

// lamps counts trains given out of section after their tail lamp was seen, and those given before.
type lamps struct {
	nothing
	seen map[block.SectionID]bool
}

func (l *lamps) change(f *fold, e block.Event, c block.Change, t *tally) {
	switch {
	case c.Train != nil && e.By == f.l.Box && (c.Train.Where == block.Passes || c.Train.Where == block.IsClear || c.Train.Where == block.IsWhole):
		l.seen[c.Train.Section] = c.Train.Lamp == block.LampSeen || c.Train.Where != block.Passes
	case c.Signal != nil && f.mine(c.Signal) && c.Signal.Sense == block.Own && c.Signal.Did == block.OutOf:
		t.add(l.seen[c.Signal.Section])
		delete(l.seen, c.Signal.Section)
	}
}

// signals counts signals of one effect or name, the learner's own or his answers.
type signals struct {
	nothing
	did   block.Effect
	key   block.CodeKey
	sense block.Sense
	mine  bool
}

// own counts the learner's own signals, once they have been answered.
func own(did block.Effect) counter { return &signals{did: did, sense: block.Answer} }

// theirs counts what happened when a signal was answered, whoever of the two answered it.
func theirs(did block.Effect) counter {
	return &signals{did: did, sense: block.Answer, mine: did != block.AcceptedW}
}

// keyed counts a signal by its name: the learner's own, or his answer to it.
func keyed(key block.CodeKey, sense block.Sense) counter {
	return &signals{key: key, sense: sense, mine: true}
}

func (k *signals) change(f *fold, _ block.Event, c block.Change, t *tally) {
	s := c.Signal
	if s == nil || s.Sense != k.sense || f.mine(s) != k.mine || !touches(f, s.Circuit) {
		return
	}
	if k.did != "" && s.Did == k.did || k.key != "" && s.Key == k.key {
		t.good++
	}
}
