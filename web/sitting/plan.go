package sitting

import (
	"context"
	"slices"
	"time"

	"taillamp/block"
)

// Planned is something that the owner will have done at a time of the evening. It stands in the record from when he says
// so, and is done by the sitting's own goroutine.
type Planned struct {
	block.Plan
	Seq  uint64    // the record entry by which it was planned
	Due  time.Time // when it will be done, if the evening is not paused
	made time.Time
	off  time.Duration // for how long the evening has been paused since
}

// settles is how long a sitting that is gone on with waits before it does what has become due meanwhile: its signallers come
// first.
const settles = 5 * time.Second

// Plan has something done later. ErrTimePast; block.ErrNoSense, ErrNoTrain, ErrNoSuchBox: it cannot be.
func (l *Live) Plan(ctx context.Context, p block.Plan) error {
	return l.owner(ctx, func() error {
		if p.When.In == 0 && !l.District().Moment(p.When.At).After(l.now()) {
			return ErrTimePast
		}
		if _, ok := l.card(p.Card); p.Does == block.Deal && !ok {
			return ErrNoAct
		}
		return l.ownerDoes(p.Event())
	})
}

// Unplan takes a plan off the list, by the number of its entry. ErrAsItIs: it is not there, or has been done.
func (l *Live) Unplan(ctx context.Context, seq uint64) error {
	return l.owner(ctx, func() error {
		if !slices.ContainsFunc(l.planned, func(p Planned) bool { return p.Seq == seq }) {
			return ErrAsItIs
		}
		return l.ownerDoes(block.Unplan(seq, "withdrawn"))
	})
}

// card is the card of that name.
func (l *Live) card(name string) (block.Card, bool) {
	all := l.rules.Layout().DealtCards()
	n := slices.IndexFunc(all, func(c block.Card) bool { return c.Name == name })
	if n < 0 {
		return block.Card{}, false
	}
	return all[n], true
}

// tookPlan keeps account of what is planned.
func (l *Live) tookPlan(e block.Entry) {
	if e.Event.Do != block.Plans || e.Outcome.Ending != block.Done {
		return
	}
	if e.Event.Off {
		l.planned = slices.DeleteFunc(slices.Clone(l.planned), func(p Planned) bool { return p.Seq == e.Event.Line })
	} else if p, ok := block.PlanOf(e.Event); ok {
		l.planned = append(l.planned, Planned{Plan: p, Seq: e.Seq, made: e.Event.At})
	}
}

// putsOff has what is planned by minutes wait as long as the evening was paused; the district's clock stood by itself.
func (l *Live) putsOff(pace block.Event) {
	if pace.Off || l.paused.IsZero() {
		return
	}
	for n := range l.planned {
		from := l.paused
		if made := l.planned[n].made; made.After(from) {
			from = made
		}
		l.planned[n].off += pace.At.Sub(from)
	}
}

// due is when a plan is to be carried out, if the evening goes on.
func (l *Live) due(p Planned) time.Time {
	at := p.made.Add(p.When.In + p.off)
	if p.When.In == 0 {
		at = l.District().Moment(p.When.At)
	}
	if first := l.begun.Add(settles); at.Before(first) && p.made.Before(l.begun) {
		return first
	}
	return at
}

// plannedNow is what is planned, the next first.
func (l *Live) plannedNow() []Planned {
	all := slices.Clone(l.planned)
	for n := range all {
		all[n].Due = l.due(all[n])
	}
	slices.SortStableFunc(all, func(a, b Planned) int { return a.Due.Compare(b.Due) })
	return all
}

// nextPlanned is what is to be carried out next: nothing while the evening is paused.
func (l *Live) nextPlanned() (Planned, bool) {
	if len(l.planned) == 0 || !l.paused.IsZero() || l.ending != nil || l.differs != nil {
		return Planned{}, false
	}
	return l.plannedNow()[0], true
}

// carriesOut does whatever is due. What cannot be done as things stand is taken off the list, and the record says so.
func (l *Live) carriesOut() {
	for {
		p, ok := l.nextPlanned()
		if !ok || p.Due.After(l.now()) {
			return
		}
		words := "done"
		if err := l.carries(p.Plan); err != nil {
			words = "could not be done"
		}
		if l.ownerDoes(block.Unplan(p.Seq, words)) != nil {
			return
		}
	}
}

func (l *Live) carries(p block.Plan) error {
	switch p.Does {
	case block.Deal:
		c, ok := l.card(p.Card)
		if !ok {
			return ErrNoAct
		}
		return l.deals(c, p.To)
	case block.Happen:
		if l.company == nil {
			return ErrNoCompany
		}
		return l.orders(p.What)
	}
	return l.fails(Failure{p.Circuit, p.Where}, p.Does == block.Mend)
}
