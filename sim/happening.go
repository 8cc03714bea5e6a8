package sim

import (
	"slices"
	"time"

	"taillamp/block"
)

// What the owner orders to come to pass in mid-evening (D15, H2): a hot box, a divided train, fog. The line waits until it
// is fit for it, and then it befalls a train: a simulated signaller works it by the book; a person at a box is waited for, as
// long as a train of that kind would stand, and what he does not do the simulated ones do not do for him.

// wanted is what has been ordered and has not come to pass yet.
type wanted struct{ block.Happening }

// course is what has come to pass and is not over.
type course struct {
	block.Happening
	section block.SectionID // on which line; empty: on none
	since   time.Time
}

// lasts is how long it takes by the district's clock: as ordered, or as such a thing usually does (guesses, no source).
func (c *course) lasts() time.Duration {
	usual := map[block.Place]int{block.HotBox: 6, block.Divided: 12, block.FailedEngine: 12, block.TokenFails: 45, block.FogFalls: 30,
		block.RunsLate: 10, block.LampLost: 4, block.NeedleSticks: 3}
	m := c.Minutes
	if m == 0 {
		m = usual[c.Does]
	}
	return time.Duration(m) * time.Minute
}

// looksFor is how often the line is looked at for something that is wanted.
const looksFor = 2 * time.Second

// takesOrder follows the owner's orders and what has come of them, now or in the record of an earlier time.
func (w *world) takesOrder(e block.Event) {
	h, ordered := block.HappeningOf(e)
	switch {
	case ordered && e.Off:
		w.wanted = slices.DeleteFunc(w.wanted, func(x *wanted) bool { return x.Does == h.Does && x.At == h.At && x.Train == h.Train })
	case ordered:
		w.wanted = append(w.wanted, &wanted{h})
	case e.Do != block.Befalls:
	case e.Off:
		w.courses = slices.DeleteFunc(w.courses, func(c *course) bool { return c.is(e) })
	default:
		h = block.Happening{Does: e.Where, At: e.By, Train: e.Train}
		if i := slices.IndexFunc(w.wanted, func(x *wanted) bool {
			return x.Does == h.Does && x.At == h.At && (x.Train == "" || x.Train == h.Train)
		}); i >= 0 {
			h.Minutes = w.wanted[i].Minutes
			w.wanted = slices.Delete(w.wanted, i, i+1)
		}
		c := &course{h, e.Section, w.now}
		w.courses = append(w.courses, c)
		if t := w.train(c.Train); c.Does == block.RunsLate && t != nil {
			t.held += c.lasts()
		}
	}
}

func (c *course) is(e block.Event) bool {
	return c.Does == e.Where && c.At == e.By && c.Train == e.Train && c.section == e.Section
}

// happens has an order tried at once.
func (w *world) happens(e block.Event) {
	if h, ok := block.HappeningOf(e); ok && !e.Off && len(w.wanted) > 0 && w.wanted[len(w.wanted)-1].Happening == h {
		x := w.wanted[len(w.wanted)-1]
		w.at(w.now, func() { w.looks(x) })
	}
}

// looks has something wanted come to pass if the line is fit for it; else the line is looked at again.
func (w *world) looks(x *wanted) {
	if !slices.Contains(w.wanted, x) {
		return // it has come to pass, or is wanted no more
	}
	k := kindOf(x.Does)
	if w.tooLate(x, k) {
		if c := w.befalls(x, "", x.Train); c != nil {
			w.isOver(c)
		}
		return
	}
	if k.now != nil {
		if k.now(w, x) {
			return
		}
	} else if p := w.of[x.At]; p != nil && !w.busy(p) {
		v := w.view(p)
		m := moment{w: w, p: p, v: &v}
		if v.Open && m.anyLine(k.toMe, func() bool { return k.fit(&m, x) && (x.Train == "" || m.t.Train == x.Train) }) {
			if c := w.befalls(x, m.l.Section, m.t.Train); c != nil {
				w.goes(c, k, m)
			}
			return
		}
	}
	w.at(w.now.Add(looksFor), func() { w.looks(x) })
}

// befalls records that an order has come to pass; nil if nothing more can be recorded.
func (w *world) befalls(x *wanted, sec block.SectionID, train block.TrainID) *course {
	e := block.Event{Do: block.Befalls, Where: x.Does, By: x.At, Section: sec, Train: train}
	w.record(e)
	for _, c := range w.courses {
		if c.is(e) && c.since.Equal(w.now) {
			return c
		}
	}
	return nil
}

// isOver records that it is over.
func (w *world) isOver(c *course) {
	w.record(block.Event{Do: block.Befalls, Where: c.Does, By: c.At, Section: c.section, Train: c.Train, Off: true})
}

// goes has it take its course.
func (w *world) goes(c *course, k happeningKind, m moment) {
	w.play(&Bend{Rule: block.RuleID(c.Does), err: &mistake{plays: func(s *script) {
		k.plays(s, c)
		s.bars, s.warned = nil, nil
		s.minds()
		w.isOver(c)
		w.everyTrain()
	}}}, m)
}

// takesUp goes on with what was ordered before the sitting was broken off.
func (w *world) takesUp() {
	for _, x := range slices.Clone(w.wanted) {
		w.at(w.now, func() { w.looks(x) })
	}
	for _, c := range slices.Clone(w.courses) {
		k, p, t := kindOf(c.Does), w.of[c.At], w.train(c.Train)
		switch {
		case k.again != nil:
			k.again(w, c)
			continue
		case k.plays != nil && p != nil && t != nil:
			v := w.view(p)
			if m := (moment{w: w, p: p, v: &v}); m.of(c.section) {
				m.t = t
				w.at(w.now, func() { w.goes(c, k, m) })
				continue
			}
		}
		w.at(w.now, func() { w.isOver(c) })
	}
}

// tooLate tells whether the train that was named has gone by, or is not in the sequence any more.
func (w *world) tooLate(x *wanted, k happeningKind) bool {
	if x.Train == "" {
		return false
	}
	t := w.train(x.Train)
	if t == nil || !t.arrived.IsZero() {
		return true
	}
	if x.Does == block.RunsLate {
		return t.at > 0 || t.running || t.going
	}
	call := slices.IndexFunc(t.Calls, func(c block.PointTime) bool { return c.Box == x.At })
	if k.plays == nil {
		return false
	}
	return call < 0 || k.toMe && t.at >= call || !k.toMe && t.at > call
}

// barred tells whether trains are held from a line for the sake of something on the other one. A person holds them himself.
func (w *world) barred(sec block.SectionID) bool {
	return slices.ContainsFunc(w.scripts, func(s *script) bool { return slices.Contains(s.bars, sec) })
}

// Awaited are the orders that have not come to pass yet, the oldest first.
func (c *Company) Awaited() []block.Happening {
	var all []block.Happening
	for _, x := range c.w.wanted {
		all = append(all, x.Happening)
	}
	return all
}
