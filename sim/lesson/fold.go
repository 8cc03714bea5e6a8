package lesson

import (
	"time"

	"taillamp/block"
)

// tally is how often something was done as wanted, and how often not.
type tally struct{ good, bad int }

func (t *tally) add(ok bool) {
	if ok {
		t.good++
	} else {
		t.bad++
	}
}

// fold follows the record of a lesson, as far as its wants ask.
type fold struct {
	l       *Lesson
	r       *block.Rules
	state   block.State
	now     time.Time
	tallies []tally
	counts  []counter
	home    map[block.TrainID]bool // trains at the end of their run
}

// counter looks at one skill. Each change is shown to it with the state after it.
type counter interface {
	change(f *fold, e block.Event, c block.Change, t *tally)
	// time is shown the state whenever time has gone on, before the next act.
	time(f *fold, t *tally)
	// event is shown each act as it comes, before what it changes.
	event(f *fold, e block.Event, t *tally)
}

// nothing is what most counters do with time and with acts that change no instrument.
type nothing struct{}

func (nothing) change(*fold, block.Event, block.Change, *tally) {}
func (nothing) time(*fold, *tally)                              {}
func (nothing) event(*fold, block.Event, *tally)                {}

func newFold(l *Lesson, began time.Time) *fold {
	f := &fold{l: l, r: l.rules, state: l.rules.Opening(began), now: began, tallies: make([]tally, len(l.Wants)), home: make(map[block.TrainID]bool)}
	for _, w := range l.Wants {
		f.counts = append(f.counts, skills[w.What](time.Duration(w.Within)*time.Second))
	}
	return f
}

func (f *fold) read(e block.Entry) {
	if e.Mark != "" {
		return
	}
	f.now = e.Event.At
	for n, c := range f.counts {
		c.time(f, &f.tallies[n])
		c.event(f, e.Event, &f.tallies[n])
	}
	next, out, err := f.r.Step(f.state, e.Event)
	if err != nil {
		return
	}
	f.state = next
	for _, c := range out.Changes {
		for n, k := range f.counts {
			k.change(f, e.Event, c, &f.tallies[n])
		}
		if t := c.Train; t != nil && t.Where == block.Passes {
			if w, ok := f.state.Timetable().Find(t.Train); ok && w.To == e.Event.By {
				f.home[t.Train] = true
			}
		}
	}
}

func (f *fold) end() {
	for n, c := range f.counts {
		c.time(f, &f.tallies[n])
	}
}

// shown tells whether everything wanted has been shown.
func (f *fold) shown() bool {
	for n, w := range f.l.Wants {
		if f.tallies[n].good < w.Count {
			return false
		}
	}
	return true
}

// finished tells whether every train of the lesson has come to the end of its run and all lines stand normal.
func (f *fold) finished() bool {
	for _, w := range f.state.Timetable().Workings {
		if !f.home[w.Train] {
			return false
		}
	}
	for _, l := range f.r.Lines(f.state) {
		if l.Standing != "IDLE" {
			return false
		}
	}
	return true
}

// mine tells whether a signal is one that the learner's box rang.
func (f *fold) mine(s *block.Signal) bool { return s.By == f.l.Box }

// toMe is the line of that section as it stands, if it leads to the learner's box.
func (f *fold) toMe(id block.SectionID) (block.LineState, bool) {
	l, ok := f.r.Line(f.state, id)
	return l, ok && (l.Section.Advance == f.l.Box || l.Section.Way == "both")
}
