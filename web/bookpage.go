package web

import (
	"slices"
	"strings"

	"taillamp/block"
	"taillamp/block/register"
)

// bookHead is one column of a register as a page shows it; edge draws the double rule before it.
type bookHead struct {
	Column, Words string
	Edge          bool
}

// bookHeads are the columns of a double line in the order of the page (absolute-block reference, 6.1).
func bookHeads() []bookHead {
	return []bookHead{
		{register.OfferedFromRear.Name(), "Offered", false}, {register.Accepted.Name(), "Accepted", false},
		{register.EnteringReceived.Name(), "Entering rec'd", false},
		{register.Arrived.Name(), "Arrived", true}, {register.Passed.Name(), "Passed", false}, {register.Departed.Name(), "Departed", false},
		{register.OutSent.Name(), "Out sent", true},
		{register.OfferedAhead.Name(), "Off'd ahead", true}, {register.AcceptedAhead.Name(), "Acc. ahead", false},
		{register.EnteringSent.Name(), "Entering sent", false}, {register.OutReceived.Name(), "Out rec'd", false},
	}
}

// bookTable is a ruled page, or the foot of one.
type bookTable struct {
	Heads []bookHead
	Rows  []bookRow
}

// bookRow is one line of the book, written out.
type bookRow struct {
	ID     uint64
	Class  string // of the row in the stylesheet
	Page   string
	Name   string
	Across string
	At     uint64 // of a line across the page: the entry behind it
	Time   string // and its time
	Cells  []bookCell
}

// bookCell is one ruled cell.
type bookCell struct {
	Column, Label string
	Hour, Minute  string // "16." and "04½"; the hour only where it changes
	Time          string // of a filled cell, with its hour
	Seq           uint64 // of a filled cell: the entry behind it, which can be ruled through
	Struck        []string
	Edge, Touch   bool
	Late          bool // booked when the train was long out of section
}

// The foot of the book shows the last lines, and before them those still open.
const (
	lastLines = 3
	footLines = 6
)

func footOf(lines []register.Line) bookTable {
	t := bookTable{Heads: bookHeads()}
	from := max(0, len(lines)-lastLines)
	var foot []register.Line
	for _, l := range lines[:from] {
		if l.Kind == register.TrainRow && !l.Complete && !l.Void {
			foot = append(foot, l)
		}
	}
	foot = append(foot, lines[from:]...)
	for _, l := range foot[max(0, len(foot)-footLines):] {
		t.Rows = append(t.Rows, rowOf(l))
	}
	for len(t.Rows) < 2 {
		t.Rows = append(t.Rows, bookRow{Class: "blank", Cells: emptyCells()})
	}
	return t
}

// rowOf writes one line as a signaller does: the hour once, and again when it changes.
func rowOf(l register.Line) bookRow {
	row := bookRow{ID: l.ID, Page: l.Page, Name: trainName(l)}
	var classes []string
	if l.Kind != register.TrainRow {
		row.Across = acrossWords(l)
		if len(l.Cells) > 0 {
			row.At = l.Cells[0].Seq
		}
		if l.Urgent {
			row.Class = "urgent"
		}
		if l.Void {
			row.Class = strings.TrimSpace(row.Class + " void")
		}
		row.Time = l.Cells[0].Time
		return row
	}
	if len(l.Open) > 0 {
		classes = append(classes, "open")
	}
	if l.Void {
		classes = append(classes, "void")
	}
	row.Class = strings.Join(classes, " ")
	row.Cells = emptyCells()
	hour := ""
	for i := range row.Cells {
		c := &row.Cells[i]
		c.Touch = slices.Contains(l.Open, c.Column)
		for _, s := range l.Struck {
			if s.Column == c.Column {
				c.Struck = append(c.Struck, s.Short)
			}
		}
		w, ok := writtenIn(l, c.Column)
		if !ok {
			continue
		}
		h, minute, _ := strings.Cut(w.Time, ".")
		c.Minute, c.Time, c.Seq, c.Late = w.Short, w.Time, w.Seq, w.Late
		if h != hour {
			c.Hour, c.Minute = h+".", minute
		}
		hour = h
	}
	return row
}

func emptyCells() []bookCell {
	var cells []bookCell
	for _, h := range bookHeads() {
		cells = append(cells, bookCell{Column: h.Column, Label: h.Words, Edge: h.Edge})
	}
	return cells
}

func writtenIn(l register.Line, column string) (register.Written, bool) {
	at := slices.IndexFunc(l.Cells, func(w register.Written) bool { return w.Column == column })
	if at < 0 {
		return register.Written{}, false
	}
	return l.Cells[at], true
}

// trainName says what train a line is: its class, its code and, if it was named, its number.
func trainName(l register.Line) string {
	var parts []string
	if l.Class != "" {
		parts = append(parts, l.Class)
	}
	if len(l.Code) > 0 {
		parts = append(parts, l.Code.String())
	}
	if l.Train != "" {
		parts = append(parts, "no. "+string(l.Train))
	}
	return strings.Join(parts, " ")
}

// acrossWords is a line that goes across the page.
func acrossWords(l register.Line) string {
	var parts []string
	if w, ok := writtenIn(l, register.Given.Name()); ok {
		parts = append(parts, w.Time)
	}
	words := strings.TrimSuffix(strings.Join(l.Remarks, "; "), ".") // as somebody may have written it
	if l.Kind != register.SignalRow {
		return strings.Join(append(parts, words+"."), " ")
	}
	way := "received from "
	if l.Sent {
		way = "sent to "
	}
	words += " (" + l.Code.String() + ") " + way + string(l.Other)
	if l.Concerns != "" {
		words += ", " + l.Concerns
	}
	parts = append(parts, words+".")
	if w, ok := writtenIn(l, register.Acknowledged.Name()); ok {
		parts = append(parts, "Acknowledged "+w.Time+".")
	}
	return strings.Join(parts, " ")
}

// bookPage is the register of a box, opened at one of its spreads: Down on the left, Up on the right.
type bookPage struct {
	Title, Name, Sitting string
	Box                  block.BoxID
	Working              bool   // in the browser that asks
	Instructs            bool   // in that of the instructor
	Seq                  uint64 // of the record, as far as it is in this page
	No, Of               int    // which spread, and of how many
	Pages                []ruledPage
}

// Back and On are the spreads before and after; 0: there is none.
func (p bookPage) Back() int { return p.No - 1 }

func (p bookPage) On() int {
	if p.No == p.Of {
		return 0
	}
	return p.No + 1
}

// ruledPage is one side of a spread.
type ruledPage struct {
	Title, Right, From, To string
	Heads                  []bookHead
	Rows                   []bookRow
	Blank                  []struct{} // empty ruled lines below
}

// ruledLines is how many lines a page has (story E1).
const ruledLines = 20

// sidesOf sorts the lines of a book into its left and its right pages. What goes across the page stands on the side of the
// line it concerns.
func sidesOf(lines []register.Line) (down, up []register.Line) {
	for _, l := range lines {
		if strings.HasSuffix(l.Page, "Up") || strings.HasPrefix(l.Concerns, "Up") {
			up = append(up, l)
		} else {
			down = append(down, l)
		}
	}
	return down, up
}

// spreadsOf is how many spreads a book fills: one at least.
func spreadsOf(down, up []register.Line) int {
	return max(1, (max(len(down), len(up))+ruledLines-1)/ruledLines)
}

// spreadWith is the spread on which an entry of the record stands; 0: it stands on none.
func spreadWith(down, up []register.Line, entry uint64) int {
	for _, side := range [][]register.Line{down, up} {
		for n, l := range side {
			if slices.ContainsFunc(slices.Concat(l.Cells, l.Struck), func(w register.Written) bool { return w.Seq == entry }) {
				return n/ruledLines + 1
			}
		}
	}
	return 0
}

// spreadOf lays one spread out, counted from 1.
func spreadOf(r *block.Rules, box block.BoxID, date string, down, up []register.Line, no int) []ruledPage {
	pages := []ruledPage{
		{Title: "Down", Right: date, From: "From the rear", To: "To the box ahead", Heads: bookHeads()},
		{Title: "Up", Right: namesOf(r)[box], From: "From the rear", To: "To the box ahead", Heads: bookHeads()},
	}
	for n, side := range [][]register.Line{down, up} {
		from := min((no-1)*ruledLines, len(side))
		for _, l := range side[from:min(from+ruledLines, len(side))] {
			row := rowOf(l)
			if row.Page == "Down" || row.Page == "Up" {
				row.Page = ""
			}
			pages[n].Rows = append(pages[n].Rows, row)
		}
		pages[n].Blank = make([]struct{}, ruledLines-len(pages[n].Rows))
	}
	return pages
}
