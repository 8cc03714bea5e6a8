package review

import (
	"time"

	"taillamp/block"
)

// Limits of the rules about cancelling and releases.
const (
	putBack   = 5 * time.Second   // R45: the signal put back with the 3-5
	bookLimit = 300 * time.Second // R46: the release entered in the register
)

// cancels is A's 3-5. R45 if its section signal is off and not put back at once.
func (v *reviewer) cancels(l *line, sig signal) {
	if !l.lever.off {
		return
	}
	v.after(sig.at, putBack, func() {
		if l.lever.off {
			v.add("R45", l.Rear, sig.at, l, sig.seq)
		}
	})
}

// isCancelled is 3-5 answered. R47 if line clear is left standing.
func (v *reviewer) isCancelled(l *line, own, sig signal) {
	l.gaveAway = sig.at
	l.offered, l.accepted, l.second, l.taken, l.early = signal{}, signal{}, signal{}, false, signal{}
	for _, t := range l.trains {
		t.outKnow = true
	}
	v.freeNow(l)
	v.after(sig.at, v.settle(), func() {
		s := v.stands(l)
		if s.Shows == block.Clear && !s.Accepted && !s.InSection {
			v.add("R47", l.Advance, sig.at, l, own.seq, sig.seq)
		}
	})
}

// lever is a section signal pulled or put back.
func (v *reviewer) lever(by block.BoxID, p *block.Pulled) {
	v.kinds.levers = true
	l := v.lines[p.Section]
	if l == nil {
		return
	}
	if !p.Off {
		l.pair.putBack = append(l.pair.putBack, back{l.ID, v.now})
	}
	l.lever = leverage{off: p.Off, at: v.now, seq: v.seq}
}

// back is a section signal put back.
type back struct {
	line block.SectionID
	at   time.Time
}

// backs are the moments at which the line's section signal was put back.
func (p *pair) backs(l *line) []time.Time {
	var out []time.Time
	for _, b := range p.putBack {
		if b.line == l.ID {
			out = append(out, b.at)
		}
	}
	return out
}

// released is the sealed release used. R46, told, if it is not entered in the register.
func (v *reviewer) released(e block.Event) {
	l := v.lines[e.Section]
	at, seq := v.now, v.seq
	v.after(at, bookLimit, func() {
		if !since(v.boxes[e.By].wrote, at.Add(-bookLimit)) {
			v.addAs("R46", block.Tell, e.By, at, l, "", seq)
		}
	})
}
