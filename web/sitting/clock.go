package sitting

import (
	"slices"
	"sync"
	"time"
)

// A Clock is where a sitting has its time from.
type Clock interface {
	Now() time.Time
	// Alarm gives a channel that receives once when the clock shows at, or soon if it does already, and a function
	// that the caller must call when he no longer wants it.
	Alarm(at time.Time) (rings <-chan time.Time, stop func())
}

// RealClock is the machine's clock as it stood when the program began, kept on by the steady count since: somebody
// who sets the machine's time in the middle of an evening moves nothing.
type RealClock struct{ began time.Time }

// NewRealClock starts a RealClock.
func NewRealClock() RealClock { return RealClock{began: time.Now()} }

// Now is the time.
func (c RealClock) Now() time.Time { return c.began.Add(time.Since(c.began)) }

// Alarm rings at a time.
func (c RealClock) Alarm(at time.Time) (<-chan time.Time, func()) {
	t := time.NewTimer(at.Sub(c.Now()))
	return t.C, func() { t.Stop() }
}

// HandClock is moved by hand, for tests and for days worked as fast as they go.
type HandClock struct {
	mu     sync.Mutex
	now    time.Time
	alarms []*alarm
}

type alarm struct {
	at    time.Time
	rings chan time.Time
}

// NewHandClock stands at a time until it is moved.
func NewHandClock(at time.Time) *HandClock { return &HandClock{now: at} }

// Now is the time it was moved to.
func (c *HandClock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

// Move puts the clock on and rings what has come due.
func (c *HandClock) Move(by time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(by)
	c.alarms = slices.DeleteFunc(c.alarms, c.rang)
}

// rang rings an alarm that is due.
func (c *HandClock) rang(a *alarm) bool {
	if a.at.After(c.now) {
		return false
	}
	a.rings <- c.now // it has room for the one time that it rings
	return true
}

// Alarm rings when the clock has been moved to a time.
func (c *HandClock) Alarm(at time.Time) (<-chan time.Time, func()) {
	c.mu.Lock()
	defer c.mu.Unlock()
	a := &alarm{at: at, rings: make(chan time.Time, 1)}
	if !c.rang(a) {
		c.alarms = append(c.alarms, a)
	}
	return a.rings, func() { c.forget(a) }
}

func (c *HandClock) forget(a *alarm) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.alarms = slices.DeleteFunc(c.alarms, func(b *alarm) bool { return b == a })
}
