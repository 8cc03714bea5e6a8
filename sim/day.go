package sim

import (
	"fmt"
	"iter"
	"slices"
	"time"

	"taillamp/block"
)

// Options say how a day is worked.
type Options struct {
	Seed    uint64
	Begins  time.Time                   // when the sitting begins, district time
	Temper  Temper                      // of every signaller; zero: Steady
	Box     map[block.BoxID]Temper      // … but of these
	Bends   func(r *block.Rules) []Bend // mistakes ordered of somebody; nil: none
	Most    time.Duration               // the day is broken off after so long; zero: 24 hours
	OneHand []block.BoxID               // boxes that one person works, with one pair of hands
	Beats   bool                        // codes are rung beat by beat, not as a whole
	Speed   float64                     // how much faster trains run than the clock; zero: 1
	Tasks   []Task                      // what happens besides trains
	Events  []block.Event               // what the owner does, each at its time: an instrument fails, and is mended
	Waits   bool                        // nobody rings a second time for a person: each waits till he is ready
	Plays   map[block.BoxID]Played      // boxes whose signaller is played back from a record
	Faults  bool                        // put in now and then, for persons to notice
	Leaves  Help                        // what is left undone at a box by whoever works it; nil: nothing
	Helps   Help                        // what is done for the person at a box; nil: nothing
	Booked  func(sec int) time.Time     // the moment of a time of the sequence, in seconds; nil: of the day on which it begins
}

// Help picks acts at a box, or the sight of a train there (Do Train): those that an old hand does for the person beside
// him, the rest of what he has not learnt yet, or those that a careless one leaves undone.
type Help func(box block.BoxID, a block.Advice) bool

// Day works the whole sequence with every box simulated, as fast as it goes, and yields what a sitting would record.
// With an error, which means that a simulated person or train did what cannot be, it ends.
func Day(r *block.Rules, o Options) iter.Seq2[block.Entry, error] {
	return func(yield func(block.Entry, error) bool) {
		d := diary{r: r, state: r.Opening(o.Begins), yield: yield}
		w := newWorld(r, o, d.state)
		w.enter = d.enter
		defer w.endScripts()
		w.open()
		for {
			at, ok := w.queue.first()
			if !ok || at.After(w.ends) || d.full {
				return
			}
			w.until(at)
		}
	}
}

// diary steps what a simulated day does and yields it as a record.
type diary struct {
	r     *block.Rules
	state block.State
	seq   uint64
	full  bool
	yield func(block.Entry, error) bool
}

func (d *diary) enter(e block.Event) (block.Outcome, block.State, bool) {
	if d.full {
		return block.Outcome{}, d.state, false
	}
	next, out, err := d.r.Step(d.state, e)
	if err != nil {
		d.full = true
		d.yield(block.Entry{}, fmt.Errorf("at %s %s: %w", e.At.Format("15:04:05"), e.By, err))
		return block.Outcome{}, d.state, false
	}
	d.state = next
	d.seq++
	d.full = !d.yield(block.Entry{Seq: d.seq, Event: e, Outcome: out}, nil)
	return out, next, true
}

// world is a district while its day is being worked.
type world struct {
	r         *block.Rules
	o         Options
	enter     func(block.Event) (block.Outcome, block.State, bool) // has an event happen; false: it cannot be
	now       time.Time
	due       time.Time // when what happens now was to happen: before now where the machine was held up
	ends      time.Time
	state     block.State
	queue     queue
	circuits  []block.Circuit
	byID      map[block.CircuitID]int // place in circuits
	people    []*person
	of        map[block.BoxID]*person
	ringing   map[block.CircuitID]time.Time
	timetable *block.Timetable // as it stands
	trains    []*train
	clear     map[block.SectionID]block.TrainID // for which train line clear was last obtained
	bends     []Bend
	scripts   []*script
	wanted    []*wanted // ordered, and not come to pass
	courses   []*course // come to pass, and not over
	orders    []*order
	hands     map[block.BoxID][][]hand          // of those that are played back
	heardBy   map[block.BoxID]int               // codes, of the same
	phones    map[block.CircuitID][]block.BoxID // whose receivers are off
	asked     map[block.CircuitID]int           // how often a token was asked for by 5-2 and answered
	watch
}

// person is a simulated signaller at his box.
type person struct {
	*Signaller
	box      block.Box
	absent   bool              // somebody else works the box
	free     time.Time         // when the code that he is ringing ends
	wakes    time.Time         // when he is to be woken next
	turn     int               // counts his thoughts: only the newest is acted on
	toMe     []block.SectionID // lines by which trains can come to the box
	calls    []visit           // trains that start from or call at the box, in order
	here     int               // trains standing in a yard
	unmarked []tail            // that went by while a person had the box
	chores   []chore           // signals of no train, still to be given
	plan     int               // counts the plans of when his box opens and closes: only the newest holds
}

// visit is a train at a box: its place in the train's list of calls.
type visit struct {
	t *train
	k int
}

func newWorld(r *block.Rules, o Options, opening block.State) *world {
	if o.Temper.Name == "" {
		o.Temper = Steady
	}
	if o.Most == 0 {
		o.Most = 24 * time.Hour
	}
	w := &world{r: r, o: o, timetable: r.Timetable(), now: o.Begins, ends: o.Begins.Add(o.Most), state: opening,
		of: make(map[block.BoxID]*person), ringing: make(map[block.CircuitID]time.Time),
		clear: make(map[block.SectionID]block.TrainID), circuits: r.Circuits(), watch: newWatch(),
		hands: make(map[block.BoxID][][]hand), heardBy: make(map[block.BoxID]int)}
	w.byID = make(map[block.CircuitID]int, len(w.circuits))
	for n, c := range w.circuits {
		w.byID[c.ID] = n
	}
	for _, b := range r.Layout().Boxes {
		t := o.Temper
		if own, ok := o.Box[b.ID]; ok {
			t = own
		}
		p := &person{Signaller: NewSignaller(r, b.ID, t, o.Seed), box: b}
		p.leaves = func(a block.Advice) bool {
			// He lets a bell ring to its end, and does for a person only what he is to do for him.
			return w.ringing[a.Circuit].After(w.now) || w.omits(b.ID, a) || p.absent && !o.Helps(b.ID, a) || o.Leaves != nil && o.Leaves(b.ID, a) ||
				o.Waits && a.Again && w.withPerson(a.Circuit)
		}
		w.people = append(w.people, p)
		w.of[b.ID] = p
	}
	for _, c := range w.circuits {
		for _, s := range c.Sections {
			w.of[s.Advance].toMe = append(w.of[s.Advance].toMe, s.ID)
			if s.Way == "both" {
				w.of[s.Rear].toMe = append(w.of[s.Rear].toMe, s.ID)
			}
		}
	}
	w.fillTrains()
	w.planTasks()
	w.planTrolleys()
	if o.Bends != nil {
		w.bends = o.Bends(r)
		for _, b := range w.bends {
			w.at(b.From, w.everyBody)
		}
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
	w.playBack()
	w.putIn()
	w.planSwitches()
	for _, t := range w.trains {
		w.startsFrom(t)
	}
	for _, p := range w.people {
		w.wake(p)
	}
}

// until lets happen what is to happen up to a moment.
func (w *world) until(now time.Time) {
	for {
		at, ok := w.queue.first()
		if !ok || at.After(now) {
			break
		}
		h, _ := w.queue.next()
		if h.at.After(w.now) {
			w.now = h.at
		}
		w.due = h.at
		h.run()
	}
	if now.After(w.now) {
		w.now = now
	}
}

// at asks for something to happen later; what ought to have been before now, now: nobody who asks what is due is to think
// that he was held up since then.
func (w *world) at(t time.Time, run func()) { w.queue.add(w.notBefore(t), work, run) }

// onLine has something happen to a train: sooner or later than that if the district's clock changes its speed.
func (w *world) onLine(t time.Time, run func()) { w.queue.add(w.notBefore(t), movement, run) }

func (w *world) notBefore(t time.Time) time.Time {
	if t.Before(w.now) {
		return w.now
	}
	return t
}

// record has an event happen, and tells those whom it concerns.
func (w *world) record(e block.Event) {
	e.At = w.now
	out, state, ok := w.enter(e)
	if ok {
		w.saw(e, out, state)
	}
}

// saw takes what has happened, whoever did it.
func (w *world) saw(e block.Event, out block.Outcome, state block.State) {
	w.state = state
	if e.Do == block.Trains && out.Ending == block.Done {
		w.changes(e)
		w.changed(e)
	}
	w.takesOrder(e)
	if e.Do == block.Token && e.Where == block.Drawn && out.Ending == block.Done {
		w.letGo(e)
	}
	w.follow(out)
	w.watches(e, out)
	w.tell(e, out)
	w.happens(e)
}

// follow keeps what trains and chores need to know of the bells.
func (w *world) follow(out block.Outcome) {
	for _, c := range out.Changes {
		if c.Code != nil {
			w.ringing[c.Code.Circuit] = w.now // it is at its end
			w.hearsPlayed(c.Code)
		}
		if c.Signal == nil {
			continue
		}
		if c.Signal.Key == "release-token" && c.Signal.Sense == block.Answer {
			if w.asked == nil {
				w.asked = make(map[block.CircuitID]int)
			}
			w.asked[c.Signal.Circuit]++
		}
		circuit, _ := w.circuit(c.Signal.Circuit)
		for _, b := range circuit.Boxes {
			w.of[b].heard(c.Signal)
		}
		switch c.Signal.Did {
		case block.Accepted, block.AcceptedW:
			w.clear[c.Signal.Section] = w.acceptedTrain(c.Signal)
		case block.Entering:
			w.signalled(c.Signal.Section)
		}
	}
}

// tell wakes the signallers and trains that an event concerns: of a code only when it has been rung to its end.
func (w *world) tell(e block.Event, out block.Outcome) {
	when := w.now
	var ids []block.CircuitID
	concerns := func(id block.CircuitID) {
		if id != "" && !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	if e.Do != block.Beat {
		concerns(e.Circuit)
	}
	if sec, ok := w.r.Section(e.Section); ok {
		concerns(sec.Circuit)
	}
	for _, c := range out.Changes {
		if c.Code != nil {
			concerns(c.Code.Circuit)
		}
	}
	if e.Do == block.Rung {
		when = w.now.Add(w.of[e.By].temper.rings(e.Beats))
		w.ringing[e.Circuit] = when
		w.of[e.By].free = when
	}
	for _, id := range ids {
		if c, ok := w.circuit(id); ok {
			for _, b := range c.Boxes {
				p := w.of[b]
				w.wakeAt(p, when)
			}
		}
	}
	if p := w.of[e.By]; p != nil && len(ids) == 0 && e.Do != block.Beat {
		w.at(when, func() { w.wake(p); w.everyTrain() })
	}
}

// wakeAt has a signaller woken at a moment, once however many things happen then.
func (w *world) wakeAt(p *person, when time.Time) {
	if p.wakes.Equal(when) {
		return
	}
	p.wakes = when
	w.at(when, func() {
		if p.wakes.Equal(when) {
			p.wakes = time.Time{}
		}
		w.wake(p)
	})
}

// wake has a signaller look at his instruments, and the trains at his box at his signals.
func (w *world) wake(p *person) {
	w.look(p)
	if free := w.handsFree(p); w.now.Before(free) {
		w.at(free, func() { w.think(p) })
		return
	}
	w.think(p)
}

// think is a signaller making up his mind; the newest thought counts.
func (w *world) think(p *person) {
	if p.absent && w.o.Helps == nil || w.now.Before(w.handsFree(p)) {
		return
	}
	p.turn++
	turn := p.turn
	v := w.view(p)
	if !p.absent && w.errs(p, &v, nil) {
		v = w.view(p)
	}
	i, acts, wake := p.Think(v, w.now)
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
	if free := w.handsFree(p); w.now.Before(free) {
		w.at(free, func() { w.think(p) })
		return
	}
	v := w.view(p)
	i, acts, _ := p.Think(v, w.now)
	if !acts || i.At.After(w.now) {
		w.think(p)
		return
	}
	p.Done()
	if p.absent || !w.errs(p, &v, &i) {
		w.does(p, i.Event(p.Box))
	}
	if i.Held { // the release of a token: the key is kept down once the code is rung
		w.at(p.free, func() { w.record(block.Event{Do: block.Hold, By: p.Box, Circuit: i.Circuit}) })
	}
	w.wakeAt(p, w.now)
}

// handsFree is when the hands that work a box have rung what they are ringing, there or at another box of theirs.
func (w *world) handsFree(p *person) time.Time {
	free := p.free
	if slices.Contains(w.o.OneHand, p.Box) {
		for _, b := range w.o.OneHand {
			if o := w.of[b]; o != nil && o.free.After(free) {
				free = o.free
			}
		}
	}
	return free
}

// does is an act of a signaller, a code rung as the day rings them.
func (w *world) does(p *person, e block.Event) {
	if e.Do == block.Rung && w.o.Beats {
		w.taps(p, e)
		return
	}
	w.record(e)
}

// taps rings a code beat by beat, for ears that hear it. Until it is known to be at its end its bells are not looked at.
func (w *world) taps(p *person, e block.Event) {
	at := w.now
	for i, n := range e.Beats {
		if i > 0 {
			at = at.Add(p.temper.Beat + p.temper.Pause)
		}
		for b := range n {
			if b > 0 {
				at = at.Add(p.temper.Beat)
			}
			of := restOfCode
			if i == 0 && b == 0 {
				of = work
			}
			w.queue.add(at, of, func() {
				w.record(block.Event{Do: block.Beat, By: p.Box, Circuit: e.Circuit, Pressed: w.due, Train: e.Train})
			})
		}
	}
	p.free = at
	w.ringing[e.Circuit] = at.Add(longestQuiet)
}

// longestQuiet is how long it may take until a code that has been rung is known to be at its end.
const longestQuiet = 4 * time.Second

// view is what the box can see, and what its signaller has in mind.
func (w *world) view(p *person) block.View {
	v := w.r.View(w.state, p.Box)
	v.At = w.now
	v.Sends, v.Says, v.Full = w.sends(p), p.says(), w.full(p)
	w.overlooks(&v)
	return v
}
