package block

import "time"

// work is one event being worked on what two boxes have understood of each other.
type work struct {
	r    *Rules
	s    *State // the district, for what only another circuit knows
	p    *circuitPlan
	t    *talk // this event's own copy
	e    *Event
	out  *Outcome
	held [2]bool // by end: the bell key kept down on the last beat
	said verdict
	or   *twofold // set where a code has two readings
}

// talked works f on what the two boxes have understood. Where a code is held in two readings, f works on both;
// with settle, the better one is then taken.
func (a *act) talked(n int, c *circuitState, settle bool, f func(*work) error) error {
	w := &a.work
	*w = work{r: a.r, s: a.s, p: &a.r.circuits[n], t: c.talk, e: &a.e, out: &a.out,
		held: [2]bool{c.keys[0].held, c.keys[1].held}}
	if c.or == nil {
		err := f(w)
		if c.or = w.or; c.or == nil {
			a.take(w.said)
		}
		return err
	}
	other := *c.or.talk
	v := *w
	var unseen Outcome
	v.t, v.out = &other, &unseen
	err := f(w)
	if errOther := f(&v); errOther != nil && err == nil {
		v.said.irregular = append(v.said.irregular, impossible)
	}
	first, second := c.or.first.and(w.said), c.or.second.and(v.said)
	switch {
	case !settle:
		c.or = &twofold{talk: &other, first: first, second: second}
	case second.weight() < first.weight():
		unseen.Changes = append(a.out.Changes[:0:0], unseen.Changes...)
		c.talk, c.or = &other, v.or
		a.adopt(unseen)
		a.take(second)
	default:
		c.or = w.or
		a.take(first)
	}
	return err
}

// impossible outweighs every other reading: an act that could not be under it has happened.
var impossible = Irregularity{Severity: Dangerous}

// adopt puts the second reading's outcome in place of the first's: the handle and lever may answer otherwise.
func (a *act) adopt(o Outcome) {
	keep := a.out.Changes[:0:0]
	for _, c := range a.out.Changes {
		if c.Code != nil {
			keep = append(keep, c)
		}
	}
	a.out.Changes = append(keep, o.Changes...)
	if o.Ending != "" {
		a.out.Ending, a.out.Why = o.Ending, o.Why
	}
}

// take makes a verdict part of the outcome.
func (a *act) take(v verdict) {
	for i := range v.signals {
		a.out.Changes = append(a.out.Changes, Change{Signal: &v.signals[i]})
	}
	a.out.Irregular = append(a.out.Irregular, v.irregular...)
}

// and joins a later verdict to v.
func (v verdict) and(w verdict) verdict {
	return verdict{
		signals:   append(v.signals[:len(v.signals):len(v.signals)], w.signals...),
		irregular: append(v.irregular[:len(v.irregular):len(v.irregular)], w.irregular...),
	}
}

// weight is how much irregularity a reading would leave behind.
func (v verdict) weight() int {
	n := 0
	for _, i := range v.irregular {
		switch i.severity() {
		case Dangerous:
			n += 100
		case Irregular:
			n += 10
		default:
			n++
		}
	}
	return n
}

// severity is the irregularity's own, or that of its rule.
func (i Irregularity) severity() Severity {
	if i.Severity != "" {
		return i.Severity
	}
	rule, _ := FindRule(i.Rule)
	return rule.Severity
}

// id is the box at an end of the circuit.
func (w *work) id(x int) BoxID { return w.r.boxes[w.p.boxes[x]].ID }

// section is the name of the line that leaves the box at end l; empty where there is none.
func (w *work) section(l int) SectionID {
	if l < 0 || w.p.sections[l] < 0 {
		return ""
	}
	return w.r.sections[w.p.sections[l]].id
}

// has tells whether a line leaves the box at end l.
func (w *work) has(l int) bool { return w.p.sections[l] >= 0 }

// took records how a code was understood.
func (w *work) took(x int, g *group, s Signal) {
	s.Circuit, s.By, s.First, s.Beats = w.p.id, w.id(x), g.first, g.beats
	w.said.signals = append(w.said.signals, s)
}

// breaks records that the box at end x broke a rule on the line leaving end l, at that moment.
func (w *work) breaks(rule RuleID, x, l int, at time.Time) { w.breaksAs(rule, "", x, l, at) }

// breaksAs is breaks with a severity other than the rule's own.
func (w *work) breaksAs(rule RuleID, as Severity, x, l int, at time.Time) {
	if w.r.ignored == rule {
		return
	}
	i := Irregularity{Rule: rule, Box: w.id(x), At: at, Section: w.section(l), Severity: as}
	if l >= 0 {
		i.Train = w.t.lines[l].train0()
	}
	w.said.irregular = append(w.said.irregular, i)
}

// refuse is the apparatus holding what was to be moved.
func (w *work) refuse(why Reason) { w.out.Ending, w.out.Why = Refused, why }

func (w *work) change(c Change) { w.out.Changes = append(w.out.Changes, c) }
