package review

import (
	"slices"
	"time"

	"taillamp/block"
)

// Limits of the rules about duty and the record.
const (
	handLimit = 120 * time.Second // R65: words to the relief before going off
	testLimit = 5 * time.Minute   // OC-06: bells and needles tested after a box has gone out
)

// duty is a man signing on or off. R65 if he goes with something signalled and leaves no words.
func (v *reviewer) duty(e block.Event, d *block.OnDuty) {
	b := v.boxes[d.Box]
	b.signs = true
	if d.On || e.Do != block.Duty || since(b.wrote, e.At.Add(-handLimit)) || e.Words != "" {
		return
	}
	for _, c := range v.r.Circuits() {
		if c.Boxes[0] != d.Box && c.Boxes[1] != d.Box || !v.r.Works(v.state, c.ID) {
			continue
		}
		for _, sec := range c.Sections {
			if s := v.stands(v.lines[sec.ID]); s.Standing != "IDLE" && s.Standing != "" {
				v.addAs("R65", block.Irregular, d.Box, v.now, v.lines[sec.ID], "", v.seq)
				return
			}
		}
	}
}

// switched is a closing switch turned: the long circuit that forms must be tested.
func (v *reviewer) switched(s *block.InOut) {
	at, seq := v.now, v.seq
	for _, c := range v.r.Circuits() {
		if !slices.Contains(c.Over, s.Box) {
			continue
		}
		p := v.pairs[c.ID]
		p.tested = time.Time{}
		if !s.Open && c.Method == "absolute" && v.r.Works(v.state, c.ID) {
			v.after(at, testLimit, func() {
				if p.tested.IsZero() && v.r.Works(v.state, c.ID) {
					v.add("OC-06", c.Boxes[0], at, nil, seq)
				}
			})
		}
	}
}

// fault is an instrument that failed or was mended. R66, told, if the bell was dead and nobody wrote it down.
func (v *reviewer) fault(f *block.Broken) {
	p := v.pairs[f.Circuit]
	if p != nil && f.Where == block.AtPhone {
		p.mute = !f.Mended
	}
	if p == nil || f.Where != block.AtBell {
		return
	}
	if !f.Mended {
		p.broke, p.used = signal{at: v.now, seq: v.seq}, false
		return
	}
	v.notBooked(p)
	for _, l := range p.lines {
		for _, t := range l.trains {
			t.judged = t.judged || since(t.left.at, p.broke.at) // no bell could have rung its 2
		}
	}
	p.broke = signal{}
}

func (v *reviewer) notBooked(p *pair) {
	if !p.broke.is() || !p.used {
		return
	}
	for _, b := range p.Boxes {
		if since(v.boxes[b].wrote, p.broke.at) {
			return
		}
	}
	v.add("R66", p.Boxes[0], p.broke.at, nil, p.broke.seq)
}

// wrote is a remark in the book, or a call by telephone.
func (v *reviewer) wrote(e block.Event) {
	b := v.boxes[e.By]
	if b == nil {
		return // the owner's remark is no box's
	}
	if e.Do == block.Call && e.Words == "" {
		return // a telephone that rings, or is put down, has said nothing
	}
	b.wrote = v.now
	if e.Do == block.Call {
		b.called = v.now
		return
	}
	b.readsWeather(e.Words)
}

// clock is a box's own clock that goes wrong in the middle: R70, once, at that box, and nothing for its trains.
func (v *reviewer) clock(e block.Event) {
	v.clocks = append(v.clocks, clockChange{box: e.By, at: v.now, seq: v.seq, words: e.Words})
}

type clockChange struct {
	box   block.BoxID
	at    time.Time
	seq   uint64
	words string
}

// atEnd is what only the end of the sitting tells.
func (v *reviewer) atEnd() {
	for _, c := range v.r.Circuits() {
		p := v.pairs[c.ID]
		v.notBooked(p)
		for _, l := range p.lines {
			for _, t := range l.trains {
				v.lastLook(l, t)
			}
		}
	}
	if v.kinds.fouls {
		for _, n := range v.needless {
			v.add("R23", n.line.Advance, n.sig.at, n.line, n.sig.seq)
		}
	}
	v.booksDiffer()
}

// lastLook is R31 at the end of the sitting: 2 has been due for more than a minute.
func (v *reviewer) lastLook(l *line, t *train) {
	if t.left.is() && !t.two.is() && !t.shunt && !t.judged && !t.outKnow && v.now.Sub(t.left.at) > goneLimit && !l.pair.broke.is() {
		t.judged = true
		v.addAs("R31", "", l.Rear, t.left.at, l, t.id, t.left.seq)
	}
}

// clockLimit is how much a clock must change by to be found.
const clockLimit = time.Minute

// booksDiffer is R70: a clock that changed by a minute or more in the middle of the sitting.
func (v *reviewer) booksDiffer() {
	for _, c := range v.clocks {
		if d, err := time.ParseDuration(c.words); err == nil && (d >= clockLimit || d <= -clockLimit) {
			v.add("R70", c.box, c.at, nil, c.seq)
		}
	}
}
