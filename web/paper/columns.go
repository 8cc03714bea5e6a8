package paper

import (
	"strings"

	"taillamp/block/register"
)

// column is one column of a page.
type column struct {
	group string // what stands above it and its neighbours
	head  string
	name  string // of its time, as in register.Written; empty: words
	wide  float64
	words func(register.Line) string
}

// timeWide is the width of a column of times: its head, in nine points, clear of the ruling.
const timeWide = 14.5

// columns are those of a train's line, in the order of the printed page; the last, for remarks, takes what is left.
func columns() []column {
	all := []column{
		{"Train", "no.", "", 9, func(l register.Line) string { return string(l.Train) }},
		{"Train", "class", "", 9, func(l register.Line) string { return l.Class }},
		{"Train", "code", "", 14, codeOf},
		{"From the rear", "box", "", 9, func(l register.Line) string { return string(l.Rear) }},
		{"From the rear", "offered", register.OfferedFromRear.Name(), timeWide, nil},
		{"From the rear", "accepted", register.Accepted.Name(), timeWide, nil},
		{"From the rear", "entering", register.EnteringReceived.Name(), timeWide, nil},
		{"From the rear", "out", register.OutSent.Name(), timeWide, nil},
		{"Here", "arrived", register.Arrived.Name(), timeWide, nil},
		{"Here", "passed", register.Passed.Name(), timeWide, nil},
		{"Here", "departed", register.Departed.Name(), timeWide, nil},
		{"To the box ahead", "box", "", 9, func(l register.Line) string { return string(l.Ahead) }},
		{"To the box ahead", "offered", register.OfferedAhead.Name(), timeWide, nil},
		{"To the box ahead", "accepted", register.AcceptedAhead.Name(), timeWide, nil},
		{"To the box ahead", "entering", register.EnteringSent.Name(), timeWide, nil},
		{"To the box ahead", "out", register.OutReceived.Name(), timeWide, nil},
		{"Token", "out", register.TokenOut.Name(), timeWide, nil},
		{"Token", "in", register.TokenIn.Name(), timeWide, nil},
		{"Remarks", "", "", 0, nil},
	}
	last := &all[len(all)-1]
	last.wide = wide - 2*margin
	for _, c := range all[:len(all)-1] {
		last.wide -= c.wide
	}
	return all
}

func codeOf(l register.Line) string {
	if len(l.Code) == 0 {
		return ""
	}
	return l.Code.String()
}

// written finds the time of a column.
func written(l register.Line, column string) (register.Written, bool) {
	for _, c := range l.Cells {
		if c.Column == column {
			return c, true
		}
	}
	return register.Written{}, false
}

// struckIn are the times that were ruled through in a column.
func struckIn(l register.Line, column string) []register.Written {
	var all []register.Written
	for _, s := range l.Struck {
		if s.Column == column {
			all = append(all, s)
		}
	}
	return all
}

// remarks are the words of a train's line.
func remarks(l register.Line) string {
	words := append([]string(nil), l.Remarks...)
	if l.RearWarning || l.AheadWarn {
		words = append(words, "Reg. 5")
	}
	for _, c := range l.Cells {
		if c.Late {
			words = append(words, c.Column+" booked late")
		}
	}
	if l.Void {
		words = append(words, "ruled through")
	}
	return strings.Join(words, "; ")
}

// across is a line that has no columns: a signal, or a note.
func across(l register.Line) string {
	words := strings.Join(l.Remarks, "; ")
	if w, ok := written(l, register.Given.Name()); ok {
		words = w.Time + "  " + words
	}
	if l.Kind != register.SignalRow {
		return words
	}
	way := ", received from "
	if l.Sent {
		way = ", sent to "
	}
	words += " " + codeOf(l) + way + string(l.Other)
	if l.Concerns != "" {
		words += ", " + l.Concerns
	}
	if l.Train != "" {
		words += ", train " + string(l.Train)
	}
	for _, c := range []struct{ column, says string }{
		{register.Acknowledged.Name(), "acknowledged"}, {register.TokenOut.Name(), "token out"}, {register.TokenIn.Name(), "token in"},
	} {
		if w, ok := written(l, c.column); ok {
			words += ", " + c.says + " " + w.Time
		}
	}
	return words
}
