package register

import (
	"time"

	"taillamp/block"
)

// Column is a place in a line of the book where a time stands (absolute-block reference, 6.1).
type Column int

// The columns in the order of the page: the box in rear, the train itself, the box in advance, the token; then the
// two times of a signal that is written across the page.
const (
	OfferedFromRear Column = iota
	Accepted
	EnteringReceived
	Arrived
	Passed
	Departed
	OutSent
	OfferedAhead
	AcceptedAhead
	EnteringSent
	OutReceived
	TokenOut
	TokenIn
	Given
	Acknowledged
	columns
)

// Name is the column's name in CSV and JSON.
func (c Column) Name() string {
	return [columns]string{"offered_from_rear", "accepted", "entering_section_received", "arrived", "passed", "departed",
		"out_of_section_sent", "offered_ahead", "accepted_ahead", "entering_section_sent", "out_of_section_received",
		"token_out", "token_in", "given", "acknowledged"}[c]
}

// Cell is a time as the box booked it, by its own clock; exact, whatever is printed.
type Cell struct {
	At   time.Time
	Seq  uint64 // the entry of the record behind it
	Late bool   // booked when the train was long out of section
}

// Struck is a cell that has been ruled through. It stays legible.
type Struck struct {
	Column Column
	Cell
}

// Kind says what a line of the book is.
type Kind string

// The kinds of line.
const (
	TrainRow  Kind = "train"
	SignalRow Kind = "signal" // a signal that has no column, across the page
	NoteRow   Kind = "note"   // signing on and off, remarks
)

// Row is one line of the book.
type Row struct {
	Kind        Kind
	Page        string // Down, Up, Branch Down, …, across
	Train       block.TrainID
	Class       string
	Code        block.Beats
	Key         block.CodeKey
	Rear        block.BoxID // the box it came from
	RearLine    string
	Ahead       block.BoxID // the box it goes to
	AheadLine   string
	RearWarning bool // accepted under regulation 5
	AheadWarn   bool
	Cells       [columns]Cell
	Struck      []Struck
	Sent        bool        // of a signal: sent; else received
	Other       block.BoxID // of a signal: the other box
	Line        string      // of a signal: the line it concerns
	Urgent      bool        // of a signal: an emergency
	Remarks     []string
	Void        bool // the whole line was ruled through

	id          uint64          // the entry that opened it
	rear, ahead block.SectionID // by which it comes and goes; empty where that was cancelled
	off         bool            // it was cancelled by 3-5 on one of them
	from, to    block.SectionID // of a line that is off: rear and ahead as they were
	tokenOf     block.SectionID // of a 5-2 or 2-5
	bySight     bool            // arrived is filled by the engine's passing, and may yet turn out to be passed
}

// Has tells whether a column of the line is filled.
func (r *Row) Has(c Column) bool { return !r.Cells[c].At.IsZero() }

// section is the one that a column speaks of: that the train goes by for the columns of the box ahead, else that it came
// by.
func (r *Row) section(c Column) block.SectionID {
	if c >= OfferedAhead && c <= OutReceived {
		return r.ahead
	}
	return r.rear
}

// First is the time of the first signal of the line, by which the lines of a book stand in order.
func (r *Row) First() time.Time {
	var first time.Time
	for c := range r.Cells {
		if at := r.Cells[c].At; !at.IsZero() && (first.IsZero() || at.Before(first)) {
			first = at
		}
	}
	return first
}

// Complete tells whether the bells have filled what they fill, so that the line needs no more from anyone.
func (r *Row) Complete() bool {
	if r.Kind != TrainRow {
		return true
	}
	if r.rear != "" && !r.Has(OutSent) {
		return false
	}
	return r.ahead == "" || r.Has(OutReceived)
}
