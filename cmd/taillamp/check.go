package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"taillamp/block"
)

// runCheck lists every fault and warning of a layout and what belongs to it.
func runCheck(_ context.Context, args []string, std stdio) int {
	fs := newFlags("check")
	dir := fs.String("dir", "", "")
	rest, err := parse(fs, args, 1, 1)
	if err != nil {
		return complain(std, err)
	}
	d, err := findDistrict(rest[0])
	var flaws block.Flaws
	if err != nil && !errors.As(err, &flaws) {
		return complain(std, err)
	}
	w := &errWriter{w: std.Out}
	for _, f := range flaws {
		fmt.Fprintln(w, flawLine(f))
	}
	for _, f := range d.warnings {
		fmt.Fprintln(w, "warning: "+flawLine(f))
	}
	if len(flaws) == 0 {
		summary(w, d)
	}
	if w.err != nil {
		return complain(std, w.err)
	}
	if len(flaws) > 0 {
		return complain(std, bad("%s cannot be used: %s", rest[0], count(len(flaws), "fault")))
	}
	if *dir == "" {
		if *dir, err = sittingsFolder(); err != nil {
			return complain(std, err)
		}
	}
	if err := showDisk(w, *dir); err != nil {
		return complain(std, err)
	}
	return exitGood
}

// flawLine is a flaw as one line that editors can jump by: file:line: field: what is wrong; what would be right.
func flawLine(f block.Flaw) string {
	where := f.File
	if f.Line > 0 {
		where += fmt.Sprintf(":%d", f.Line)
	}
	parts := []string{where}
	if f.Field != "" {
		parts = append(parts, f.Field)
	}
	what := f.What
	if f.Right != "" {
		what += "; " + f.Right
	}
	return strings.Join(append(parts, what), ": ")
}

// summary says what a sound layout holds.
func summary(w io.Writer, d district) {
	l := d.rules.Layout()
	lines := 0
	for _, b := range l.Between {
		if b.While == "" { // else they stand in for lines that are counted
			lines += len(b.Lines)
		}
	}
	fmt.Fprintf(w, "%s: %s, %s, %s\n", l.Title, count(len(l.Boxes), "box"), count(lines, "line"),
		count(len(d.rules.Timetable().Workings), "train"))
}

// count is a number of things: 1 box, 3 boxes, 2 trains.
func count(n int, thing string) string {
	switch {
	case n == 1:
	case strings.HasSuffix(thing, "x"):
		thing += "es"
	default:
		thing += "s"
	}
	return fmt.Sprintf("%d %s", n, thing)
}
