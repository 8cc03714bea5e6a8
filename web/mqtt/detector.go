package mqtt

import (
	"context"
	"fmt"
	"slices"
	"time"

	"taillamp/block"
	"taillamp/web/sitting"
)

// How a detector's word is taken.
const (
	tailAfter   = 2 * time.Second // of quiet after it went off: the gap between two vehicles is no tail
	stuckAfter  = 5 * time.Minute // on all the time
	mostChanges = 8               // within a second
	calmAfter   = 5 * time.Second // without a change
)

// detector is one at the end of a line toward a box.
type detector struct {
	on      bool
	since   time.Time   // of the last change
	changes []time.Time // within the last second
	tail    time.Time   // when it will have been quiet for long enough; zero: no train has been seen
	ill     string      // why it is not believed; empty: it is
}

// sensed is a detector come on or gone off.
func (k *worker) sensed(ctx context.Context, i *instrument, s said, now time.Time) error {
	sec, ok := k.w.live.Rules().Section(s.Section)
	if !ok {
		return block.ErrNoSuchLine
	}
	if s.Occupied == nil {
		return errNoJSON
	}
	if sec.Rear != i.box && sec.Advance != i.box {
		return block.ErrNotYours
	}
	d := i.senses[s.Section]
	if d == nil {
		d = new(detector)
		i.senses[s.Section] = d
	}
	if *s.Occupied == d.on && !d.since.IsZero() {
		return nil
	}
	d.changes = append(slices.DeleteFunc(d.changes, func(t time.Time) bool { return now.Sub(t) > time.Second }), now)
	was := d.on
	d.on, d.since, d.tail = *s.Occupied, now, time.Time{}
	if len(d.changes) > mostChanges {
		d.changes = d.changes[1:]
		k.distrust(ctx, i, d, s.Section, "chatters")
	}
	if d.ill == "" && was && !d.on {
		d.tail = now.Add(tailAfter)
	}
	return nil
}

// look does what time alone asks of the detectors.
func (k *worker) look(ctx context.Context) {
	now := k.w.live.Now()
	for _, i := range k.all {
		for section, d := range i.senses {
			switch {
			case d.ill == "chatters" && now.Sub(d.since) >= calmAfter, d.ill == "sticks" && !d.on:
				d.ill = ""
				k.tell(ctx, i, fmt.Sprintf("the detector of %s is in order again", section))
			case d.ill == "" && d.on && now.Sub(d.since) >= stuckAfter:
				k.distrust(ctx, i, d, section, "sticks")
			case !d.tail.IsZero() && !now.Before(d.tail):
				d.tail = time.Time{}
				k.passed(ctx, i, section)
			}
		}
	}
}

// alarm rings when look has something to do.
func (k *worker) alarm() (<-chan time.Time, func()) {
	var first time.Time
	for _, i := range k.all {
		for _, d := range i.senses {
			if at := d.next(); !at.IsZero() && (first.IsZero() || at.Before(first)) {
				first = at
			}
		}
	}
	if first.IsZero() {
		return nil, func() {}
	}
	return k.w.live.Alarm(first)
}

func (d *detector) next() time.Time {
	switch {
	case d.ill == "chatters":
		return d.since.Add(calmAfter)
	case d.ill == "" && d.on:
		return d.since.Add(stuckAfter)
	}
	return d.tail
}

// distrust believes a detector no longer.
func (k *worker) distrust(ctx context.Context, i *instrument, d *detector, section block.SectionID, why string) {
	if d.tail = (time.Time{}); d.ill == why {
		return
	}
	d.ill = why
	k.tell(ctx, i, fmt.Sprintf("the detector of %s %s and is not believed", section, why))
}

// passed is a train gone wholly by. Where the setting says so and a train is known to be there, it counts for the tail
// lamp; else it only reminds.
func (k *worker) passed(ctx context.Context, i *instrument, section block.SectionID) {
	if slices.Contains(k.w.counts, i.box) && k.expects(i.box, section) {
		e := block.Event{Do: block.Train, Section: section, Where: block.Passes, Lamp: block.LampSeen}
		_, err := k.w.live.Act(ctx, i.seatAt(), 0, e)
		if err == nil {
			return
		}
		k.refuse(ctx, i, 0, err)
	}
	k.tell(ctx, i, fmt.Sprintf("the detector of %s saw a train pass", section))
}

// expects tells whether a train is on its way to a box on a line, as far as the box knows.
func (k *worker) expects(box block.BoxID, section block.SectionID) bool {
	_, state := k.w.live.Snapshot()
	for _, in := range k.w.live.Rules().View(state, box).Shelf {
		for _, l := range in.Lines {
			if l.Section == section {
				return l.ToMe && len(l.Trains) > 0 && !l.Out
			}
		}
	}
	return false
}

// tell tells the box something about one of its instruments.
func (k *worker) tell(ctx context.Context, i *instrument, words string) {
	f := sitting.Instrument{Name: i.name, On: i.on, Bells: i.bells, Says: words}
	if err := k.w.live.Fit(ctx, i.box, f); err != nil {
		k.w.log.Warn("what a detector told could not be noted", "box", i.box, "err", err)
	}
}
