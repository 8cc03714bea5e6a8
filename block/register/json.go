package register

import (
	"cmp"
	"strings"

	"taillamp/block"
)

// Line is a row of the book as pages and JSON have it: times are written out, as the signaller would write them.
type Line struct {
	ID          uint64          `json:"id"` // the entry of the record that opened it: stays the same as the line fills
	No          int             `json:"no,omitempty"`
	Kind        Kind            `json:"kind"`
	Page        string          `json:"page"`
	Train       block.TrainID   `json:"train,omitempty"`
	Class       string          `json:"class,omitempty"`
	Code        block.Beats     `json:"code,omitempty"`
	Key         block.CodeKey   `json:"key,omitempty"`
	Rear        block.BoxID     `json:"rear,omitempty"`
	RearLine    string          `json:"rearLine,omitempty"`
	From        block.SectionID `json:"from,omitempty"` // the section it came by
	Ahead       block.BoxID     `json:"ahead,omitempty"`
	AheadLine   string          `json:"aheadLine,omitempty"`
	To          block.SectionID `json:"to,omitempty"` // the section it goes by
	RearWarning bool            `json:"rearWarning,omitempty"`
	AheadWarn   bool            `json:"aheadWarning,omitempty"`
	Cells       []Written       `json:"cells"`
	Struck      []Written       `json:"struck,omitempty"`
	Sent        bool            `json:"sent,omitempty"`
	Other       block.BoxID     `json:"other,omitempty"`
	Concerns    string          `json:"concerns,omitempty"` // the line that a signal across the page concerns
	Urgent      bool            `json:"urgent,omitempty"`
	Remarks     []string        `json:"remarks,omitempty"`
	Void        bool            `json:"void,omitempty"`
	Complete    bool            `json:"complete,omitempty"`
	Open        []string        `json:"open,omitempty"` // cells that a touch may fill now: arrived, passed, departed
}

// Written is a filled cell.
type Written struct {
	Column string `json:"column"`
	Time   string `json:"time"`           // with its hour: 16.04½
	Short  string `json:"short"`          // without it: 4½
	Seq    uint64 `json:"seq"`            // the entry behind it, which a slip rules through
	Late   bool   `json:"late,omitempty"` // booked when the train was long out of section
}

// Line gives a row as pages have it.
func (b *Book) Line(r *Row) Line {
	l := Line{ID: r.id, Kind: r.Kind, Page: r.Page, Train: r.Train, Class: r.Class, Code: r.Code, Key: r.Key, Rear: r.Rear,
		RearLine: r.RearLine, From: cmp.Or(r.rear, r.from), Ahead: r.Ahead, AheadLine: r.AheadLine, To: cmp.Or(r.ahead, r.to),
		RearWarning: r.RearWarning, AheadWarn: r.AheadWarn, Cells: []Written{}, Sent: r.Sent, Other: r.Other,
		Concerns: r.Line, Urgent: r.Urgent, Remarks: r.Remarks, Void: r.Void, Complete: r.Complete(), Open: r.open()}
	for c := range r.Cells {
		if r.Has(Column(c)) {
			l.Cells = append(l.Cells, b.written(Column(c), r.Cells[c]))
		}
	}
	for _, s := range r.Struck {
		l.Struck = append(l.Struck, b.written(s.Column, s.Cell))
	}
	return l
}

// Lines gives the whole book, numbered as its CSV is.
func (b *Book) Lines() []Line {
	lines := []Line{}
	for i, r := range b.Rows() {
		l := b.Line(r)
		l.No = i + 1
		lines = append(lines, l)
	}
	return lines
}

func (b *Book) written(c Column, cell Cell) Written {
	h := b.Rounding()
	return Written{Column: c.Name(), Time: h.Full(cell.At), Short: h.Short(cell.At), Seq: cell.Seq, Late: cell.Late}
}

// open are the cells that only a touch fills, while the line is open.
func (r *Row) open() []string {
	if r.Kind != TrainRow || r.Void || r.Has(Departed) || r.Has(Passed) {
		return nil
	}
	var cells []string
	if r.rear != "" && !r.Has(Arrived) && r.Has(Accepted) {
		cells = append(cells, Arrived.Name(), Passed.Name())
	}
	if r.ahead != "" && r.Has(AcceptedAhead) || r.Has(Arrived) && r.ahead != "" {
		cells = append(cells, Departed.Name())
	}
	return cells
}

// Expected is a train of the sequence that this box has not yet been offered and has not yet offered.
type Expected struct {
	Train  block.TrainID `json:"train"`
	Class  string        `json:"class"`
	Code   block.Beats   `json:"code"`
	Way    string        `json:"way,omitempty"`
	From   block.BoxID   `json:"from"`           // where its run begins
	To     block.BoxID   `json:"to"`             // and ends
	Rear   block.BoxID   `json:"rear,omitempty"` // the neighbour that sends it here; empty: it starts here
	Next   block.BoxID   `json:"next,omitempty"` // the neighbour it goes on to; empty: it ends here
	Booked string        `json:"booked,omitempty"`
	Late   int           `json:"late,omitempty"`   // minutes by which the box's clock is past the booked time
	Change block.Place   `json:"change,omitempty"` // what the owner has done with it: added, moved, withdrawn
}

// Expected gives the next trains of the sequence for this box, at most so many. at is the district's time of day in
// seconds after midnight, or below zero where there is no clock.
func (b *Book) Expected(most, at int) []Expected {
	next := []Expected{}
	for i, c := range b.plan.calls {
		if len(next) == most {
			break
		}
		if b.plan.seen[c.Train] || c.Change == block.Withdrawn && b.plan.isPast(i) {
			continue
		}
		e := Expected{Train: c.Train, Class: c.Class, Code: c.Code, Way: c.Way, From: c.From, To: c.To, Rear: c.rear, Next: c.next,
			Change: c.Change}
		if c.known && c.at >= 0 && at >= 0 {
			e.Booked = clockWords(c.at)
			e.Late = max(0, (at-c.at)/60)
		}
		next = append(next, e)
	}
	return next
}

// clockWords writes a time of the sequence: 16.04, 16.04½.
func clockWords(sec int) string {
	words := strings.Builder{}
	words.WriteString(two(sec/3600%24) + "." + two(sec/60%60))
	if sec%60 >= 30 {
		words.WriteString("½")
	}
	return words.String()
}

func two(n int) string { return string([]byte{byte('0' + n/10), byte('0' + n%10)}) }
