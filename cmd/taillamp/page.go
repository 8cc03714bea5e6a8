package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"taillamp/block/register"
)

// writePages writes the register of a box as ruled pages: Down left and Up right where both go on one sheet, else one
// below the other; then what was written across both.
func (s *record) writePages(w io.Writer, b *register.Book) error {
	out := &errWriter{w: w}
	fmt.Fprintf(out, "Train register of %s\n", titleOf(b))
	fmt.Fprintf(out, "%s, %s, %s\n", s.rules.Layout().Title, s.header.Sitting, s.header.Began.Format("Monday 2 January 2006"))
	lines := b.Lines()
	var sheets []sheet
	for _, p := range pagesOf(lines) {
		sheets = append(sheets, sheetOf(p, lines))
	}
	if len(sheets) == 2 && sheets[0].width()+len(spine)+sheets[1].width() <= pageWidth {
		sheets = []sheet{beside(sheets[0], sheets[1])}
	}
	for _, sh := range sheets {
		fmt.Fprintln(out)
		for _, l := range sh {
			fmt.Fprintln(out, strings.TrimRight(l, " "))
		}
	}
	writeAcross(out, lines)
	if len(lines) == 0 {
		fmt.Fprintln(out, "\n(nothing was booked)")
	}
	fmt.Fprintf(out, "\n%s\n\n", footing)
	return out.err
}

// footing stands below every book that leaves the program for people.
const footing = "For hobby and training only; this is never the only protection of anything."

func titleOf(b *register.Book) string {
	if b.Name == "" || b.Name == string(b.Box) {
		return string(b.Box)
	}
	return fmt.Sprintf("%s (%s)", b.Name, b.Box)
}

// pagesOf lists the pages on which trains were booked.
func pagesOf(lines []register.Line) []string {
	var pages []string
	for _, l := range lines {
		if l.Kind == register.TrainRow && !slices.Contains(pages, l.Page) {
			pages = append(pages, l.Page)
		}
	}
	slices.SortStableFunc(pages, func(a, b string) int { return rank(a) - rank(b) })
	return pages
}

func rank(page string) int {
	switch page {
	case "Down":
		return 0
	case "Up":
		return 1
	}
	return 2 // a branch has its own, after the main line's
}

// column is a column of a page: what is printed at its head, and how it is found in a line of the book. Columns of one
// group stand together under the group's head; a rule stands between groups.
type column struct {
	group string
	head  string
	name  string // of a time, as in register.Written
	text  func(*register.Line) string
}

// columns are those of a train's line: which train it is, what passed with the box in rear, what was seen of it, what
// passed with the box in advance, and the token. Heads are short, so that a through box fits on one sheet.
func columns() []column {
	return []column{
		{group: "train", head: "no.", text: func(l *register.Line) string { return string(l.Train) }},
		{group: "train", head: "cl.", text: func(l *register.Line) string { return l.Class }},
		{group: "train", head: "code", text: codeText},
		{group: "in rear", head: "box", text: func(l *register.Line) string { return string(l.Rear) }},
		{group: "in rear", head: "offer", name: "offered_from_rear"},
		{group: "in rear", head: "acc.", name: "accepted"},
		{group: "in rear", head: "ent.", name: "entering_section_received"},
		{group: "in rear", head: "out", name: "out_of_section_sent"},
		{group: "here", head: "arr.", name: "arrived"},
		{group: "here", head: "pass", name: "passed"},
		{group: "here", head: "dep.", name: "departed"},
		{group: "in advance", head: "box", text: func(l *register.Line) string { return string(l.Ahead) }},
		{group: "in advance", head: "offer", name: "offered_ahead"},
		{group: "in advance", head: "acc.", name: "accepted_ahead"},
		{group: "in advance", head: "ent.", name: "entering_section_sent"},
		{group: "in advance", head: "out", name: "out_of_section_received"},
		{group: "token", head: "out", name: "token_out"},
		{group: "token", head: "in", name: "token_in"},
	}
}

func codeText(l *register.Line) string {
	if len(l.Code) == 0 {
		return ""
	}
	return l.Code.String()
}

// leading is how many columns say which train a line is. They are written again where a page is too wide and goes on
// below.
const leading = 3

// sheetOf draws one page: a column that is empty throughout is left out.
func sheetOf(page string, lines []register.Line) sheet {
	var rows [][]string
	var of []*register.Line
	hour := ""
	for i := range lines {
		l := &lines[i]
		if l.Kind != register.TrainRow || l.Page != page {
			continue
		}
		var row []string
		row, hour = cells(l, hour)
		rows = append(rows, row)
		of = append(of, l)
	}
	notes := make([]string, len(rows))
	inNotes := tooWide(rows)
	for i, l := range of {
		words := remarks(l)
		if inNotes {
			words = append(words, tokens(l)...)
			clear(rows[i][firstToken:])
		}
		notes[i] = strings.Join(words, "; ")
	}
	return draw(page, rows, notes)
}

// firstToken is the place of the first of the token's columns, which are the last. Where they do not go on the sheet
// beside the rest, the token is written among the remarks.
const firstToken = 16

func tooWide(rows [][]string) bool {
	used, widths := measure(columns(), rows)
	return len(parts(used, widths)) > 1
}

// tokens says in words when the token was taken out and put back.
func tokens(l *register.Line) []string {
	var words []string
	if at := timeOf(l, "token_out"); at != "" {
		words = append(words, "token out "+at)
	}
	if at := timeOf(l, "token_in"); at != "" {
		words = append(words, "token in "+at)
	}
	return words
}

// cells are the columns of a line. The hour is written where it changes, as a signaller does: at the head of a line if
// the line above began in another hour, and within a line. hour is the one in which the line above began; began, this
// one.
func cells(l *register.Line, hour string) (row []string, began string) {
	at := make(map[string]register.Written, len(l.Cells))
	for _, w := range l.Cells {
		at[w.Column] = w
	}
	for _, c := range columns() {
		w, filled := at[c.name]
		switch {
		case c.text != nil:
			row = append(row, c.text(l))
			continue
		case !filled:
			row = append(row, "")
			continue
		}
		h, _, _ := strings.Cut(w.Time, ".")
		if began == "" {
			began = h
		}
		text := w.Short
		if h != hour {
			text, hour = w.Time, h
		}
		row = append(row, text)
	}
	return row, began
}

// remarks are the words of a line, regulation 5 and what was ruled through among them.
func remarks(l *register.Line) []string {
	words := slices.Clone(l.Remarks)
	if l.RearWarning || l.AheadWarn {
		words = append(words, "Reg. 5")
	}
	if l.Void {
		words = append(words, "the whole line ruled through")
	}
	for _, s := range l.Struck {
		words = append(words, "ruled through: "+strings.ReplaceAll(s.Column, "_", " ")+" "+s.Time)
	}
	return words
}

// writeAcross writes what has no column, in order of time.
func writeAcross(w io.Writer, lines []register.Line) {
	head := "\nAcross the page\n"
	for i := range lines {
		l := &lines[i]
		if l.Kind == register.TrainRow {
			continue
		}
		fmt.Fprint(w, head)
		head = ""
		for n, text := range wrap(acrossText(l), pageWidth-9) {
			at := ""
			if n == 0 {
				at = timeOf(l, "given")
			}
			fmt.Fprintln(w, pad(at, 9)+text)
		}
	}
}

// acrossText is a signal or a note in words: "sent to OS 5-5-5, opening of signal box; acknowledged 15.59".
func acrossText(l *register.Line) string {
	words := strings.Join(remarks(l), "; ")
	if l.Kind != register.SignalRow {
		return words
	}
	text := "received from"
	if l.Sent {
		text = "sent to"
	}
	text += " " + string(l.Other) + " " + codeText(l)
	if words != "" {
		text += ", " + words
	}
	if l.Concerns != "" {
		text += ", " + l.Concerns
	}
	if at := timeOf(l, "acknowledged"); at != "" {
		return text + "; acknowledged " + at
	}
	return text + "; not acknowledged"
}

func timeOf(l *register.Line, column string) string {
	for _, c := range l.Cells {
		if c.Column == column {
			return c.Time
		}
	}
	return ""
}
