package main

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"taillamp/block/register"
)

// writePages writes the register of a box as ruled pages: Down left and Up right where both go on one sheet, else one
// below the other; then what was written across both.
func (s *sitting) writePages(w io.Writer, b *register.Book) error {
	out := &errWriter{w: w}
	fmt.Fprintf(out, "Train register of %s (%s)\n", b.Name, b.Box)
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
	fmt.Fprintln(out)
	return out.err
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

// sheet is a page drawn: its lines of text, all equally wide but for the spaces at their ends.
type sheet []string

func (s sheet) width() int {
	width := 0
	for _, l := range s {
		width = max(width, utf8.RuneCountInString(l))
	}
	return width
}

// spine is what stands between two pages that lie open side by side.
const spine = "  ║  "

// beside lays two pages next to one another.
func beside(left, right sheet) sheet {
	width := left.width()
	var out sheet
	for i := range max(len(left), len(right)) {
		l, r := "", ""
		if i < len(left) {
			l = left[i]
		}
		if i < len(right) {
			r = right[i]
		}
		out = append(out, pad(l, width)+spine+r)
	}
	return out
}

// column is a column of a page: what is printed at its head, over two lines, and how it is found in a line of the book.
type column struct {
	name  string // of a time, as in register.Written
	heads [2]string
	group string // columns of different groups have a rule between them
	text  func(*register.Line) string
}

// columns are those of a train's line, in the order of the page.
func columns() []column {
	return []column{
		{heads: [2]string{"", "train"}, group: "train", text: func(l *register.Line) string { return string(l.Train) }},
		{heads: [2]string{"", "class"}, group: "train", text: func(l *register.Line) string { return l.Class }},
		{heads: [2]string{"", "code"}, group: "train", text: codeText},
		{heads: [2]string{"", "from"}, group: "rear", text: func(l *register.Line) string { return string(l.Rear) }},
		{name: "offered_from_rear", heads: [2]string{"of-", "fered"}, group: "rear"},
		{name: "accepted", heads: [2]string{"ac-", "cepted"}, group: "rear"},
		{name: "entering_section_received", heads: [2]string{"enter-", "ing"}, group: "rear"},
		{name: "arrived", heads: [2]string{"ar-", "rived"}, group: "here"},
		{name: "passed", heads: [2]string{"", "passed"}, group: "here"},
		{name: "departed", heads: [2]string{"de-", "parted"}, group: "here"},
		{name: "out_of_section_sent", heads: [2]string{"out of", "sect."}, group: "here"},
		{heads: [2]string{"", "to"}, group: "ahead", text: func(l *register.Line) string { return string(l.Ahead) }},
		{name: "offered_ahead", heads: [2]string{"of-", "fered"}, group: "ahead"},
		{name: "accepted_ahead", heads: [2]string{"ac-", "cepted"}, group: "ahead"},
		{name: "entering_section_sent", heads: [2]string{"enter-", "ing"}, group: "ahead"},
		{name: "out_of_section_received", heads: [2]string{"out of", "sect."}, group: "ahead"},
		{name: "token_out", heads: [2]string{"token", "out"}, group: "token"},
		{name: "token_in", heads: [2]string{"token", "in"}, group: "token"},
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
	var notes []string
	hour := ""
	for i := range lines {
		l := &lines[i]
		if l.Kind != register.TrainRow || l.Page != page {
			continue
		}
		row := make([]string, len(columns()))
		for c, col := range columns() {
			row[c] = cellText(col, l, &hour)
		}
		rows = append(rows, row)
		notes = append(notes, strings.Join(remarks(l), "; "))
	}
	return draw(page, rows, notes)
}

// cellText is what a column says in a line. The hour is written where it changes, as a signaller does; hour is the
// last one written.
func cellText(c column, l *register.Line, hour *string) string {
	if c.text != nil {
		return c.text(l)
	}
	for _, w := range l.Cells {
		if w.Column != c.name {
			continue
		}
		if h, _, _ := strings.Cut(w.Time, "."); h != *hour {
			*hour = h
			return w.Time
		}
		return w.Short
	}
	return ""
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

// draw rules a page. What is wider than a sheet goes on below, with the train named again.
func draw(page string, rows [][]string, notes []string) sheet {
	cols := columns()
	widths := make([]int, len(cols))
	var used []int
	for c := range cols {
		for _, r := range rows {
			widths[c] = max(widths[c], utf8.RuneCountInString(r[c]))
		}
		if widths[c] > 0 {
			widths[c] = max(widths[c], utf8.RuneCountInString(cols[c].heads[0]), utf8.RuneCountInString(cols[c].heads[1]))
			used = append(used, c)
		}
	}
	out := sheet{page}
	for n, part := range parts(used, widths) {
		if n > 0 {
			out = append(out, "", page+", continued")
		}
		out = append(out, ruled(part, widths, func(c int) string { return cols[c].heads[0] }),
			ruled(part, widths, func(c int) string { return cols[c].heads[1] }), rule(part, widths))
		for i, r := range rows {
			out = append(out, ruled(part, widths, func(c int) string { return r[c] }))
			if n == 0 {
				out = append(out, noteLines(notes[i], part, widths)...)
			}
		}
	}
	return out
}

// noteLines is the remarks of a line, written below it and indented.
func noteLines(note string, part, widths []int) []string {
	width := max(40, utf8.RuneCountInString(rule(part, widths))-6)
	var out []string
	for _, l := range wrap(note, width) {
		out = append(out, "      "+l)
	}
	return out
}

// parts divides columns so that none is wider than a sheet.
func parts(used, widths []int) [][]int {
	if len(used) == 0 {
		return nil
	}
	head := used[:min(len(used), leading)]
	for len(head) > 0 && head[len(head)-1] >= leading {
		head = head[:len(head)-1]
	}
	var all [][]int
	part := slices.Clone(head)
	for _, c := range used[len(head):] {
		if utf8.RuneCountInString(rule(append(slices.Clone(part), c), widths)) > pageWidth {
			all = append(all, part)
			part = slices.Clone(head)
		}
		part = append(part, c)
	}
	return append(all, part)
}

// ruled writes one line of a page; a rule stands between groups of columns.
func ruled(part, widths []int, text func(c int) string) string {
	return across(part, widths, "│", func(c int) string { return pad(text(c), widths[c]) })
}

func rule(part, widths []int) string {
	return strings.ReplaceAll(across(part, widths, "┼", func(c int) string { return strings.Repeat("─", widths[c]) }), " ", "─")
}

func across(part, widths []int, bar string, text func(c int) string) string {
	cols := columns()
	var b strings.Builder
	for i, c := range part {
		switch {
		case i == 0:
		case cols[c].group != cols[part[i-1]].group:
			b.WriteString(" " + bar + " ")
		default:
			b.WriteString(" ")
		}
		b.WriteString(text(c))
	}
	return b.String()
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
