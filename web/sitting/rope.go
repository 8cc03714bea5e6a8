package sitting

import "time"

// Rope is what beats of one circuit come along to a bell that hangs with the program: the host's loudspeaker, or a real
// one on the layout. The network holds some of them up; the rope gives the rest of a code the same delay, so that it
// rings as it was tapped: stretched perhaps, never squeezed. Its zero value is a rope that hangs still.
type Rope struct {
	pressed time.Time // of the last beat, when it was tapped
	rung    time.Time // and when it rings here
}

const (
	ropeSlack   = 400 * time.Millisecond // the most that a beat is held back for the sake of those before it
	ropeForgets = 1500 * time.Millisecond
)

// Pull gives how long a beat that has come now is still to wait.
func (r *Rope) Pull(pressed, now time.Time) time.Duration {
	at := now
	gap := pressed.Sub(r.pressed)
	if in := r.rung.Add(gap); gap > 0 && gap < ropeForgets && in.After(now) && in.Sub(now) <= ropeSlack {
		at = in
	}
	r.pressed, r.rung = pressed, at
	return at.Sub(now)
}
