package review

import (
	"time"

	"taillamp/block"
)

// reminderLimit is how long after a line was given up to the engineers its reminder may be missing at either end (OC-10).
// Common practice, no source.
const reminderLimit = 2 * time.Minute

// engineers is a line given up to the engineers or handed back. OC-10 at each end that put no reminder on: a collar, or
// where nobody marks collars the needle kept at train on line.
func (v *reviewer) engineers(g *block.LineGiven) {
	l := v.lines[g.Section]
	if l == nil {
		return
	}
	at, seq := v.now, v.seq
	v.freeNow(l)
	if g.Back {
		l.eased = v.now
		return
	}
	v.after(at, reminderLimit, func() {
		s := v.stands(l)
		if !s.Engineers {
			return
		}
		if !v.kinds.collars {
			if l.tokens == nil && !l.atOnce && s.Shows != block.Occupied && !s.NeedleDead {
				v.add("OC-10", l.Advance, at, l, seq)
			}
			return
		}
		for _, b := range l.pair.Boxes {
			if !v.reminded(l, b, v.now) {
				v.add("OC-10", b, at, l, seq)
			}
		}
	})
}

// pilot notes that a pilotman has gone: needles that were kept for him are free from now.
func (v *reviewer) pilot(p *block.Piloted) {
	if l := v.lines[p.Section]; l != nil && p.Off {
		l.eased = v.now
	}
}
