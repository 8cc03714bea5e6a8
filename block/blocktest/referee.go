// Package blocktest helps to try the rules: a referee who follows trains by their sightings alone, and walks that make
// evenings nobody would have thought of. Tests alone import it.
package blocktest

import (
	"fmt"
	"slices"
	"time"

	"taillamp/block"
)

// Referee follows trains by their sightings alone and knows nothing of Rules: by plain bookkeeping it knows which trains
// are in a section in truth. A train is in it from its passing the section signal until it has passed the box in advance
// whole, been put clear there or come back whole. Its zero value is ready.
type Referee struct {
	in     map[block.SectionID][]block.TrainID
	noted  map[block.SectionID]time.Time // when something irregular was last done on that line
	since  map[block.SectionID]time.Time // when it last became empty
	shunts map[block.SectionID]bool      // 3-3-2 is in force: what goes in goes as a shunt, and comes back
	shared []meeting
}

// meeting is two trains in one section with nothing recorded of it so far.
type meeting struct {
	section   block.SectionID
	since, at time.Time
	trains    string
}

// Watch takes one event that was recorded, with what came of it.
func (f *Referee) Watch(e block.Event, o block.Outcome) {
	if f.in == nil {
		f.in = make(map[block.SectionID][]block.TrainID)
		f.noted, f.since = make(map[block.SectionID]time.Time), make(map[block.SectionID]time.Time)
		f.shunts = make(map[block.SectionID]bool)
	}
	for _, i := range o.Irregular {
		f.told(i.Section, i.At)
	}
	for _, c := range o.Changes {
		switch {
		case c.Fault != nil:
			f.told(c.Fault.Section, e.At)
		case c.Signal != nil && c.Signal.Sense == block.Answer && c.Signal.Key == "shunt-forward":
			f.shunts[c.Signal.Section] = true
		case c.Signal != nil && c.Signal.Sense == block.Answer && c.Signal.Key == "shunt-withdrawn":
			f.shunts[c.Signal.Section] = false
		case c.Train != nil:
			f.sighted(e, c.Train)
		}
	}
}

func (f *Referee) sighted(e block.Event, t *block.Spotted) {
	switch t.Where {
	case block.Leaves:
		f.in[t.Section] = append(f.in[t.Section], t.Train)
		m := meeting{section: t.Section, since: f.since[t.Section], at: e.At, trains: fmt.Sprint(f.in[t.Section])}
		if len(f.in[t.Section]) > 1 && !f.shunts[t.Section] && (f.noted[t.Section].IsZero() || f.noted[t.Section].Before(m.since)) {
			f.shared = append(f.shared, m)
		}
	case block.Passes, block.IsClear, block.Returns:
		if e.Off {
			return // in part only
		}
		if i := slices.Index(f.in[t.Section], t.Train); i >= 0 {
			f.in[t.Section] = slices.Delete(f.in[t.Section], i, i+1)
			if len(f.in[t.Section]) == 0 {
				f.since[t.Section] = e.At
			}
		}
	}
}

// told is an irregularity of a line, dated at. What is dated before a meeting speaks of it although it was recorded
// later: a code that could be read in two ways is judged when it is understood.
func (f *Referee) told(s block.SectionID, at time.Time) {
	if at.After(f.noted[s]) {
		f.noted[s] = at
	}
	f.shared = slices.DeleteFunc(f.shared, func(m meeting) bool {
		return m.section == s && !at.Before(m.since) && !at.After(m.at)
	})
}

// Shared lists the sections that hold two trains or more at this moment.
func (f *Referee) Shared() []block.SectionID {
	var shared []block.SectionID
	for s, trains := range f.in { // order does not matter: the list is sorted
		if len(trains) > 1 {
			shared = append(shared, s)
		}
	}
	slices.Sort(shared)
	return shared
}

// Silent says of every section that came to hold two trains with nothing recorded of it: it must be empty when every
// code has been understood.
func (f *Referee) Silent() []string {
	var said []string
	for _, m := range f.shared {
		said = append(said, fmt.Sprintf("%s: trains %s in %s and nobody told", m.at.Format("15:04:05"), m.trains, m.section))
	}
	return said
}
