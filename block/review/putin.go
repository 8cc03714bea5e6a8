package review

import (
	"iter"
	"slices"
	"time"

	"taillamp/block"
)

// PutIn is a fault that was put in for a signaller, and whether he noticed it.
type PutIn struct {
	Box     block.BoxID // whose eye it was for
	What    string      // "R38 by UL", "no tail lamp on train 4", "needle of UL-OS Down Main"
	At      time.Time
	Seq     uint64
	Noticed bool
}

// The bounds of what is put in: a finding so near it is of its making, and what is said within the longer time is said of it.
const (
	ofItsMaking = 3 * time.Minute
	toNotice    = 10 * time.Minute
)

// blamesNobody drops the findings that a fault put in has made of itself.
func (v *reviewer) blamesNobody() {
	v.found = slices.DeleteFunc(v.found, func(f Finding) bool {
		return slices.ContainsFunc(v.putIn, func(p orderedFault) bool {
			return f.Rule == p.rule && f.Box == p.by && f.At.Sub(p.at).Abs() <= ofItsMaking
		})
	})
}

// orderedFault is a rule broken by order.
type orderedFault struct {
	rule block.RuleID
	by   block.BoxID
	at   time.Time
}

// PutInOf lists the faults that were put in. One is noticed if the signaller whose eye it was for says so within ten
// minutes: he writes across his page, speaks by telephone, or rings what such a thing is told by: 4-5, 9, 5-3, 6 or 7.
func PutInOf(r *block.Rules, entries iter.Seq2[block.Entry, error]) ([]PutIn, error) {
	var all []PutIn
	tells := []block.CodeKey{"no-tail-lamp-rear", "no-tail-lamp-adv", "wrong-description", "obstruction-danger", "stop-and-examine"}
	notices := func(box block.BoxID, at time.Time) {
		for n := range all {
			if p := &all[n]; p.Box == box && !at.Before(p.At) && at.Sub(p.At) <= toNotice {
				p.Noticed = true
			}
		}
	}
	for e, err := range entries {
		if err != nil {
			return all, err
		}
		if e.Mark != "" {
			continue
		}
		if box, what, _, _, ok := block.PutIn(e.Event); ok {
			all = append(all, PutIn{Box: box, What: what, At: e.Event.At, Seq: e.Seq})
			continue
		}
		if e.Event.Do == block.Remark || e.Event.Do == block.Call {
			notices(e.Event.By, e.Event.At)
		}
		for _, c := range e.Outcome.Changes {
			if c.Signal != nil && c.Signal.Sense == block.Own && slices.Contains(tells, c.Signal.Key) {
				notices(c.Signal.By, e.Event.At)
			}
		}
	}
	return all, nil
}
