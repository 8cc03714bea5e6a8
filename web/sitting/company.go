package sitting

import (
	"context"
	"fmt"
	"slices"
	"time"

	"taillamp/block"
	"taillamp/sim"
)

// Employ has simulated signallers work every box but those of people, and simulated trains run, from now on. A box
// worked by one of them is anybody's to take, and is theirs again when he leaves it. After Resume what the record
// tells of trains is gone on with.
func (l *Live) Employ(ctx context.Context, seed uint64, people []block.BoxID) error {
	return l.Teach(ctx, sim.Options{Seed: seed}, people)
}

// Teach is Employ where o says more than the luck: what happens on the line besides trains, what is done for a learner, what
// is put in for somebody to notice, whose hand is played back. Its beginning and its clock are the sitting's.
func (l *Live) Teach(ctx context.Context, o sim.Options, people []block.BoxID) error {
	entries, err := l.recorded(ctx)
	if err != nil {
		return err
	}
	return l.owner(ctx, func() error { return l.employ(o, people, entries) })
}

// Orders are what is wanted of the person at a box beyond his trains, in words.
func (l *Live) Orders(ctx context.Context, box block.BoxID) (words []string, err error) {
	err = l.run(ctx, func() {
		if l.company != nil {
			words = l.company.Orders(box)
		}
	})
	return words, err
}

// recorded reads what is on the disk by now, so that the goroutine need not.
func (l *Live) recorded(ctx context.Context) ([]block.Entry, error) {
	entries, err := l.Past(ctx)
	if err != nil {
		return nil, fmt.Errorf("employ a company: %w", err)
	}
	return entries, nil
}

// sinceRecorded adds what has come since entries were read: first from the disk, then what is on its way there.
func (l *Live) sinceRecorded(entries []block.Entry) ([]block.Entry, error) {
	last := uint64(0)
	if len(entries) > 0 {
		last = entries[len(entries)-1].Seq
	}
	for e, err := range l.record.Entries(context.Background(), last) {
		if err != nil {
			return nil, fmt.Errorf("employ a company: %w", err)
		}
		entries, last = append(entries, e), e.Seq
	}
	for _, f := range slices.Concat(l.flight, l.queue) {
		if f.entry.Seq > last {
			entries, last = append(entries, f.entry), f.entry.Seq
		}
	}
	return entries, nil
}

func (l *Live) employ(o sim.Options, people []block.BoxID, entries []block.Entry) error {
	if l.differs != nil {
		return l.differs
	}
	entries, err := l.sinceRecorded(entries)
	if err != nil {
		return err
	}
	began := l.header.Began
	fills := func(b block.BoxID) bool {
		d := l.desk(b)
		return d != nil && d.holder == "" && !slices.Contains(people, b)
	}
	o.Begins, o.Speed, o.Booked = began, l.District().Speed(), l.booked()
	o.Waits = l.rules.Layout().Clock.Kind == "none" // order only, and nothing presses
	c := sim.NewCompany(l.rules, o, fills, l.rules.Opening(began))
	for _, e := range entries {
		c.Recall(e)
	}
	l.company = c
	if !l.paused.IsZero() {
		l.paused = l.now() // what the company has put off begins now
	}
	c.Begin(l.now(), l.state, l.enter)
	return nil
}

// firstTrain is how long after its beginning a sitting without a clock has its first train.
const firstTrain = 3 * time.Minute

// booked gives the moment of a time of the sequence, in seconds after the district's midnight. Without a clock the
// sequence begins soon after the sitting, and only its order and its intervals count.
func (l *Live) booked() func(sec int) time.Time {
	if l.rules.Layout().Clock.Kind != "none" {
		return func(sec int) time.Time { return l.District().Moment(sec) }
	}
	first := -1
	for _, w := range l.rules.Timetable().Workings {
		if len(w.Calls) > 0 && w.Calls[0].Depart >= 0 && (first < 0 || w.Calls[0].Depart < first) {
			first = w.Calls[0].Depart
		}
	}
	starts := l.header.Began.Add(firstTrain)
	return func(sec int) time.Time { return starts.Add(time.Duration(sec-first) * time.Second) }
}

// enter has one act of the company happen. It is recorded and told like anybody's.
func (l *Live) enter(e block.Event) (block.Outcome, block.State, bool) {
	now := l.now()
	if pressed := e.Pressed; !pressed.IsZero() {
		e.Pressed = l.stamp(pressed)
		if last := l.pressed[bellKey{e.Circuit, e.By}]; e.Pressed.Before(last) {
			e.Pressed = last
		}
		if now.Sub(e.Pressed) > freshHand {
			e.Pressed = now
		}
	}
	if e.At = l.since(e.At); e.At.After(now) {
		e.At = now
	}
	f, err := l.step(e, ask{})
	if err != nil {
		return block.Outcome{}, l.state, false
	}
	if e.Do == block.Beat {
		l.ring(&f)
	}
	l.enqueue(f)
	return f.entry.Outcome, l.state, true
}

// saw tells the company of what somebody else did.
func (l *Live) saw(f *fact) {
	if l.company != nil {
		l.company.Saw(f.entry.Event, f.entry.Outcome, f.state)
	}
}

// simulated tells whether a box is worked by the company.
func (l *Live) simulated(box block.BoxID) bool { return l.company != nil && l.company.Works(box) }

// heldUp has the company go on as after a pause where the machine was held up for longer than a hand stays fresh, or asleep:
// nobody makes up for it all at once.
func (l *Live) heldUp() {
	now := l.now()
	if due, ok := l.companyDue(now); ok && now.Sub(due) > freshHand {
		l.company.PutOff(now.Sub(due))
	}
}

// companyDue is when the company was to do the first thing that is due by now.
func (l *Live) companyDue(now time.Time) (time.Time, bool) {
	if !l.companyWorks() {
		return time.Time{}, false
	}
	due, ok := l.company.Due()
	return due, ok && !due.After(now)
}

// companyWorks tells whether the company does what is due: it stands still while the evening is paused.
func (l *Live) companyWorks() bool { return l.company != nil && l.ending == nil && l.paused.IsZero() }
