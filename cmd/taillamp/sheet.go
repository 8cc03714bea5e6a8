package main

import (
	"slices"
	"strings"
	"unicode/utf8"
)

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
const spine = " ║ "

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

// draw rules a page. What is wider than a sheet goes on below, with the train named again.
func draw(page string, rows [][]string, notes []string) sheet {
	cols := columns()
	used, widths := measure(cols, rows)
	out := sheet{page}
	for n, part := range parts(used, widths) {
		if n > 0 {
			out = append(out, "", page+", continued")
		}
		out = append(out, groupHeads(part, widths), ruled(part, widths, func(c int) string { return cols[c].head }), rule(part, widths))
		for i, r := range rows {
			out = append(out, ruled(part, widths, func(c int) string { return r[c] }))
			if n == 0 {
				out = append(out, noteLines(notes[i], part, widths)...)
			}
		}
	}
	return out
}

// measure finds the columns that are used and how wide each is.
func measure(cols []column, rows [][]string) (used, widths []int) {
	widths = make([]int, len(cols))
	for c := range cols {
		for _, r := range rows {
			widths[c] = max(widths[c], utf8.RuneCountInString(r[c]))
		}
		if widths[c] > 0 {
			widths[c] = max(widths[c], utf8.RuneCountInString(cols[c].head))
			used = append(used, c)
		}
	}
	group := 0 // how wide the group is so far
	for i, c := range used {
		if i > 0 && cols[used[i-1]].group == cols[c].group {
			group++
		} else {
			group = 0
		}
		group += widths[c]
		if last := i+1 == len(used) || cols[used[i+1]].group != cols[c].group; last {
			widths[c] += max(0, utf8.RuneCountInString(cols[c].group)-group)
		}
	}
	return used, widths
}

// groupHeads writes the head of each group over its first column.
func groupHeads(part, widths []int) string {
	cols := columns()
	var b strings.Builder
	for i := 0; i < len(part); {
		group, width := cols[part[i]].group, -1
		for ; i < len(part) && cols[part[i]].group == group; i++ {
			width += widths[part[i]] + 1
		}
		if b.Len() > 0 {
			b.WriteString(" │ ")
		}
		b.WriteString(pad(group, width))
	}
	return b.String()
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
	return inColumns(part, widths, "│", func(c int) string { return pad(text(c), widths[c]) })
}

func rule(part, widths []int) string {
	return strings.ReplaceAll(inColumns(part, widths, "┼", func(c int) string { return strings.Repeat("─", widths[c]) }), " ", "─")
}

func inColumns(part, widths []int, bar string, text func(c int) string) string {
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
