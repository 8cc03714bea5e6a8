package review

import (
	"cmp"
	"iter"
	"slices"
	"time"

	"taillamp/block"
)

// Finding is one irregularity, laid to the box that acted.
type Finding struct {
	Rule     block.RuleID    `json:"rule"`
	Box      block.BoxID     `json:"box"`
	At       time.Time       `json:"at"`
	Severity block.Severity  `json:"severity"`
	Train    block.TrainID   `json:"train,omitempty"`
	Section  block.SectionID `json:"section,omitempty"`
	Says     string          `json:"says"`
	Instead  string          `json:"instead"`
	Cite     string          `json:"cite"`
	Grade    string          `json:"grade"`
	Evidence []uint64        `json:"evidence"` // record entries
}

// Of reads a sitting once, in order, and yields its findings in order of the time they are dated at. An error of the
// record is yielded last, after what could be found before it.
func Of(r *block.Rules, entries iter.Seq2[block.Entry, error]) iter.Seq2[Finding, error] {
	return func(yield func(Finding, error) bool) {
		v := newReviewer(r)
		var bad error
		for e, err := range entries {
			if err != nil {
				bad = err
				break
			}
			v.read(v.paused.out(e))
		}
		for _, f := range v.findings() {
			f.At = v.paused.back(f.At)
			if !yield(f, nil) {
				return
			}
		}
		if bad != nil {
			yield(Finding{}, bad)
		}
	}
}

// reviewer is the fold: the state as it goes along, what is being watched, and what has been found.
type reviewer struct {
	r        *block.Rules
	state    block.State
	began    bool
	now      time.Time // of the entry being read
	seq      uint64    // its number
	lines    map[block.SectionID]*line
	order    []*line // the same, in layout order
	pairs    map[block.CircuitID]*pair
	boxes    map[block.BoxID]*box
	wait     waiting
	found    []Finding
	kinds    kinds
	rung     map[rung]uint64 // the entry of each signal, by who rang it when
	needless []needless
	clocks   []clockChange
	paused   pauses
	putIn    []orderedFault
}

// kinds are the kinds of act that the sitting turned out to have, or that its settings promise.
type kinds struct{ levers, cautions, collars, fouls bool }

// rung names a signal: its sender and its first beat.
type rung struct {
	by    block.BoxID
	first int64
}

func newReviewer(r *block.Rules) *reviewer {
	s := r.Layout().Settings
	v := &reviewer{
		r:     r,
		lines: make(map[block.SectionID]*line),
		pairs: make(map[block.CircuitID]*pair),
		boxes: make(map[block.BoxID]*box),
		rung:  make(map[rung]uint64),
		kinds: kinds{levers: s.Levers, cautions: s.Cautions, collars: s.Collars},
	}
	for _, c := range r.Circuits() {
		p := &pair{Circuit: c}
		v.pairs[c.ID] = p
		for _, sec := range c.Sections {
			l := &line{Section: sec, pair: p, atOnce: block.AtOnce(sec.Method)}
			if block.WithTokens(sec.Method) {
				l.tokens = &tokens{}
			}
			if sec.Method == "permissive" {
				l.goods = &goods{}
			}
			v.lines[sec.ID] = l
			v.order = append(v.order, l)
			p.lines = append(p.lines, l)
		}
	}
	for _, b := range r.Layout().Boxes {
		v.boxes[b.ID] = &box{id: b.ID}
	}
	return v
}

// read takes one entry: first everything whose time has come, then the entry itself.
func (v *reviewer) read(e block.Entry) {
	if e.Mark != "" {
		return
	}
	if !v.began {
		v.state, v.began, v.now = v.r.Opening(e.Event.At), true, e.Event.At
		for _, l := range v.order {
			v.freeNow(l)
		}
	}
	v.ripen(e.Event.At)
	v.now, v.seq = e.Event.At, e.Seq
	next, out, err := v.r.Step(v.state, e.Event)
	if err == nil {
		v.state = next
		v.note(e.Event, out.Changes)
	}
	for _, i := range e.Outcome.Irregular { // recorded outcomes are believed
		v.recorded(i)
	}
}

// note follows what an event changed.
func (v *reviewer) note(e block.Event, changes []block.Change) {
	for _, c := range changes {
		switch {
		case c.Code != nil:
			v.heard(c.Code)
		case c.Signal != nil:
			v.signal(c.Signal)
			v.eases(c.Signal)
		case c.Indicator != nil:
			v.needle(e.By, c.Indicator)
		case c.Lever != nil:
			v.lever(e.By, c.Lever)
		case c.Collar != nil:
			v.collar(c.Collar)
		case c.Train != nil:
			v.train(e, c.Train)
		case c.Token != nil:
			if l := v.lines[c.Token.Section]; l != nil && l.tokens != nil {
				l.tokens.moved(v, l, e, c.Token)
			}
		case c.Engineers != nil:
			v.engineers(c.Engineers)
		case c.Pilot != nil:
			v.pilot(c.Pilot)
		case c.Duty != nil:
			v.duty(e, c.Duty)
		case c.Switched != nil:
			v.switched(c.Switched)
		case c.Fault != nil:
			v.fault(c.Fault)
		}
	}
	switch e.Do {
	case block.Foul:
		v.foul(e)
	case block.Driver:
		v.driver(e)
	case block.Told:
		v.told(e)
	case block.Remark, block.Call:
		if e.ByHand() {
			return
		}
		if _, _, rule, by, ok := block.PutIn(e); ok && rule != "" {
			v.putIn = append(v.putIn, orderedFault{rule, by, v.now})
		}
		v.wrote(e)
	case block.Release:
		v.released(e)
	case block.Clock:
		v.clock(e)
	}
}

// add lays a finding to a box, dated at, resting on those entries.
func (v *reviewer) add(rule block.RuleID, box block.BoxID, at time.Time, l *line, evidence ...uint64) {
	v.addAs(rule, "", box, at, l, "", evidence...)
}

// addAs is add with a severity other than the rule's own, and the train it is about.
func (v *reviewer) addAs(rule block.RuleID, as block.Severity, box block.BoxID, at time.Time, l *line, train block.TrainID, evidence ...uint64) {
	f := Finding{Rule: rule, Box: box, At: at, Severity: as, Train: train, Evidence: evidence}
	if l != nil {
		f.Section = l.ID
	}
	v.found = append(v.found, f)
}

// recorded takes over an irregularity that the act itself proved.
func (v *reviewer) recorded(i block.Irregularity) {
	evidence := []uint64{v.seq}
	if seq, ok := v.rung[rung{i.Box, i.At.UnixNano()}]; ok && seq != v.seq {
		evidence = []uint64{seq, v.seq} // dated at an earlier act
	}
	if i.Rule == "R08" && v.runsBack(i) {
		i.Rule, i.Severity = "R62", block.Dangerous // the graver name of the same act
	}
	if l := v.lines[i.Section]; l != nil && l.tokens != nil {
		l.tokens.unsaid(v.seq)
	}
	v.found = append(v.found, Finding{Rule: i.Rule, Box: i.Box, At: i.At, Severity: i.Severity, Train: i.Train,
		Section: i.Section, Evidence: evidence})
	if i.Rule == "R04" {
		v.senseless(i)
	}
}

// event is what a finding is about: the same seen twice is one finding.
type event struct {
	rule    block.RuleID
	box     block.BoxID
	at      int64
	section block.SectionID
}

// findings ends the reading: what is not yet overdue is not judged. One event seen twice is one finding, and every
// finding gets the words of its rule.
func (v *reviewer) findings() []Finding {
	v.ripen(v.now)
	v.atEnd()
	v.blamesNobody()
	v.leaveAlone()
	out := v.found[:0:0]
	seen := make(map[event]bool, len(v.found))
	for _, f := range v.found {
		e := event{f.Rule, f.Box, f.At.UnixNano(), f.Section}
		if seen[e] {
			continue
		}
		seen[e] = true
		rule, _ := block.FindRule(f.Rule)
		if f.Severity == "" {
			f.Severity = rule.Severity
		}
		f.Says, f.Instead, f.Cite, f.Grade = rule.Says, rule.Instead, rule.Cite, rule.Grade
		out = append(out, f)
	}
	slices.SortStableFunc(out, func(a, b Finding) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Rule, b.Rule)) })
	return out
}
