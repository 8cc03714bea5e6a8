package review

import (
	"slices"
	"time"

	"taillamp/block"
)

// Limits of the rules about offering.
const (
	standLimit = 60 * time.Second  // R11
	talkTime   = 15 * time.Second  // R11: a signal, its answer and the next thought; guessed, no source
	onLimit    = 120 * time.Second // R12
	passing    = 60 * time.Second  // a train that goes on within this time of its engine coming by did not stop
)

// freedom counts the time for which a line could have been offered on: needle at blocked, nothing blocked back. A line
// of which nothing has been heard yet was free from the beginning.
type freedom struct {
	spans []span // newest last
}

type span struct{ from, to time.Time } // to is zero while it lasts

// within is how much of the time between two moments the line was free.
func (f freedom) within(from, to time.Time) time.Duration {
	if len(f.spans) == 0 {
		return to.Sub(from)
	}
	var sum time.Duration
	for _, s := range f.spans {
		a, b := s.from, s.to
		if b.IsZero() || b.After(to) {
			b = to
		}
		if a.Before(from) {
			a = from
		}
		if b.After(a) {
			sum += b.Sub(a)
		}
	}
	return sum
}

// except is how much of the time between two moments the line was free and another matter was not being talked of.
func (f freedom) except(talk freedom, from, to time.Time) time.Duration {
	sum := f.within(from, to)
	for _, s := range talk.spans {
		a, b := s.from, s.to
		if a.Before(from) {
			a = from
		}
		if b.After(to) {
			b = to
		}
		if b.After(a) {
			sum -= f.within(a, b)
		}
	}
	return sum
}

// talked notes a signal: for so long after it the two boxes are taken to be about that matter.
func (f *freedom) talked(at time.Time) {
	until := at.Add(talkTime)
	if n := len(f.spans); n > 0 && !f.spans[n-1].to.Before(at) {
		f.spans[n-1].to = until
		return
	}
	f.spans = append(f.spans, span{from: at, to: until})
	if len(f.spans) > 64 {
		f.spans = f.spans[len(f.spans)-32:]
	}
}

// mark follows whether the line is free now.
func (f *freedom) mark(free bool, at time.Time) {
	n := len(f.spans)
	if n == 0 {
		f.spans, n = []span{{}}, 1 // free from the beginning
	}
	open := f.spans[n-1].to.IsZero()
	switch {
	case free && !open:
		f.spans = append(f.spans, span{from: at})
		if len(f.spans) > 64 {
			f.spans = f.spans[len(f.spans)-32:]
		}
	case !free && open:
		f.spans[n-1].to = at
	}
}

// freeNow follows the freedom of a line after an act on it.
func (v *reviewer) freeNow(l *line) {
	s := v.stands(l)
	l.free.mark(s.Shows == block.Blocked && !s.Inside && !s.Outside && !s.Danger && !s.Engineers && !s.Accepted && !s.InSection, v.now)
}

// offers is an offer: the first of its exchange counts.
func (v *reviewer) offers(l *line, sig signal) {
	v.freeNow(l)
	if !l.offered.is() || !l.offered.beats.Equal(sig.beats) {
		l.offered = sig
		v.offeredLate(l, sig)
	}
}

// accepts is an acceptance.
func (v *reviewer) accepts(l *line, sig, offer signal, warning bool) {
	first := offer
	if l.offered.is() && l.offered.beats.Equal(offer.beats) {
		first = l.offered
	}
	l.offered, l.repeated = signal{}, sig.at
	first.beats = offer.beats
	if warning {
		first.beats = l.classOf(v)
	}
	first.sense = block.Accepted
	if l.accepted.is() && !l.taken && !l.accepted.beats.Equal(first.beats) {
		l.second = first // the first still stands, for the train that goes first
		return
	}
	l.accepted, l.taken = first, false
	v.freeNow(l)
	v.needleNotCleared(l, sig)
	v.lookedOneSection(l, sig)
	if warning {
		l.accepted.sense = block.AcceptedW
		v.collarForgotten(l, sig)
	}
}

// classOf is the code of the train that is offered or accepted, as the bells have it.
func (l *line) classOf(v *reviewer) block.Beats {
	for _, i := range v.r.View(v.state, l.Rear).Shelf {
		for _, x := range i.Lines {
			if x.Section == l.ID {
				return x.Beats
			}
		}
	}
	return nil
}

// mended is the right code after 5-3: it mends the train's description.
func (l *line) mended(sig signal) {
	l.pair.mend = signal{}
	l.accepted.beats = sig.beats
	for _, t := range l.trains {
		if !t.outKnow {
			t.class, t.mended = sig.beats, true
		}
	}
}

// offeredLate is R11: the train had stood at the box's signals for more than a minute while the line ahead was free.
func (v *reviewer) offeredLate(l *line, sig signal) {
	for _, in := range v.order {
		if in.Advance != l.Rear || in.Rear == l.Advance || !v.goesBy(in, l) || in.examine.is() { // or it is being examined
			continue
		}
		for _, t := range in.trains {
			waited := sig.at.Sub(t.stood)
			if t.stood.IsZero() || t.outKnow || !t.class.Equal(sig.beats) || waited <= standLimit || t.left.at.After(sig.at) {
				continue
			}
			if l.free.except(l.pair.talk, t.stood, sig.at) > standLimit {
				v.addAs("R11", "", l.Rear, sig.at, l, t.id, sig.seq)
			}
		}
	}
}

// goesBy tells whether trains of one line may go on by another: the same way along the district, or the one being single.
func (v *reviewer) goesBy(in, l *line) bool {
	return in.Way == l.Way || in.Way == "both" || l.Way == "both"
}

// stopsAt tells whether a train is booked to stop at a box.
func (v *reviewer) stopsAt(id block.TrainID, box block.BoxID) bool {
	w, ok := v.state.Timetable().Find(id)
	return ok && slices.ContainsFunc(w.Calls, func(c block.PointTime) bool { return c.Box == box && c.Arrive >= 0 && c.Pass < 0 })
}

// notOfferedOn is R12: a train that did not stop here was offered on late, though the line ahead was free.
func (v *reviewer) notOfferedOn(ahead *line, t *train) {
	if ahead.pair.Method != "absolute" {
		return // how free such a line is, its needle does not say
	}
	for _, in := range v.order {
		if in.Advance != ahead.Rear || in.Rear == ahead.Advance || in.examine.is() {
			continue
		}
		for _, u := range in.trains {
			if u.id != t.id || v.stopsAt(u.id, in.Advance) || u.two.at.IsZero() || u.headed.IsZero() || v.now.Sub(u.headed) > passing {
				continue
			}
			if t.offer.is() && t.offer.at.After(u.two.at) && ahead.free.except(ahead.pair.talk, u.two.at, t.offer.at) > onLimit {
				v.addAs("R12", "", ahead.Rear, u.two.at, ahead, t.id, u.two.seq, t.offer.seq)
			}
		}
	}
}

// wrongClass is R10: the code under which a train went is not that of the class it is known to have. It is found when
// the train has passed the box in advance without 5-3, and dated at the offer.
func (v *reviewer) wrongClass(l *line, t *train) {
	w, ok := v.state.Timetable().Find(t.id)
	if !ok || len(w.Code) == 0 || len(t.class) == 0 || w.Code.Equal(t.class) || !t.offer.is() {
		return
	}
	v.addAs("R10", "", l.Rear, t.offer.at, l, t.id, t.offer.seq)
	t.class = nil // once
}

// describesWrongly is 5-3 answered: R48 if the right code does not follow.
func (v *reviewer) describesWrongly(p *pair, l *line, own, sig signal) {
	p.mend = own
	v.after(sig.at, answerLimit, func() {
		if p.mend.at.Equal(own.at) && (l == nil || v.stands(l).Accepted || v.stands(l).Offered || v.stands(l).InSection) {
			v.add("R48", own.by, own.at, l, own.seq)
		}
	})
}
