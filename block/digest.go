package block

import (
	"bytes"
	"fmt"
	"hash/fnv"
	"strconv"
	"time"
)

// Equal tells whether both states are the same in everything that a later event could depend on.
func (s State) Equal(t State) bool { return bytes.Equal(s.text(), t.text()) }

// Digest is short and stable: equal states have equal digests, on every machine. It is for tests, snapshots and
// the cross-check of two processes.
func (s State) Digest() string {
	h := fnv.New64a()
	_, _ = h.Write(s.text()) // a hash never fails
	return fmt.Sprintf("%016x", h.Sum64())
}

// text writes the whole state out in one order, with every time as nanoseconds since zero.
func (s State) text() []byte {
	d := dump{b: make([]byte, 0, 256*len(s.circuits))}
	d.time(s.at)
	d.num(int(s.count))
	d.flag(s.paused)
	for _, b := range s.boxes {
		d.flag(b.duty, b.open)
		d.time(b.since)
		d.word(b.ears)
	}
	for _, c := range s.circuits {
		d.circuit(c)
	}
	if s.timetable != nil {
		d.changed(s.timetable)
	}
	return d.b
}

// dump writes values one after the other, each ended so that no two states read alike.
type dump struct {
	b []byte
}

func (d *dump) num(n int) { d.b = append(strconv.AppendInt(d.b, int64(n), 10), ' ') }

func (d *dump) word(s string) { d.b = append(strconv.AppendQuote(d.b, s), ' ') }

func (d *dump) flag(flags ...bool) {
	for _, f := range flags {
		d.b = strconv.AppendBool(d.b, f)
		d.b = append(d.b, ' ')
	}
}

func (d *dump) time(t time.Time) {
	if t.IsZero() {
		d.b = append(d.b, '-', ' ')
		return
	}
	d.b = append(strconv.AppendInt(d.b, t.UnixNano(), 10), ' ')
}

func (d *dump) circuit(c *circuitState) {
	d.b = append(d.b, '\n')
	for k := range c.keys {
		key := &c.keys[k]
		d.b = fmt.Appendf(d.b, "%v ", key.hand)
		d.word(string(key.train))
		d.num(len(key.presses))
		for _, p := range key.presses {
			d.time(p)
		}
		d.num(len(key.cut))
		for _, p := range key.cut {
			d.time(p)
		}
		d.time(key.arrived)
		d.flag(key.held)
		d.flag(key.last != nil)
		if key.last != nil {
			d.word(key.last.Beats.String())
			d.time(key.last.First)
		}
	}
	d.talk(c.talk)
	d.flag(c.or != nil)
	if c.or != nil {
		d.talk(c.or.talk)
		d.num(len(c.or.first.irregular))
		d.num(len(c.or.second.irregular))
	}
}

func (d *dump) talk(t *talk) {
	for e := range t.call {
		c := &t.call[e]
		d.time(c.at)
		d.time(c.answered)
		d.time(c.last)
		d.flag(c.open, c.spent)
		d.open(t.offer[e])
		d.open(t.other[e])
		d.num(int(t.danger[e]))
		d.num(int(t.ending[e].closing))
		d.num(int(t.ending[e].opening))
	}
	d.flag(t.slip != nil)
	if t.slip != nil {
		d.num(t.slip.by)
		d.word(t.slip.beats.String())
		d.time(t.slip.first)
		d.open(t.slip.of)
	}
	d.time(t.tested)
	d.flag(t.dead)
	for l := range t.lines {
		d.line(&t.lines[l])
	}
	d.token(&t.token)
	d.pilot(&t.pilot)
	d.staff(&t.staff)
}

// staff is left out where there is none, for the same reason.
func (d *dump) staff(s *staffState) {
	if s.with == 0 && !s.carried && s.moved.IsZero() && !s.open && !s.showed && s.issued == 0 && s.last == [2]time.Time{} {
		return
	}
	d.word("staff")
	d.num(s.with)
	d.flag(s.carried, s.open, s.showed)
	d.word(string(s.holder))
	d.word(string(s.shown))
	d.time(s.moved)
	d.num(s.sent.by)
	d.time(s.sent.at)
	d.num(s.issued)
	for _, t := range s.tickets {
		d.word(t.number)
		d.word(string(t.train))
		d.num(t.from)
		d.flag(t.gone)
	}
	for _, n := range s.spent {
		d.word(n)
	}
	for _, at := range s.last {
		d.time(at)
	}
}

// pilot is left out where there is none, so that sittings without one stay as they were.
func (d *dump) pilot(p *pilotState) {
	if !p.inForce() {
		return
	}
	d.word("pilot")
	d.flag(p.forms[0], p.forms[1], p.riding)
	d.num(p.road)
	d.num(p.at)
	d.word(string(p.with))
	for _, t := range p.tickets {
		d.word(string(t.train))
		d.num(t.from)
	}
}

func (d *dump) token(t *tokenState) {
	for e := range t.in {
		d.num(t.in[e])
		d.num(int(t.asked[e]))
		d.num(int(t.blocked[e]))
		d.word(string(t.foul[e]))
		d.flag(t.signal[e])
	}
	d.flag(t.out, t.shunt, t.carried, t.told, t.used, t.pulled)
	d.word(string(t.holder))
	d.num(t.with)
	d.num(t.drawn)
	d.num(t.from)
	d.time(t.moved)
	if t.bagged+t.siding > 0 {
		d.word("away")
		d.word(t.away)
		d.num(t.bagged)
		d.num(t.siding)
	}
	if !t.failed.IsZero() {
		d.word("failed")
		d.time(t.failed)
	}
}

func (d *dump) open(o *open) {
	d.flag(o != nil)
	if o == nil {
		return
	}
	d.word(string(o.code.Key))
	d.time(o.first)
	d.num(o.line)
	d.word(string(o.train))
	d.flag(o.mends, o.again, o.void)
}

func (d *dump) line(l *line) {
	d.word(string(l.shows))
	d.time(l.moved)
	d.num(l.count)
	d.num(int(l.stands))
	d.acceptance(l.offer)
	d.acceptance(l.second)
	for _, s := range []stage{l.assist, l.bbIn, l.bbOut, l.fwd} {
		d.num(int(s))
	}
	d.flag(l.used, l.mend, l.runaway, l.warned, l.signal, l.pulled, l.passedOn, l.released,
		l.collar[0], l.collar[1], l.doubted, l.broken)
	if l.home { // most sittings have no such levers, and theirs stay as they were
		d.word("home")
	}
	if l.engineers != (possession{}) {
		d.word("engineers")
		d.flag(l.engineers.on, l.engineers.mute)
		d.time(l.engineers.since)
	}
	d.time(l.outGiven)
	d.time(l.entered)
	d.word(string(l.foul))
	d.num(len(l.trains))
	for i := range l.trains {
		o := &l.trains[i]
		d.word(string(o.id))
		d.time(o.left)
		d.time(o.two)
		d.time(o.at)
		d.word(string(o.seen))
		d.word(string(o.lamp))
		d.flag(o.whole, o.told, o.given, o.shunt, o.parted, o.found, o.accepted)
		d.num(o.from)
		d.flag(o.coaching)
	}
}

func (d *dump) acceptance(a *acceptance) {
	d.flag(a != nil)
	if a == nil {
		return
	}
	d.word(string(a.code.Key))
	d.time(a.first)
	d.time(a.at)
	d.flag(a.warning, a.gone)
	d.word(string(a.train))
}
