package sim

import (
	"slices"
	"time"

	"taillamp/block"
)

// What trains take at a box, as the golden day of the demo has it (its section 5; guesses, no source).
const (
	gathersWay  = 18 * time.Second  // from starting to passing the section signal
	toSignal    = 8 * time.Second   // from passing the box to passing the section signal
	tailBy      = 36 * time.Second  // from the engine passing to the tail past the clearing point, running
	tailStarts  = 41 * time.Second  // the same from starting
	tailEnds    = 56 * time.Second  // from arriving at the end of its run to standing clear
	freightMore = 30 * time.Second  // a freight train is longer
	putAside    = 4 * time.Minute   // from arriving to standing clear in a siding
	longStop    = 12 * time.Minute  // it is put aside if it stops longer
	leastDwell  = 40 * time.Second  // at a booked stop, however late
	afterHeld   = 20 * time.Second  // from the signal coming off to moving past it
	turnRound   = 3 * time.Minute   // from arriving to being ready as the next train
	shortRun    = 150 * time.Second // a section run in less is offered on as soon as accepted
	stopEarly   = 5 * time.Minute   // a stopping train is not offered on sooner before it leaves
)

// train is one movement of the sequence as it really runs.
type train struct {
	block.Working
	stock    *train
	at       int           // the call it is at or has left last
	running  bool          // between calls at and at+1
	two      bool          // and signalled as entering that section
	waits    bool          // at a signal or in a platform, for line clear
	going    bool          // the signal is off and it is about to pass it
	passing  bool          // it stands at the home signal and does not stop at the box
	outside  bool          // it stands there until a person pulls the lever of that signal
	from     time.Time     // not to go sooner
	arrived  time.Time     // at its last call, standing clear
	clear    bool          // wholly by the box at which it is
	due      time.Time     // at its next call, while it runs
	lost     int           // the call at which it is seen without its tail lamp; 0: at none
	known    bool          // a task has it looked at on its way
	told     time.Time     // when its driver was last told that a permissive line is occupied
	late     time.Duration // longer than it ought to take over its next section
	halt     int           // the call at which it is to be stopped and examined; 0: at none
	examined time.Duration // and how long that takes, by the district's clock
	held     time.Duration // later than booked it is ready at its first box
	stands   time.Time     // not to move before, whatever its signals say
	way      []block.Section
}

func (w *world) fillTrains() {
	byID := make(map[block.TrainID]*train)
	for _, k := range w.timetable.Workings {
		t := w.newTrain(k)
		w.trains = append(w.trains, t)
		byID[k.Train] = t
	}
	for _, t := range w.trains {
		if t.stock = byID[t.StockOf]; t.stock != nil && w.of[t.From] != nil {
			w.of[t.From].here-- // it stands there as the other
		}
	}
	w.sortCalls()
}

// newTrain puts a train of the sequence at its first box, and down at every box that it calls at.
func (w *world) newTrain(k block.Working) *train {
	t := &train{Working: k}
	for n := range t.Calls {
		if n > 0 {
			t.way = append(t.way, w.section(t.Calls[n-1].Box, t.Calls[n]))
		}
		if p := w.of[t.Calls[n].Box]; p != nil {
			p.calls = append(p.calls, visit{t, n})
		}
	}
	if p := w.of[t.From]; p != nil {
		p.here++
	}
	return t
}

// sortCalls puts the trains of every box in the order in which they are booked there.
func (w *world) sortCalls() {
	for _, p := range w.people {
		slices.SortStableFunc(p.calls, func(a, b visit) int { return w.booked(a).Compare(w.booked(b)) })
	}
}

// section is the line by which a train comes from one box to its next call.
func (w *world) section(from block.BoxID, to block.PointTime) block.Section {
	var any block.Section
	for _, c := range w.circuits {
		for _, s := range c.Sections {
			there := s.Rear == from && s.Advance == to.Box || s.Way == "both" && s.Advance == from && s.Rear == to.Box
			if there && (s.Line == to.Line || to.Line == "") {
				return s
			}
			if there {
				any = s
			}
		}
	}
	return any
}

// span is how long something lasts that the district's clock measures; in is when it is over.
func (w *world) span(d time.Duration) time.Duration {
	if w.o.Speed <= 0 || w.o.Speed == 1 {
		return d
	}
	return time.Duration(float64(d) / w.o.Speed)
}

func (w *world) in(d time.Duration) time.Time { return w.now.Add(w.span(d)) }

// day is a booked time as a moment.
func (w *world) day(sec int) time.Time {
	if w.o.Booked != nil {
		return w.o.Booked(sec)
	}
	y, m, d := w.o.Begins.Date()
	return time.Date(y, m, d, 0, 0, sec, 0, w.o.Begins.Location())
}

// booked is when a train leaves, passes or reaches a box by the sequence.
func (w *world) booked(v visit) time.Time {
	c := v.t.Calls[v.k]
	for _, sec := range []int{c.Depart, c.Pass, c.Arrive} {
		if sec >= 0 {
			return w.day(sec)
		}
	}
	return w.o.Begins
}

// startsFrom has a train wait at its first box for its time and its stock.
func (w *world) startsFrom(t *train) {
	if len(t.Calls) < 2 || t.stock != nil && t.stock.arrived.IsZero() {
		return
	}
	t.waits, t.clear = true, true
	t.from = w.booked(visit{t, 0}).Add(w.span(t.held))
	if t.stock != nil {
		if ready := t.stock.arrived.Add(w.span(turnRound)); ready.After(t.from) {
			t.from = ready
		}
	}
	w.onLine(t.from, func() { w.go1(t) })
}

// look has the trains that wait at a box look at its signals.
func (w *world) look(p *person) {
	for _, v := range p.calls {
		if v.t.at == v.k && v.t.outside {
			w.comesIn(v.t)
		}
		if v.t.at == v.k && v.t.waits {
			w.go1(v.t)
		}
	}
}

func (w *world) everyTrain() {
	for _, t := range w.trains {
		if t.outside {
			w.comesIn(t)
		}
		if t.waits {
			w.go1(t)
		}
	}
}

// go1 sends a train on if its time has come and the line is clear for it.
func (w *world) go1(t *train) {
	if !t.waits || t.going || w.now.Before(t.from) || !w.lineClear(t) {
		return
	}
	if w.tellsFirst(t) {
		return
	}
	t.going = true
	if t.passing {
		w.onLine(w.in(afterHeld), func() { w.passes(t) })
		return
	}
	w.onLine(w.in(gathersWay), func() { w.leaves(t, w.in(-gathersWay), tailStarts-gathersWay) })
}

// lineClear tells whether the section ahead is clear for this very train.
func (w *world) lineClear(t *train) bool {
	s := t.way[t.at]
	l, ok := w.r.Line(w.state, s.ID)
	if !ok {
		return false
	}
	if s.Method != "absolute" {
		return w.mayEnter(t, s)
	}
	if w.barred(s.ID) && !w.of[t.Calls[t.at].Box].absent {
		return false
	}
	barred := l.Danger || l.Outside || l.Inside && !l.Warning
	if w.hisSignals(t.Calls[t.at].Box) && !l.Signal {
		return false
	}
	return l.Accepted && l.Shows == block.Clear && w.clear[s.ID] == t.Train && !barred
}

// passes is a train running past its box without stopping.
func (w *world) passes(t *train) {
	head := w.now
	w.sees(t, block.Heads, block.LampUnseen)
	w.onLine(w.in(toSignal), func() { w.leaves(t, head, tailBy-toSignal) })
}

// leaves is a train passing the section signal: its tail follows, and it runs to its next call from when it left or
// passed the box.
func (w *world) leaves(t *train, left time.Time, tail time.Duration) {
	s := t.way[t.at]
	box := t.Calls[t.at].Box
	w.handsToken(t, s, box)
	w.tellsDriver(t, s.ID)
	w.record(block.Event{Do: block.Train, By: box, Section: s.ID, Where: block.Leaves, Train: t.Train})
	if t.Freight {
		tail += freightMore
	}
	if p := w.of[box]; t.at == 0 {
		p.here--
	}
	from, clear := t.at, t.clear
	if !clear {
		w.onLine(w.in(tail), func() { w.seesAt(t, from, block.Passes, block.LampSeen) })
	}
	t.waits, t.going, t.passing, t.running, t.two, t.clear = false, false, false, true, false, false
	next := t.Calls[t.at+1]
	t.due = left.Add(w.span(w.runs(t, s, next) + t.late))
	t.late = 0
	w.onLine(t.due, func() { w.nears(t) })
}

// nears is a train about to reach its next call, if nothing has befallen it on its way.
func (w *world) nears(t *train) {
	if t.due.After(w.now) {
		w.onLine(t.due, func() { w.nears(t) })
		return
	}
	w.comes(t)
}

// runs is how long a train takes to its next call: as planned, else by its length of line and speed.
func (w *world) runs(t *train, s block.Section, next block.PointTime) time.Duration {
	if next.Run > 0 {
		return time.Duration(next.Run) * time.Second
	}
	mph := s.MPH
	if t.MaxMPH > 0 && t.MaxMPH < mph {
		mph = t.MaxMPH
	}
	d := Motion{MPH: mph, Accel: 0.2, Brake: 0.45}.Time(s.Yards, false, false)
	if t.Calls[t.at].Pass < 0 {
		d += time.Duration(t.Start) * time.Second
	}
	if next.Pass < 0 {
		d += time.Duration(t.Stop) * time.Second
	}
	return d
}

// comes is a train reaching its next call.
func (w *world) comes(t *train) {
	t.at++
	t.running, t.clear = false, false
	if w.halts(t) {
		return
	}
	if w.homeAtDanger(t) {
		t.outside = true
		w.sees(t, block.Stands, block.LampUnseen)
		return
	}
	w.comesBy(t)
}

// halts stops a train that is to be examined at its call, and tells whether it has. Where a person has the lever of the
// home signal it is for him to stop it.
func (w *world) halts(t *train) bool {
	if t.halt == 0 || t.halt != t.at || w.pulls(t) && !w.homeAtDanger(t) {
		return false
	}
	t.halt, t.outside, t.stands = 0, true, w.in(t.examined)
	if box := t.Calls[t.at].Box; !w.of[box].absent {
		w.record(block.Event{Do: block.Driver, By: box, Section: t.way[t.at-1].ID, Where: block.Stopped, Train: t.Train})
	}
	w.sees(t, block.Stands, block.LampUnseen)
	w.onLine(t.stands, func() {
		if t.outside {
			w.comesIn(t)
		}
	})
	return true
}

// comesBy is a train coming to its call past the home signal.
func (w *world) comesBy(t *train) {
	w.givesToken(t)
	call := t.Calls[t.at]
	if t.at == len(t.Calls)-1 {
		w.sees(t, block.Heads, block.LampUnseen)
		tail := tailEnds
		if t.Freight {
			tail += freightMore
		}
		w.onLine(w.in(tail), func() { w.ends1(t) })
		return
	}
	if call.Pass >= 0 {
		t.waits, t.from = true, w.now
		if w.lineClear(t) {
			t.going = true
			w.passes(t)
			return
		}
		if w.pulls(t) { // up to the starting signal, and it is that which it waits for
			w.sees(t, block.Heads, block.LampUnseen)
			return
		}
		t.passing = true
		w.sees(t, block.Stands, block.LampUnseen)
		return
	}
	w.sees(t, block.Heads, block.LampUnseen)
	w.stops(t, call)
}

// stops is a booked stop: till its time, and at least long enough for passengers.
func (w *world) stops(t *train, call block.PointTime) {
	t.waits = true
	t.from = w.in(leastDwell)
	if booked := w.day(call.Depart); booked.After(t.from) {
		t.from = booked
	}
	if t.from.Sub(w.now) >= longStop && t.way[t.at-1].Method == "absolute" {
		at := t.at
		w.onLine(w.in(putAside), func() { w.seesAt(t, at, block.IsClear, block.LampUnseen) })
	}
	w.cautions(t)
	w.onLine(t.from, func() { w.go1(t) })
}

// ends1 is a train standing clear at the end of its run; the train formed of it may now get ready.
func (w *world) ends1(t *train) {
	w.seesAt(t, t.at, block.Passes, block.LampSeen)
	t.arrived = w.now
	if p := w.of[t.To]; p != nil {
		p.here++
	}
	for _, n := range w.trains {
		if n.stock == t {
			w.startsFrom(n)
		}
	}
}
