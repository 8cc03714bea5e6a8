package sim

import (
	"time"

	"taillamp/block"
)

// Bend is a mistake ordered of a signaller: when the moment for it comes he does it instead of what is right, and then
// works right again.
type Bend struct {
	Rule  block.RuleID
	Box   block.BoxID                         // whose mistake; empty: of whoever comes to the moment first
	From  time.Time                           // not before
	Times int                                 // how often
	Made  func(box block.BoxID, at time.Time) // told when it has been made past recall, and by whom; nil: nobody asks
	err   *mistake
}

// Mistake orders a mistake against a rule, once, of whichever box comes to the moment first. Of rules that no signaller
// can be ordered to break there is none: NotOrdered says why.
func Mistake(rule block.RuleID) (Bend, bool) {
	for _, list := range mistakes() {
		for n := range list {
			if list[n].rule == rule {
				return Bend{Rule: rule, Times: 1, err: &list[n]}, true
			}
		}
	}
	return Bend{}, false
}

// NotOrdered says why no simulated signaller can be ordered to break a rule; empty if one can.
func NotOrdered(rule block.RuleID) string {
	r, known := block.FindRule(rule)
	_, can := Mistake(rule)
	switch {
	case can:
		return ""
	case !known:
		return "there is no such rule"
	case r.Checked == "never":
		return r.NotWhen
	case r.Family == "fog" || r.Family == "failures":
		return "neither fog nor a failure of every instrument comes by itself"
	case r.ID == "PM-07":
		return "no simulated train turns back of itself"
	}
	if r.Family == "trackcircuit" {
		return "a line worked by track circuits leaves its boxes nothing but descriptions"
	}
	return "a staff is in a hand and no instrument: its mistakes are the driver's as much as the signaller's"
}

// mistake is one way of going wrong: when its moment has come, and what is then done. What it needs of the layout, an
// authority or a setting, its moment asks for.
type mistake struct {
	rule  block.RuleID
	comes func(m *moment) bool
	plays func(s *script)
}

// mistakes are all that can be ordered, by family.
func mistakes() [][]mistake {
	return [][]mistake{
		bellMistakes(), offeringMistakes(), acceptingMistakes(), needleMistakes(), enteringMistakes(), outMistakes(),
		cancellingMistakes(), blockingMistakes(), emergencyMistakes(), dutyMistakes(), closingMistakes(),
		nearMistakes(), tokenMistakes(), permissiveMistakes(), pilotmanMistakes(),
	}
}

// errs begins the mistakes whose moment has come for a signaller, who means to do i, or nothing if it is nil. It tells
// whether one takes the place of what he means to do.
func (w *world) errs(p *person, v *block.View, i *Intent) bool {
	for n := range w.bends {
		b := &w.bends[n]
		if b.Times == 0 || b.err == nil || b.Box != "" && b.Box != p.Box || w.now.Before(b.From) {
			continue
		}
		m := moment{w: w, p: p, v: v, means: i}
		if b.err.comes(&m) {
			b.Times--
			w.play(b, m)
			return true
		}
	}
	return false
}
