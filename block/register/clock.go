package register

import (
	"fmt"
	"slices"
	"time"

	"taillamp/block"
)

// Clock turns the moments of a record into the time that a district's registers are kept in: the wall's own, or a
// scaled one that began when the sitting did, stands while it is paused, and may go on at another speed.
type Clock struct {
	began time.Time // of the sitting
	legs  []leg     // of a scaled clock, the first from the beginning of the sitting; none: the wall's own
}

// leg is how a scaled clock goes from a moment of the record until the next leg.
type leg struct {
	from  time.Time
	shows time.Time // what the district's clock shows then
	speed float64   // district seconds in a real one; 0: it stands
	goes  float64   // the speed at which it goes when it does not stand
}

// ClockOf is the clock of a layout for a sitting that began at a moment.
func ClockOf(l *block.Layout, began time.Time) Clock {
	if l.Clock.Kind != "scaled" {
		return Clock{began: began}
	}
	first := leg{from: began, shows: began, speed: 1}
	if t, err := time.Parse("15:04", l.Clock.Starts); err == nil {
		y, m, d := began.Date()
		first.shows = time.Date(y, m, d, t.Hour(), t.Minute(), 0, 0, began.Location())
	}
	if l.Clock.Speed > 0 {
		first.speed = l.Clock.Speed
	}
	first.goes = first.speed
	return Clock{began, []leg{first}}
}

// At is the district's time at a moment.
func (c Clock) At(t time.Time) time.Time {
	if len(c.legs) == 0 {
		return t
	}
	n := len(c.legs) - 1
	for n > 0 && t.Before(c.legs[n].from) {
		n--
	}
	l := c.legs[n]
	return l.shows.Add(time.Duration(float64(t.Sub(l.from)) * l.speed))
}

// Speed is how many district seconds pass in a real one while the evening goes on.
func (c Clock) Speed() float64 {
	if len(c.legs) == 0 {
		return 1
	}
	return c.legs[len(c.legs)-1].goes
}

// After is the clock as it goes on after an entry: stopped or started by a pause of the evening. The times of moments
// before it stay what they were.
func (c Clock) After(e block.Entry) Clock {
	if e.Mark != "" || e.Event.Do != block.Pace || e.Outcome.Ending != block.Done || len(c.legs) == 0 {
		return c
	}
	last := c.legs[len(c.legs)-1]
	next := leg{from: e.Event.At, shows: c.At(e.Event.At), goes: last.goes}
	if !e.Event.Off {
		if speed, ok := e.Event.Speed(); ok {
			next.goes = speed
		}
		next.speed = next.goes
	}
	if next.speed == last.speed {
		return c
	}
	return Clock{c.began, append(slices.Clip(c.legs), next)}
}

// Moment is when the district's clock shows a time of day, in seconds after midnight, of the day on which it began. While
// it stands, that is the moment at which it would if it went on at once.
func (c Clock) Moment(sec int) time.Time {
	if len(c.legs) == 0 {
		y, m, d := c.began.Date()
		return time.Date(y, m, d, 0, 0, sec, 0, c.began.Location())
	}
	y, m, d := c.legs[0].shows.Date()
	district := time.Date(y, m, d, 0, 0, sec, 0, c.legs[0].shows.Location())
	n := len(c.legs) - 1
	for n > 0 && !c.legs[n].shows.Before(district) {
		n-- // at the last leg that begins before that time
	}
	l := c.legs[n]
	return l.from.Add(time.Duration(float64(district.Sub(l.shows)) / l.goes))
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
