package mqtt

import (
	"context"
	"errors"
	"fmt"
	"time"

	"golang.org/x/time/rate"

	"taillamp/block"
	"taillamp/web/sitting"
)

// instrument is what the worker knows of one.
type instrument struct {
	box   block.BoxID
	name  string
	run   string // since when it has power
	acted uint64 // its last number
	ahead offset
	on    bool
	bells []block.CircuitID
	comes *rate.Limiter // how often it may come and go
	// The sitting's seat if it has the box to itself, and the watch that keeps it on the wire.
	seat  sitting.Seat
	watch *sitting.Watch

	reported time.Time
	wrong    int // messages refused since
	senses   map[block.SectionID]*detector
}

// worker does one after the other what the instruments say.
type worker struct {
	w   *Wires
	all map[string]*instrument // by box and name; bounded by the gates
}

func newWorker(w *Wires) *worker { return &worker{w: w, all: make(map[string]*instrument)} }

func (k *worker) of(box block.BoxID, name string) *instrument {
	at := string(box) + "/" + name
	if k.all[at] == nil {
		k.all[at] = &instrument{box: box, name: name, comes: newSlowGate(), senses: make(map[block.SectionID]*detector)}
	}
	return k.all[at]
}

// work goes on until ctx ends.
func (k *worker) work(ctx context.Context) {
	for {
		rings, stop := k.alarm()
		select {
		case <-ctx.Done():
			stop()
			for _, i := range k.all {
				i.leave()
			}
			return
		case m := <-k.w.came:
			k.message(ctx, m)
		case there := <-k.w.links:
			k.linked(ctx, there)
		case <-rings:
		}
		stop()
		k.look(ctx)
	}
}

// linked is the broker gone, and with it every instrument; or there again, and what is retained is told anew.
func (k *worker) linked(ctx context.Context, there bool) {
	if !there {
		for _, i := range k.all {
			i.leave()
			k.fit(ctx, i, sitting.Instrument{Name: i.name})
		}
		return
	}
	k.w.sayHomie()
	for _, b := range k.w.boxes {
		k.w.voices[b.ID].anew(ctx)
	}
}

func (k *worker) message(ctx context.Context, m message) {
	i := k.of(m.box, m.name)
	err := m.wrong
	var s said
	switch {
	case err != nil:
	case m.what == isAt:
		var t there
		if t, err = readThere(m.text); err == nil && t.On && !i.comes.AllowN(m.came, 1) {
			err = errFast
		} else if err == nil {
			k.comes(ctx, i, t)
		}
	default:
		if s, err = readAct(m.text); err == nil {
			k.act(ctx, i, s, m.came)
			return
		}
	}
	if err != nil {
		k.refuse(ctx, i, s.Act, err)
	}
}

// comes is an instrument come on the wire, or gone off it.
func (k *worker) comes(ctx context.Context, i *instrument, t there) {
	f := sitting.Instrument{Name: i.name, On: t.On}
	for _, box := range t.Bells {
		f.Bells = append(f.Bells, k.w.bellsTo(i.box, box)...)
	}
	if !t.On {
		i.leave()
	} else if i.seat.Ticket != "" && k.w.live.Holds(ctx, i.seat) { // it is back at its box
		if err := k.sit(ctx, i); err != nil {
			k.w.log.Warn("an instrument could not go back to its box", "box", i.box, "err", err)
		}
	}
	k.fit(ctx, i, f)
}

func (k *worker) fit(ctx context.Context, i *instrument, f sitting.Instrument) {
	i.on, i.bells = f.On, f.Bells
	if err := k.w.live.Fit(ctx, i.box, f); err != nil && !errors.Is(err, sitting.ErrAsItIs) {
		k.w.log.Warn("an instrument could not be noted", "box", i.box, "instrument", i.name, "err", err)
	}
}

// bellsTo are the circuits between two boxes that are in use.
func (w *Wires) bellsTo(box, to block.BoxID) []block.CircuitID {
	var all []block.CircuitID
	_, state := w.live.Snapshot()
	for _, c := range w.live.Rules().Circuits() {
		if w.live.Rules().Works(state, c.ID) && (c.Boxes == [2]block.BoxID{box, to} || c.Boxes == [2]block.BoxID{to, box}) {
			all = append(all, c.ID)
		}
	}
	return all
}

// act does what an instrument asks and answers it.
func (k *worker) act(ctx context.Context, i *instrument, s said, came time.Time) {
	if s.Run != i.run {
		i.run, i.acted, i.ahead = s.Run, 0, offset{}
	}
	if s.Act != 0 && s.Act <= i.acted {
		k.answer(i, s.Act, sitting.Answered{Ending: sitting.Impossible, Why: "forgotten", Words: "That was done before."})
		return
	}
	if s.Act != 0 {
		i.acted = s.Act
	}
	if s.MS != nil {
		s.Pressed = sitting.MillisOf(i.ahead.pressed(*s.MS, came))
	}
	got, err := k.does(ctx, i, s, came)
	if err != nil {
		k.refuse(ctx, i, s.Act, err)
		return
	}
	a := sitting.Answered{Seq: got.Seq, Ending: got.Ending, Why: string(got.Why)}
	if got.Ending == block.Refused {
		a.Words = k.w.held(got.Why)
	}
	k.answer(i, s.Act, a)
}

func (k *worker) does(ctx context.Context, i *instrument, s said, came time.Time) (sitting.Answer, error) {
	switch {
	case s.Do == "detector":
		return sitting.Answer{Ending: block.Done}, k.sensed(ctx, i, s, came)
	case s.Do == block.Duty && !s.Off:
		return sitting.Answer{Ending: block.Done}, k.duty(ctx, i, s.Words)
	}
	if s.Circuit == "" && s.To != "" {
		bells := k.w.bellsTo(i.box, s.To)
		if len(bells) == 0 {
			return sitting.Answer{}, errNoBell
		}
		s.Circuit = bells[0]
	}
	s.FromTablet.Act = 1 // the sitting counts none of an instrument's numbers: they begin anew with its power
	e, err := s.Event()
	if err != nil {
		return sitting.Answer{}, err
	}
	got, err := k.w.live.Act(ctx, i.seatAt(), 0, e)
	if errors.Is(err, sitting.ErrWrongTicket) && e.Do != block.Duty { // another has the box: it works beside him now
		i.leave()
		i.seat = sitting.Seat{}
		got, err = k.w.live.Act(ctx, i.seatAt(), 0, e)
	}
	if err == nil && e.Do == block.Duty {
		i.leave()
	}
	return got, err
}

// seatAt is the seat that an instrument acts by: its own if it has the box, else the one beside the tablet.
func (i *instrument) seatAt() sitting.Seat {
	if i.seat.Ticket != "" {
		return i.seat
	}
	return sitting.Seat{Box: i.box, As: sitting.Fitted, Ticket: i.name}
}

// duty has the box worked by an instrument alone.
func (k *worker) duty(ctx context.Context, i *instrument, who string) error {
	if len(who) > 60 {
		return sitting.ErrNoAct
	}
	seat := i.seat
	var err error
	if seat.Ticket == "" || !k.w.live.Holds(ctx, seat) {
		i.leave()
		if seat, err = k.w.live.TakeDuty(ctx, i.box, who); err != nil {
			return err
		}
	}
	i.seat = seat
	return k.sit(ctx, i)
}

// sit keeps the box that an instrument has on the wire. What the watch brings, the voice of the box tells.
func (k *worker) sit(ctx context.Context, i *instrument) error {
	if i.watch != nil {
		return nil
	}
	w, err := k.w.live.Watch(ctx, i.seat, sitting.Position{})
	if err != nil {
		return err
	}
	i.watch = w
	k.w.ended.Go(func() {
		for range w.News {
		}
		w.Close()
	})
	return nil
}

// leave takes the instrument's own seat off the wire. The box is its own still, until another takes it.
func (i *instrument) leave() {
	if i.watch != nil {
		i.watch.Close()
		i.watch = nil
	}
}

func (k *worker) answer(i *instrument, act uint64, a sitting.Answered) {
	a.Kind, a.Act = sitting.KindAnswer, act
	k.w.say(k.w.topic(i.box, answer, i.name), false, a)
}

// refuse answers what cannot be, and has it in the record: the same instrument once in ten seconds, with the number.
func (k *worker) refuse(ctx context.Context, i *instrument, act uint64, err error) {
	why, words := k.wordsOf(err)
	if i.name != "" {
		k.answer(i, act, sitting.Answered{Ending: sitting.Impossible, Why: why, Words: words})
	}
	i.wrong++
	now := k.w.live.Now()
	if !i.reported.IsZero() && now.Sub(i.reported) < reportsEvery {
		return
	}
	who := "an instrument that no box has"
	if i.name != "" {
		who = fmt.Sprintf("%s, instrument %s", i.box, i.name)
	}
	if err := k.w.live.Report(ctx, fmt.Sprintf("%s: refused (%d): %s", who, i.wrong, words)); err != nil {
		k.w.log.Warn("a refusal could not be recorded", "err", err)
	}
	i.reported, i.wrong = now, 0
}

// wordsOf says what is wrong with a message.
func (k *worker) wordsOf(err error) (why, words string) {
	switch err {
	case errTopic:
		return "no-box", "no box of this line and no instrument of its can speak under that topic"
	case errLong:
		return "too-long", "the message is longer than 2 kB"
	case errFast:
		return "too-fast", "it says more than 20 things a second"
	case errRetained:
		return "retained", "an act may not be retained by the broker: it would be done again at every start"
	case errNoJSON:
		return "no-sense", "the message is not a JSON object with what its topic needs"
	case errKey:
		return "wrong-key", "it does not have the key of a box"
	case errNoBell:
		return "no-line", "this box has no bell to that box"
	}
	return k.w.words(err)
}
