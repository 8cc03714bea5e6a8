package mqtt

import "time"

// offset finds out by how much the sitting's clock is ahead of an instrument's own. The network can only make a message
// come later, so the smallest difference of a code is the truest.
type offset struct {
	ahead time.Duration
	last  time.Time // of the message before
	ms    float64
}

// forgotten is after how long a rest it is found anew: cheap clocks run away.
const forgotten = 10 * time.Second

// pressed is when a finger came down, by the sitting's clock: never after the message came.
func (o *offset) pressed(ms float64, came time.Time) time.Time {
	by := time.Duration(ms * float64(time.Millisecond))
	ahead := came.Sub(time.UnixMicro(0)) - by
	if o.last.IsZero() || came.Sub(o.last) > forgotten || ms < o.ms || ahead < o.ahead {
		o.ahead = ahead
	}
	o.last, o.ms = came, ms
	return time.UnixMicro(0).Add(o.ahead + by)
}
