package register

import (
	"iter"
	"slices"
	"time"

	"taillamp/block"
)

// Book is the train register of one box as it is being written. It is a fold: give it every entry of the record in
// order with Write.
type Book struct {
	Box   block.BoxID
	Name  string
	rules *block.Rules
	clock Clock
	fast  time.Duration // the box's own clock, as it stands
	rows  []*Row
	plan  plan
	seq   uint64
	// Tokens put back that no line is open for yet.
	tokenIn  map[block.SectionID]Cell
	last     time.Time
	circuits []block.Circuit // of this box
	truly    bool            // kept by the district's own time, whatever the box's clock shows
}

// A train that starts from a stand at the box takes so long until its head passes the section signal. Common
// practice, no source: the demo's books are made by it.
const startToSignal = 18 * time.Second

// A train whose engine passes the box and which goes on within this time did not stop.
const passing = 60 * time.Second

// NewBook opens the register of a box. began is when the sitting did.
func NewBook(r *block.Rules, box block.BoxID, began time.Time) *Book {
	b := &Book{Box: box, rules: r, clock: ClockOf(r.Layout(), began), plan: planOf(r, box),
		tokenIn: make(map[block.SectionID]Cell)}
	if x, ok := r.Box(box); ok {
		b.Name, b.fast = x.Name, time.Duration(x.ClockFast)
	}
	for _, c := range r.Circuits() { // once: every signal asks for its circuit
		if c.Boxes[0] == box || c.Boxes[1] == box {
			b.circuits = append(b.circuits, c)
		}
	}
	return b
}

// Of folds entries into the register of one box. Recorded outcomes are believed. With an error the book holds what
// could be read before it.
func Of(r *block.Rules, box block.BoxID, began time.Time, entries iter.Seq2[block.Entry, error]) (*Book, error) {
	b := NewBook(r, box, began)
	for e, err := range entries {
		if err != nil {
			return b, err
		}
		b.Write(e)
	}
	return b, nil
}

// Rows are the lines of the book, in order of the first signal of each. The caller must not change them.
func (b *Book) Rows() []*Row {
	rows := slices.Clone(b.rows)
	slices.SortStableFunc(rows, func(x, y *Row) int { return x.First().Compare(y.First()) })
	return rows
}

// Write takes one entry of the record and gives the lines of the book that it changed.
func (b *Book) Write(e block.Entry) []*Row {
	if e.Mark != "" {
		return nil
	}
	b.clock = b.clock.After(e)
	b.seq = e.Seq
	b.last = e.Event.At
	b.plan.follow(e)
	var changed []*Row
	add := func(r *Row) {
		if r != nil && !slices.Contains(changed, r) {
			changed = append(changed, r)
		}
	}
	switch e.Event.Do {
	case block.Clock:
		if d, err := time.ParseDuration(e.Event.Words); err == nil && e.Event.By == b.Box && !b.truly {
			b.fast = d
		}
	case block.Remark:
		if e.Event.By == b.Box && !e.Event.ByHand() {
			add(b.remark(e.Event))
		}
	case block.Slip:
		if e.Event.By == b.Box {
			for _, r := range b.strike(e.Event.Line) {
				add(r)
			}
		}
	}
	for i := range e.Outcome.Changes {
		add(b.change(&e.Event, &e.Outcome.Changes[i]))
		add(b.cancelled(e.Outcome.Changes[i].Signal))
	}
	return changed
}

func (b *Book) change(e *block.Event, c *block.Change) *Row {
	switch {
	case c.Signal != nil:
		return b.signal(c.Signal)
	case c.Train != nil:
		return b.sighting(e, c.Train)
	case c.Token != nil:
		return b.token(e, c.Token)
	case c.Pilot != nil && c.Pilot.Box == b.Box:
		return b.pilot(e, c.Pilot)
	case c.Engineers != nil:
		return b.engineers(e, c.Engineers)
	case c.Switched != nil && c.Switched.Box == b.Box:
		return b.note(e, switchWords(c.Switched.Open))
	case c.Duty != nil && c.Duty.Box == b.Box && e.Do == block.Duty:
		return b.note(e, dutyWords(c.Duty.On, e.Words))
	}
	return nil
}

func switchWords(open bool) string {
	if open {
		return "closing switch turned in; signalman on duty"
	}
	return "closing switch turned out, main line signals off; signalman off duty"
}

func dutyWords(on bool, name string) string {
	words := "signalman off duty"
	if on {
		words = "signalman on duty"
	}
	if name != "" {
		words += ": " + name
	}
	return words
}

// cell is a moment as this box books it.
func (b *Book) cell(at time.Time) Cell { return Cell{At: b.clock.At(at).Add(b.fast), Seq: b.seq} }

// Shows is what the clock of the box shows at a moment, as the book is kept.
func (b *Book) Shows(at time.Time) time.Time { return b.clock.At(at).Add(b.fast) }

func (b *Book) fill(r *Row, c Column, at time.Time) *Row {
	if r == nil || r.Has(c) {
		return r
	}
	r.Cells[c] = b.cell(at)
	return r
}

func (b *Book) open(r *Row) *Row {
	r.id = b.seq
	b.rows = append(b.rows, r)
	return r
}

// note is a line across the page that is no signal.
func (b *Book) note(e *block.Event, words string) *Row {
	r := b.open(&Row{Kind: NoteRow, Page: acrossPage, Remarks: []string{words}})
	return b.fill(r, Given, e.At)
}

const acrossPage = "across"

// remark puts words to the line the signaller named by its train, else across the page.
func (b *Book) remark(e block.Event) *Row {
	if e.Train != "" {
		if r := b.last1(func(r *Row) bool { return r.Kind == TrainRow && r.Train == e.Train }); r != nil {
			r.Remarks = append(r.Remarks, e.Words)
			return r
		}
	}
	return b.note(&e, e.Words)
}

// strike rules through what an entry of the record put into the book.
func (b *Book) strike(seq uint64) []*Row {
	var changed []*Row
	for _, r := range b.rows {
		for c := range r.Cells {
			switch {
			case r.Cells[c].Seq != seq || !r.Has(Column(c)):
			case r.Kind != TrainRow: // a line across the page is one entry
				if !r.Void {
					r.Void = true
					changed = append(changed, r)
				}
			default:
				r.Struck = append(r.Struck, Struck{Column: Column(c), Cell: r.Cells[c]})
				r.Cells[c] = Cell{}
				changed = append(changed, r)
			}
		}
	}
	return changed
}

// first finds the oldest line of the book that answers; last1 the newest.
func (b *Book) first(is func(*Row) bool) *Row {
	for _, r := range b.rows {
		if is(r) {
			return r
		}
	}
	return nil
}

func (b *Book) last1(is func(*Row) bool) *Row {
	for i := len(b.rows) - 1; i >= 0; i-- {
		if is(b.rows[i]) {
			return b.rows[i]
		}
	}
	return nil
}
