package register

import (
	"fmt"
	"slices"
	"time"

	"taillamp/block"
)

// Clock turns the moments of a record into the time that a district's registers are kept in: the wall's own, or a
// scaled one that began when the sitting did and stands while it is paused.
type Clock struct {
	began  time.Time // of the sitting
	starts time.Time // what the district's clock showed then
	speed  float64
	stops  []stop // a scaled clock stands still while the evening is paused; the wall's own goes on
}

// stop is a pause, by the moments of the record; to is zero while it lasts.
type stop struct{ from, to time.Time }

// ClockOf is the clock of a layout for a sitting that began at a moment.
func ClockOf(l *block.Layout, began time.Time) Clock {
	c := Clock{began: began, starts: began, speed: 1}
	if l.Clock.Kind != "scaled" {
		return c
	}
	if t, err := time.Parse("15:04", l.Clock.Starts); err == nil {
		y, m, d := began.Date()
		c.starts = time.Date(y, m, d, t.Hour(), t.Minute(), 0, 0, began.Location())
	}
	if l.Clock.Speed > 0 {
		c.speed = l.Clock.Speed
	}
	return c
}

// At is the district's time at a moment.
func (c Clock) At(t time.Time) time.Time {
	if c.speed == 1 && c.starts.Equal(c.began) {
		return t
	}
	return c.starts.Add(time.Duration(float64(t.Sub(c.began)-c.stood(t)) * c.speed))
}

// After is the clock as it goes on after an entry: stopped or started by a pause of the evening. The times of moments
// before it stay what they were.
func (c Clock) After(e block.Entry) Clock {
	if e.Mark != "" || e.Event.Do != block.Pace || e.Outcome.Ending != block.Done || c.starts.Equal(c.began) {
		return c
	}
	last := len(c.stops) - 1
	stands := last >= 0 && c.stops[last].to.IsZero()
	switch {
	case e.Event.Off && !stands:
		c.stops = append(slices.Clip(c.stops), stop{from: e.Event.At})
	case !e.Event.Off && stands:
		c.stops = slices.Clone(c.stops)
		c.stops[last].to = e.Event.At
	}
	return c
}

// stood is how long the clock has stood still before a moment.
func (c Clock) stood(t time.Time) time.Duration {
	var d time.Duration
	for _, s := range c.stops {
		switch {
		case !t.After(s.from):
		case s.to.IsZero() || t.Before(s.to):
			d += t.Sub(s.from)
		default:
			d += s.to.Sub(s.from)
		}
	}
	return d
}

// Moment is when the district's clock shows a time of day, in seconds after midnight, of the day on which it began.
func (c Clock) Moment(sec int) time.Time {
	y, m, d := c.starts.Date()
	district := time.Date(y, m, d, 0, 0, sec, 0, c.starts.Location())
	real := c.began.Add(time.Duration(float64(district.Sub(c.starts)) / c.speed))
	for _, s := range c.stops {
		if real.After(s.from) && !s.to.IsZero() {
			real = real.Add(s.to.Sub(s.from))
		}
	}
	return real
}

// Rounding is how a box books times.
type Rounding bool

// Halves books to the half minute, 15 s counting up; else to the whole minute, 30 s counting up: 0 to 29 s belong to
// the minute, 30 to 59 s to the next, as a signalman remembers it printed on the books (lner.info, Signalbox register).
const Halves Rounding = true

// Round is the minute, or half minute, that a moment is booked to.
func (h Rounding) Round(t time.Time) time.Time {
	unit := time.Minute
	if h {
		unit = 30 * time.Second
	}
	sec := time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute + time.Duration(t.Second())*time.Second +
		time.Duration(t.Nanosecond())
	rounded := (sec + unit/2) / unit * unit
	return t.Add(rounded - sec)
}

// Full writes a time with its hour: 16.04½.
func (h Rounding) Full(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	r := h.Round(t)
	return fmt.Sprintf("%d.%02d%s", r.Hour(), r.Minute(), half(r))
}

// Short writes a time as a signaller does after the first of the hour: 4½.
func (h Rounding) Short(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	r := h.Round(t)
	return fmt.Sprintf("%d%s", r.Minute(), half(r))
}

func half(t time.Time) string {
	if t.Second() == 30 {
		return "½"
	}
	return ""
}
