package register

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"taillamp/block"
)

// Band is a time during which a line was not simply free.
type Band struct {
	Section block.SectionID
	What    Standing
	From    time.Time
	Till    time.Time
	Train   block.TrainID // whose; empty: nobody's, or it is not known
}

// Standing says how a line stood during a band.
type Standing string

// How a line may stand.
const (
	IsAccepted  Standing = "accepted"     // from line clear to train entering section
	InSection   Standing = "in section"   // from train entering section to train out of section
	BlockedBack Standing = "blocked back" // from the blocking back or obstruction signal to its removal
	Shunting    Standing = "token out"    // a token released by 5-2, until it is back
	Broken      Standing = "failed"       // an instrument out of order
)

// bands follows what no line of a book shows in full.
type bands struct {
	sections []block.Section
	open     map[block.SectionID]*Band
	failed   map[block.SectionID]*Band
	asked    map[block.SectionID]bool // a 5-2 was answered, its token not drawn yet
	done     []Band
}

func bandsOf(r *block.Rules) *bands {
	b := &bands{open: make(map[block.SectionID]*Band), failed: make(map[block.SectionID]*Band), asked: make(map[block.SectionID]bool)}
	for _, c := range r.Circuits() {
		b.sections = append(b.sections, c.Sections...)
	}
	return b
}

func (b *bands) change(e *block.Event, c *block.Change, clock Clock) {
	at := clock.At(e.At)
	switch {
	case c.Signal != nil && c.Signal.Sense == block.Answer && c.Signal.Section != "":
		b.signal(c.Signal, clock.At(c.Signal.To))
	case c.Signal != nil && c.Signal.Did == block.Removed: // a signal of two meanings may stand without its answer
		b.end(b.open, c.Signal.Section, clock.At(c.Signal.First))
	case c.Token != nil && e.Where == block.Drawn && b.asked[c.Token.Section]:
		delete(b.asked, c.Token.Section)
		b.begin(b.open, c.Token.Section, Shunting, at)
	case c.Token != nil && e.Where == block.Restored:
		if x := b.open[c.Token.Section]; x != nil && x.What == Shunting {
			b.end(b.open, c.Token.Section, at)
		}
	case c.Fault != nil:
		for _, s := range b.sections {
			if s.ID != c.Fault.Section && (c.Fault.Section != "" || s.Circuit != c.Fault.Circuit) {
				continue
			}
			if c.Fault.Mended {
				b.end(b.failed, s.ID, at)
				continue
			}
			b.begin(b.failed, s.ID, Broken, at)
		}
	}
}

func (b *bands) signal(s *block.Signal, at time.Time) {
	switch {
	case s.Did == block.Removed:
		b.end(b.open, s.Section, at)
	case s.Key == "block-back-inside" || s.Key == "block-back-outside" || s.Key == "obstruction-danger":
		b.begin(b.open, s.Section, BlockedBack, at)
	case s.Key == releaseToken:
		b.asked[s.Section] = true
	}
}

func (b *bands) begin(on map[block.SectionID]*Band, id block.SectionID, what Standing, at time.Time) {
	if on[id] == nil {
		on[id] = &Band{Section: id, What: what, From: at}
	}
}

func (b *bands) end(on map[block.SectionID]*Band, id block.SectionID, at time.Time) {
	if x := on[id]; x != nil {
		x.Till = at
		b.done = append(b.done, *x)
		delete(on, id)
	}
}

// close ends what still stands and adds the bands of the trains.
func (b *bands) close(runs []Run, end time.Time) []Band {
	for _, on := range []map[block.SectionID]*Band{b.open, b.failed} {
		for _, id := range slices.Sorted(maps.Keys(on)) {
			b.end(on, id, end)
		}
	}
	all := b.done
	for _, run := range runs {
		for _, s := range run.Stops {
			add := func(what Standing, from, till Cell) {
				if from.At.IsZero() || s.To == "" {
					return
				}
				to := till.At
				if to.IsZero() {
					to = end
				}
				all = append(all, Band{Section: s.To, What: what, From: from.At, Till: to, Train: run.Train})
			}
			if !s.Ahead.Entered.At.IsZero() {
				add(IsAccepted, s.Ahead.Accepted, s.Ahead.Entered)
			} else if s.Ahead.Out.At.IsZero() {
				add(IsAccepted, s.Ahead.Accepted, Cell{})
			}
			add(InSection, s.Ahead.Entered, s.Ahead.Out)
		}
	}
	slices.SortStableFunc(all, func(x, y Band) int {
		return cmp.Or(cmp.Compare(x.Section, y.Section), x.From.Compare(y.From))
	})
	return all
}
