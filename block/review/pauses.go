package review

import (
	"time"

	"taillamp/block"
)

// pauses takes the pauses of an evening out of its time, so that nobody is found slow because the owner stopped the
// evening, and puts them back into what is found. While it is paused the time of the evening stands still.
type pauses struct {
	since time.Time     // when the pause that lasts began; zero: it goes on
	total time.Duration // of those that are over
	list  []pause
}

// pause is one that is over.
type pause struct {
	at   time.Time // by the evening's own time
	long time.Duration
}

// out is an entry by the evening's own time.
func (p *pauses) out(e block.Entry) block.Entry {
	if e.Mark != "" {
		return e
	}
	at := e.Event.At
	e.Event.At = p.shift(at)
	if !e.Event.Pressed.IsZero() {
		e.Event.Pressed = p.shift(e.Event.Pressed)
	}
	if len(e.Outcome.Irregular) > 0 && (p.total > 0 || !p.since.IsZero()) {
		var moved []block.Irregularity
		for _, i := range e.Outcome.Irregular {
			i.At = p.shift(i.At)
			moved = append(moved, i)
		}
		e.Outcome.Irregular = moved
	}
	if e.Event.Do == block.Pace && e.Outcome.Ending == block.Done {
		switch {
		case e.Event.Off && p.since.IsZero():
			p.since = at
		case !e.Event.Off && !p.since.IsZero():
			p.list = append(p.list, pause{at: p.shift(at), long: at.Sub(p.since)})
			p.total += at.Sub(p.since)
			p.since = time.Time{}
		}
	}
	return e
}

// shift is a moment by the evening's own time. What lies before a pause that has begun meanwhile stays where it was.
func (p *pauses) shift(t time.Time) time.Time {
	if !p.since.IsZero() && t.After(p.since) {
		t = p.since
	}
	// Only what was pressed before a pause and taken after it lies behind the last one that is over.
	total := p.total
	for n := len(p.list) - 1; n >= 0 && t.Add(-total).Before(p.list[n].at); n-- {
		total -= p.list[n].long
	}
	return t.Add(-total)
}

// back is the real moment of one by the evening's own time.
func (p *pauses) back(t time.Time) time.Time {
	real := t
	for _, x := range p.list {
		if x.at.Before(t) {
			real = real.Add(x.long)
		}
	}
	return real
}
