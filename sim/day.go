package sim

import (
	"fmt"
	"iter"
	"time"

	"taillamp/block"
)

// Options say how a day is worked.
type Options struct {
	Seed   uint64
	Begins time.Time                   // when the sitting begins, district time
	Temper Temper                      // of every signaller; zero: Steady
	Box    map[block.BoxID]Temper      // … but of these
	Bends  func(r *block.Rules) []Bend // mistakes ordered of somebody; nil: none
	Most   time.Duration               // the day is broken off after so long; zero: 24 hours
}

// Day works the whole sequence with every box simulated, as fast as it goes, and yields what a sitting would record.
// With an error, which means that a simulated person or train did what cannot be, it ends.
func Day(r *block.Rules, o Options) iter.Seq2[block.Entry, error] {
	return func(yield func(block.Entry, error) bool) {
		w := newWorld(r, o, yield)
		w.open()
		w.run()
	}
}

// world is a district while its day is being worked.
type world struct {
	r        *block.Rules
	o        Options
	yield    func(block.Entry, error) bool
	over     bool
	now      time.Time
	ends     time.Time
	state    block.State
	seq      uint64
	queue    queue
	circuits []block.Circuit
	people   []*person
	of       map[block.BoxID]*person
	ringing  map[block.CircuitID]time.Time
	trains   []*train
	clear    map[block.SectionID]block.TrainID // for which train line clear was last obtained
	bends    []Bend
}

// person is a simulated signaller at his box.
type person struct {
	*Signaller
	box    block.Box
	free   time.Time // when the code that he is ringing ends
	turn   int       // counts his thoughts: only the newest is acted on
	calls  []visit   // trains that start from or call at the box, in order
	here   int       // trains standing in a yard
	chores []chore   // signals of no train, still to be given
}

// visit is a train at a box: its place in the train's list of calls.
type visit struct {
	t *train
	k int
}

func newWorld(r *block.Rules, o Options, yield func(block.Entry, error) bool) *world {
	if o.Temper.Name == "" {
		o.Temper = Steady
	}
	if o.Most == 0 {
		o.Most = 24 * time.Hour
	}
	w := &world{r: r, o: o, yield: yield, now: o.Begins, ends: o.Begins.Add(o.Most), state: r.Opening(o.Begins),
		of: make(map[block.BoxID]*person), ringing: make(map[block.CircuitID]time.Time),
		clear: make(map[block.SectionID]block.TrainID), circuits: r.Circuits()}
	for _, b := range r.Layout().Boxes {
		t := o.Temper
		if own, ok := o.Box[b.ID]; ok {
			t = own
		}
		p := &person{Signaller: NewSignaller(r, b.ID, t, o.Seed), box: b}
		w.people = append(w.people, p)
		w.of[b.ID] = p
	}
	w.fillTrains()
	if o.Bends != nil {
		w.bends = o.Bends(r)
	}
	return w
}

// open has everybody sign on, and every train wait for its time.
func (w *world) open() {
	for _, p := range w.people {
		if !p.box.Out && !w.r.OnDuty(w.state, p.Box) {
			w.record(block.Event{Do: block.Duty, By: p.Box})
		}
	}
	w.planSwitches()
	for _, t := range w.trains {
		w.startsFrom(t)
	}
	for _, p := range w.people {
		w.wake(p)
	}
}

// run lets happen what is to happen, until nothing is left or the day is over.
func (w *world) run() {
	for !w.over {
		h, ok := w.queue.next()
		if !ok || h.at.After(w.ends) {
			return
		}
		if h.at.After(w.now) {
			w.now = h.at
		}
		h.run()
	}
}

// at asks for something to happen later.
func (w *world) at(t time.Time, run func()) { w.queue.add(t, run) }

// record takes an event, and tells those whom it concerns.
func (w *world) record(e block.Event) {
	if w.over {
		return
	}
	e.At = w.now
	next, out, err := w.r.Step(w.state, e)
	if err != nil {
		w.over = true
		w.yield(block.Entry{}, fmt.Errorf("at %s %s: %w", w.now.Format("15:04:05"), e.By, err))
		return
	}
	w.state = next
	w.seq++
	if !w.yield(block.Entry{Seq: w.seq, Event: e, Outcome: out}, nil) {
		w.over = true
		return
	}
	if e.Do == block.Token && e.Where == block.Drawn && out.Ending == block.Done {
		w.letGo(e)
	}
	w.follow(out)
	w.tell(e)
}

// follow keeps what trains need to know of the bells.
func (w *world) follow(out block.Outcome) {
	for _, c := range out.Changes {
		if c.Signal == nil {
			continue
		}
		for _, p := range w.people {
			p.heard(c.Signal)
		}
		switch c.Signal.Did {
		case block.Accepted, block.AcceptedW:
			w.clear[c.Signal.Section] = c.Signal.Train
		case block.Entering:
			w.signalled(c.Signal.Section)
		}
	}
}

// tell wakes the signallers and trains that an event concerns: of a code only when it has been rung to its end.
func (w *world) tell(e block.Event) {
	when := w.now
	id := e.Circuit
	if sec, ok := w.r.Section(e.Section); ok {
		id = sec.Circuit
	}
	if e.Do == block.Rung {
		when = w.now.Add(w.of[e.By].temper.rings(e.Beats))
		w.ringing[id] = when
		w.of[e.By].free = when
	}
	for _, c := range w.circuits {
		if c.ID != id {
			continue
		}
		for _, b := range c.Boxes {
			p := w.of[b]
			w.at(when, func() { w.wake(p) })
		}
		return
	}
	if p := w.of[e.By]; p != nil {
		w.at(when, func() { w.wake(p); w.everyTrain() })
	}
}

// wake has a signaller look at his instruments, and the trains at his box at his signals.
func (w *world) wake(p *person) {
	w.look(p)
	if w.now.Before(p.free) {
		w.at(p.free, func() { w.think(p) })
		return
	}
	w.think(p)
}

// think is a signaller making up his mind; the newest thought counts.
func (w *world) think(p *person) {
	if w.over || w.now.Before(p.free) {
		return
	}
	p.turn++
	turn := p.turn
	i, acts, wake := p.Think(w.view(p), w.now)
	again := func(run func(*person)) func() {
		return func() {
			if p.turn == turn {
				run(p)
			}
		}
	}
	switch {
	case acts:
		at := i.At
		if at.Before(w.now) {
			at = w.now
		}
		w.at(at, again(w.act))
	case !wake.IsZero():
		w.at(wake, again(w.think))
	}
}

// act is a signaller doing what he meant to do, if it is still what he means when he looks again.
func (w *world) act(p *person) {
	i, acts, _ := p.Think(w.view(p), w.now)
	if !acts || i.At.After(w.now) {
		w.think(p)
		return
	}
	p.Done()
	for _, e := range w.bent(p, i) {
		w.record(e)
	}
	if i.Held { // the release of a token: the key is kept down once the code is rung
		w.at(p.free, func() { w.record(block.Event{Do: block.Hold, By: p.Box, Circuit: i.Circuit}) })
	}
	w.at(w.now, func() { w.wake(p) })
}

// view is what the box can see, less the bells that are ringing at the moment, and what its signaller has in mind.
func (w *world) view(p *person) block.View {
	v := w.r.View(w.state, p.Box)
	shelf := v.Shelf[:0:0]
	for _, i := range v.Shelf {
		if !w.ringing[i.Circuit].After(w.now) {
			shelf = append(shelf, i)
		}
	}
	v.At, v.Shelf = w.now, shelf
	v.Sends, v.Says, v.Full = w.sends(p), p.says(), w.full(p)
	return v
}
