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
		c.Minute, c.Time, c.Seq = w.Short, w.Time, w.Seq
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

// bookPage is the whole register of a box: Down on the left, Up on the right.
type bookPage struct {
	Title, Name, Sitting string
	Box                  block.BoxID
	Working              bool // in the browser that asks
	Pages                []ruledPage
}

// ruledPage is one side of the spread.
type ruledPage struct {
	Title, Right, From, To string
	Heads                  []bookHead
	Rows                   []bookRow
	Blank                  []struct{} // empty ruled lines below
}

const ruledLines = 14 // that a page has at least

// spreadOf lays a book out. What goes across the page stands on the side of the line it concerns.
func spreadOf(r *block.Rules, box block.BoxID, date string, lines []register.Line) []ruledPage {
	down := ruledPage{Title: "Down", Right: date, From: "From the rear", To: "To the box ahead", Heads: bookHeads()}
	up := ruledPage{Title: "Up", Right: namesOf(r)[box], From: "From the rear", To: "To the box ahead", Heads: bookHeads()}
	for _, l := range lines {
		side := &down
		if strings.HasSuffix(l.Page, "Up") || strings.HasPrefix(l.Concerns, "Up") {
			side = &up
		}
		row := rowOf(l)
		if row.Page == "Down" || row.Page == "Up" {
			row.Page = ""
		}
		side.Rows = append(side.Rows, row)
	}
	most := max(ruledLines, len(down.Rows)+2, len(up.Rows)+2)
	down.Blank = make([]struct{}, most-len(down.Rows))
	up.Blank = make([]struct{}, most-len(up.Rows))
	return []ruledPage{down, up}
}
