package main

import (
	"context"
	"fmt"
	"io"
	"iter"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/register"
	"taillamp/block/review"
)

// runReview lists the irregularities of a sitting or of notes.
func runReview(_ context.Context, args []string, std stdio) int {
	fs := newFlags("review")
	asJSON := fs.Bool("json", false, "")
	box := fs.String("box", "", "")
	rest, err := parse(fs, args, 1, 1)
	if err != nil {
		return complain(std, err)
	}
	e, err := readEvening(rest[0])
	if err != nil {
		return complain(std, err)
	}
	if err := knownBox(e.rules, *box); err != nil {
		return complain(std, err)
	}
	w := &errWriter{w: std.Out}
	broken := e.review(w, block.BoxID(*box), *asJSON)
	if w.err != nil {
		return complain(std, w.err)
	}
	if broken != nil {
		return complain(std, broken)
	}
	return exitGood
}

// knownBox complains of a box that the layout does not have. No box at all is known.
func knownBox(r *block.Rules, id string) error {
	if id == "" {
		return nil
	}
	if _, ok := r.Box(block.BoxID(id)); ok {
		return nil
	}
	return fault{code: exitMaterial, what: fmt.Sprintf("no box is called %q", id), hint: "the boxes are " + strings.Join(boxIDs(r), ", ")}
}

func boxIDs(r *block.Rules) []string {
	var ids []string
	for _, b := range r.Layout().Boxes {
		ids = append(ids, string(b.ID))
	}
	return ids
}

// evening is what is reviewed: a sitting, or notes played.
type evening struct {
	rules   *block.Rules
	entries iter.Seq2[block.Entry, error]
	began   time.Time
	clock   register.Clock
	line    map[uint64]uint64 // of notes: the line behind an entry
	words   func(error) error
}

// readEvening reads notes or a sitting, by the ending of the file's name.
func readEvening(file string) (*evening, error) {
	if filepath.Ext(file) == sittingEnding {
		s, err := openSitting(file)
		if err != nil {
			return nil, err
		}
		return &evening{rules: s.rules, began: s.header.Began, clock: register.ClockOf(s.rules.Layout(), s.header.Began), entries: s.entries(),
			words: func(err error) error { return s.broken(err) }}, nil
	}
	n, err := readNotes(file)
	if err != nil {
		return nil, err
	}
	e := &evening{rules: n.Rules, began: n.Begins, clock: register.ClockOf(n.Rules.Layout(), n.Begins), line: make(map[uint64]uint64)}
	var entries []block.Entry
	for p := range notes.Run(n) {
		for _, x := range p.Entries {
			e.line[x.Seq] = uint64(p.Line)
			entries = append(entries, x)
		}
	}
	e.entries = func(yield func(block.Entry, error) bool) {
		for _, x := range entries {
			if !yield(x, nil) {
				return
			}
		}
	}
	return e, nil
}

// keepsTime has the evening's clock stand where the entries pause it.
func (e *evening) keepsTime(entries iter.Seq2[block.Entry, error]) iter.Seq2[block.Entry, error] {
	return func(yield func(block.Entry, error) bool) {
		for x, err := range entries {
			e.clock = e.clock.After(x)
			if !yield(x, err) {
				return
			}
		}
	}
}

// review writes the findings, those of one box if it is named, and returns what broke the record off.
func (e *evening) review(w io.Writer, box block.BoxID, asJSON bool) error {
	books := e.books()
	found := 0
	for f, err := range review.Of(e.rules, e.keepsTime(books.watch(e.entries))) {
		if err != nil {
			e.end(w, found, books.clocks(), asJSON)
			return e.words(err)
		}
		if box != "" && f.Box != box {
			continue
		}
		found++
		f.Evidence = e.evidence(f.Evidence)
		f.At = e.clock.At(f.At) // as the books have it
		if asJSON {
			writeJSON(w, findingOf(f))
			continue
		}
		showFinding(w, f, e.line != nil)
	}
	e.end(w, found, books.clocks(), asJSON)
	return nil
}

// evidence is the numbers that a finding rests on: lines of notes, or entries of a sitting.
func (e *evening) evidence(seqs []uint64) []uint64 {
	out := []uint64{}
	for _, s := range seqs {
		if e.line != nil {
			s = e.line[s]
		}
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

func (e *evening) end(w io.Writer, found int, clocks []register.FoundClock, asJSON bool) {
	if asJSON {
		wrong := make(map[block.BoxID]int)
		for _, c := range clocks {
			wrong[c.Box] = int(c.Fast.Round(time.Second) / time.Second)
		}
		writeJSON(w, struct {
			End      bool                `json:"end"`
			Findings int                 `json:"findings"`
			Clocks   map[block.BoxID]int `json:"clocks"`
		}{true, found, wrong})
		return
	}
	fmt.Fprintln(w, findings(found))
	for _, c := range clocks {
		fmt.Fprintf(w, "the clock of %s was %s%s\n", c.Box, fastOrSlow(c.Fast), e.sure(c))
	}
}

// sure says how much is known of a clock that was wrong.
func (e *evening) sure(c register.FoundClock) string {
	words := ""
	if !c.Since.IsZero() {
		words = ", from " + c.Since.Format("15.04")
	}
	if c.OneWay {
		words += ", by signals one way only: how late they were booked is in it"
	} else if c.Within > time.Second {
		words += fmt.Sprintf(", within %d s", int(math.Ceil(c.Within.Seconds())))
	}
	return words
}

func findings(n int) string {
	switch n {
	case 0:
		return "nothing irregular was found"
	case 1:
		return "1 finding"
	}
	return fmt.Sprintf("%d findings", n)
}

func fastOrSlow(d time.Duration) string {
	d = d.Round(time.Second)
	if d < 0 {
		return (-d).String() + " slow"
	}
	return d.String() + " fast"
}

// showFinding writes one finding for people.
func showFinding(w io.Writer, f review.Finding, ofNotes bool) {
	fmt.Fprintf(w, "%s  %-4s %s, %s\n", f.At.Format("15:04:05"), f.Box, f.Rule, f.Severity)
	for _, l := range wrap(f.Says, pageWidth-4) {
		fmt.Fprintf(w, "    %s\n", l)
	}
	if f.Instead != "" {
		for _, l := range wrap("Right: "+f.Instead, pageWidth-4) {
			fmt.Fprintf(w, "    %s\n", l)
		}
	}
	one, many := "entry", "entries"
	if ofNotes {
		one, many = "line", "lines"
	}
	what := many
	if len(f.Evidence) == 1 {
		what = one
	}
	fmt.Fprintf(w, "    %s; %s %s\n\n", source(f.Cite, f.Grade), what, numbers(f.Evidence))
}

func numbers(seqs []uint64) string {
	out := make([]string, len(seqs))
	for i, s := range seqs {
		out[i] = fmt.Sprint(s)
	}
	return strings.Join(out, ", ")
}

// findingJSON is a line of `review --json`, as the notes form defines it.
type findingJSON struct {
	Rule     block.RuleID   `json:"rule"`
	Box      block.BoxID    `json:"box"`
	At       string         `json:"at"`
	Severity block.Severity `json:"severity"`
	Says     string         `json:"says"`
	Instead  string         `json:"instead"`
	Cite     string         `json:"cite"`
	Grade    string         `json:"grade"`
	Evidence []uint64       `json:"evidence"`
}

func findingOf(f review.Finding) findingJSON {
	return findingJSON{Rule: f.Rule, Box: f.Box, At: f.At.Format("15:04:05"), Severity: f.Severity, Says: f.Says,
		Instead: f.Instead, Cite: f.Cite, Grade: f.Grade, Evidence: f.Evidence}
}

// ownBooks keeps the book of every box while entries pass by on their way to somebody else.
type ownBooks []*register.Book

func (e *evening) books() ownBooks {
	var all ownBooks
	for _, b := range e.rules.Layout().Boxes {
		all = append(all, register.NewBook(e.rules, b.ID, e.began))
	}
	return all
}

func (o ownBooks) watch(entries iter.Seq2[block.Entry, error]) iter.Seq2[block.Entry, error] {
	return func(yield func(block.Entry, error) bool) {
		for e, err := range entries {
			if err == nil {
				for _, b := range o {
					b.Write(e)
				}
			}
			if !yield(e, err) {
				return
			}
		}
	}
}

// clocks are those that were wrong, as the neighbours' books tell.
func (o ownBooks) clocks() []register.FoundClock {
	return slices.DeleteFunc(register.ClocksOf(o, false), func(c register.FoundClock) bool {
		return c.Fast.Abs() <= max(c.Within, time.Second)
	})
}
