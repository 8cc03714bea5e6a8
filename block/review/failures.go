package review

import (
	"time"
)

// sentTooSoon is FA-01: bell, needle and telephone had all failed, and a train was sent before the interval that the
// layout gives (failGap) had gone since the one before it. Reference: absolute block, section 4.5, everything failed;
// from memory.
func (v *reviewer) sentTooSoon(l *line, t *train) {
	gap := time.Duration(v.r.Layout().Settings.FailGap)
	if last := l.let; l.failed(v) && last.is() && t.left.at.Sub(last.at) < gap {
		v.addAs("FA-01", "", l.Rear, t.left.at, l, t.id, last.seq, t.left.seq)
	}
	l.let = t.left
}

// failed tells whether nothing is left by which the two boxes of the line could speak.
func (l *line) failed(v *reviewer) bool {
	s := v.stands(l)
	return s.BellDead && s.NeedleDead && l.pair.mute
}
