package register

import (
	"fmt"
	"iter"
	"slices"
	"time"

	"taillamp/block"
)

// DiffersError tells where a record does not follow from the rules any more: they have changed since, or the record
// was not made by them.
type DiffersError struct {
	Seq  uint64
	Want block.Outcome // as recorded
	Got  block.Outcome // as the rules have it now
	Err  error         // if the rules find now that the event cannot be
}

func (d *DiffersError) Error() string {
	if d.Err != nil {
		return fmt.Sprintf("entry %d was recorded, but by these rules it cannot be: %v", d.Seq, d.Err)
	}
	return fmt.Sprintf("entry %d has another outcome by these rules than the one recorded", d.Seq)
}

// Unwrap gives the error of the rules, if it was one.
func (d *DiffersError) Unwrap() error { return d.Err }

// Replay steps every event again from the opening of a sitting that began then. It stops at the first outcome that
// differs from the recorded one, with a DiffersError and the state before it; and at an error of the entries.
func Replay(r *block.Rules, began time.Time, entries iter.Seq2[block.Entry, error]) (block.State, error) {
	return ReplayFrom(r, r.Opening(began), entries)
}

// ReplayFrom is Replay of what follows a state.
func ReplayFrom(r *block.Rules, s block.State, entries iter.Seq2[block.Entry, error]) (block.State, error) {
	for e, err := range entries {
		if err != nil {
			return s, err
		}
		if e.Mark != "" {
			continue
		}
		next, got, err := r.Step(s, e.Event)
		if err != nil {
			return s, &DiffersError{Seq: e.Seq, Want: e.Outcome, Err: err}
		}
		if !sameOutcome(e.Outcome, got) {
			return s, &DiffersError{Seq: e.Seq, Want: e.Outcome, Got: got}
		}
		s = next
	}
	return s, nil
}

// InOrder yields entries as a record does.
func InOrder(entries []block.Entry) iter.Seq2[block.Entry, error] {
	return func(yield func(block.Entry, error) bool) {
		for _, e := range entries {
			if !yield(e, nil) {
				return
			}
		}
	}
}

// sameOutcome compares as the record does: times by the moment, lists by what is in them.
func sameOutcome(a, b block.Outcome) bool {
	return a.Ending == b.Ending && a.Why == b.Why &&
		slices.EqualFunc(a.Rings, b.Rings, func(x, y block.Ring) bool {
			return x.Circuit == y.Circuit && x.To == y.To && x.Pressed.Equal(y.Pressed)
		}) &&
		slices.EqualFunc(a.Irregular, b.Irregular, func(x, y block.Irregularity) bool {
			return x.Rule == y.Rule && x.Box == y.Box && x.At.Equal(y.At) && x.Train == y.Train &&
				x.Section == y.Section && x.Severity == y.Severity
		}) &&
		sameChanges(a.Changes, b.Changes)
}

// sameChanges compares every kind of change.
func sameChanges(a, b []block.Change) bool {
	return slices.EqualFunc(a, b, func(x, y block.Change) bool {
		return sameBy(x.Code, y.Code, sameHeard) && sameBy(x.Signal, y.Signal, sameSignal) &&
			same(x.Indicator, y.Indicator) && same(x.Lever, y.Lever) && same(x.Home, y.Home) && same(x.Collar, y.Collar) &&
			same(x.Token, y.Token) && same(x.Pilot, y.Pilot) && same(x.Engineers, y.Engineers) && same(x.Train, y.Train) && same(x.Duty, y.Duty) &&
			same(x.Switched, y.Switched) && same(x.Fault, y.Fault)
	})
}

func same[T comparable](a, b *T) bool {
	return sameBy(a, b, func(a, b *T) bool { return *a == *b })
}

func sameBy[T any](a, b *T, same func(a, b *T) bool) bool {
	if a == nil || b == nil {
		return a == b
	}
	return same(a, b)
}

func sameHeard(a, b *block.Heard) bool {
	return a.Circuit == b.Circuit && a.By == b.By && a.First.Equal(b.First) && a.Beats.Equal(b.Beats) &&
		slices.Equal(a.Keys, b.Keys) && a.Or.Equal(b.Or) && a.Joined == b.Joined
}

func sameSignal(a, b *block.Signal) bool {
	return a.Circuit == b.Circuit && a.Section == b.Section && a.By == b.By && a.First.Equal(b.First) &&
		a.Beats.Equal(b.Beats) && a.Key == b.Key && a.Sense == b.Sense && a.To.Equal(b.To) && a.Did == b.Did &&
		a.Train == b.Train
}
