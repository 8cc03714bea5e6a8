package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"taillamp/block"
	"taillamp/block/notes"
)

// runPlay runs notes through the machine: one line of what came of each fact, then how every line stands.
func runPlay(_ context.Context, args []string, std stdio) int {
	fs := newFlags("play")
	asJSON := fs.Bool("json", false, "")
	out := fs.String("out", "", "")
	rest, err := parse(fs, args, 1, 1)
	if err != nil {
		return complain(std, err)
	}
	file := rest[0]
	n, err := readNotes(file)
	if err != nil {
		return complain(std, err)
	}
	var entries []block.Entry
	show := showPlayed
	if *asJSON {
		show = jsonPlayed
	}
	w := &errWriter{w: std.Out}
	state := n.Rules.Opening(n.Begins)
	for p := range notes.Run(n) {
		entries = append(entries, p.Entries...)
		state = p.State
		show(w, p)
	}
	if *asJSON {
		jsonEnd(w, n.Rules, state)
	} else {
		showEnd(w, n.Rules, state)
	}
	if w.err != nil {
		return complain(std, w.err)
	}
	if *out != "" {
		if err := writeSitting(*out, nameOf(file), n.Header, entries); err != nil {
			return complain(std, err)
		}
	}
	return exitGood
}

// readNotes reads a file of notes. A fault says FILE:LINE: what is wrong; what would be right.
func readNotes(file string) (*notes.Notes, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, unreadable(file, err)
	}
	n, err := notes.Read(text, func(name string) (block.Header, error) {
		if !filepath.IsAbs(name) {
			name = filepath.Join(filepath.Dir(file), name)
		}
		return readLayout(name)
	})
	var f notes.Fault
	if errors.As(err, &f) {
		return nil, bad("%s:%d: %s", file, f.Line, f.What)
	}
	if err != nil {
		return nil, bad("%s: %s", file, err)
	}
	return n, nil
}

func nameOf(file string) string { return strings.TrimSuffix(filepath.Base(file), filepath.Ext(file)) }

// showPlayed writes one fact for people.
func showPlayed(w io.Writer, p notes.Played) {
	fmt.Fprintf(w, "%s  %-40s %s", p.At.Format("15:04:05"), p.Text, p.Ending)
	if rules := rulesOf(p.Irregular); len(rules) > 0 {
		fmt.Fprintf(w, " %s", strings.Join(rules, " "))
	}
	if p.Why != "" {
		fmt.Fprintf(w, ": %s", p.Why)
	} else if p.Says != "" {
		fmt.Fprintf(w, ": %s", p.Says)
	}
	fmt.Fprintln(w)
}

func rulesOf(found []block.Irregularity) []string {
	rules := []string{}
	for _, i := range found {
		rules = append(rules, string(i.Rule))
	}
	return rules
}

func showEnd(w io.Writer, r *block.Rules, s block.State) {
	fmt.Fprintln(w, "\nat the end")
	for _, l := range r.Lines(s) {
		fmt.Fprintf(w, "  %-4s to %-4s %-14s %-9s %s\n", l.Section.Rear, l.Section.Advance, l.Section.Line, l.Shows, l.Standing)
	}
}

// playedJSON and endJSON are the lines of `play --json`, as the notes form defines them.
type playedJSON struct {
	Line   int      `json:"line"`
	At     string   `json:"at"`
	Fact   string   `json:"fact"`
	Ending string   `json:"ending"`
	Why    string   `json:"why,omitempty"`
	Rules  []string `json:"rules"`
	Says   string   `json:"says,omitempty"`
}

type endJSON struct {
	End      bool          `json:"end"`
	Sections []sectionJSON `json:"sections"`
}

type sectionJSON struct {
	From     block.BoxID  `json:"from"`
	To       block.BoxID  `json:"to"`
	By       string       `json:"by,omitempty"`
	Shows    block.Aspect `json:"shows"`
	Standing string       `json:"standing"`
	Count    int          `json:"count,omitempty"`
}

func jsonPlayed(w io.Writer, p notes.Played) {
	writeJSON(w, playedJSON{Line: p.Line, At: p.At.Format("15:04:05"), Fact: p.Text, Ending: p.Ending, Why: p.Why,
		Rules: rulesOf(p.Irregular), Says: p.Says})
}

func jsonEnd(w io.Writer, r *block.Rules, s block.State) {
	lines := r.Lines(s)
	parallel := make(map[[2]block.BoxID]int)
	for _, l := range lines {
		parallel[[2]block.BoxID{l.Section.Rear, l.Section.Advance}]++
	}
	end := endJSON{End: true, Sections: []sectionJSON{}}
	for _, l := range lines {
		j := sectionJSON{From: l.Section.Rear, To: l.Section.Advance, Shows: l.Shows, Standing: l.Standing, Count: l.Count}
		if parallel[[2]block.BoxID{j.From, j.To}] > 1 {
			j.By = l.Section.Line
		}
		end.Sections = append(end.Sections, j)
	}
	writeJSON(w, end)
}
