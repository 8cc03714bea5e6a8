package main

import (
	"context"
	"fmt"
	"io"
	"iter"
	"path/filepath"
	"strings"
	"time"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/block/review"
	"taillamp/sim"
)

// runDay works the whole sequence of a layout with every box simulated, as fast as it goes.
func runDay(_ context.Context, args []string, std stdio) int {
	fs := newFlags("day")
	seed := fs.Uint64("seed", 1, "")
	out := fs.String("out", "", "")
	mistake := fs.String("err", "", "")
	rest, err := parse(fs, args, 1, 1)
	if err != nil {
		return complain(std, err)
	}
	d, err := findDistrict(rest[0])
	if err != nil {
		return complain(std, err)
	}
	ordered, err := orderedMistake(*mistake)
	if err != nil {
		return complain(std, err)
	}
	day, err := workDay(d, *seed, ordered)
	if err != nil {
		return complain(std, err)
	}
	w := &errWriter{w: std.Out}
	day.tell(w)
	if *out != "" {
		name := fmt.Sprintf("%s-seed%d", strings.TrimSuffix(filepath.Base(rest[0]), filepath.Ext(rest[0])), *seed)
		if err := writeSitting(*out, name, day.header, day.entries); err != nil {
			return complain(std, err)
		}
		fmt.Fprintf(w, "written to %s\n", filepath.Join(*out, name+sittingEnding))
	}
	if w.err != nil {
		return complain(std, w.err)
	}
	return exitGood
}

// orderedMistake is the rule that somebody is to break once in the day.
func orderedMistake(id string) ([]sim.Bend, error) {
	if id == "" {
		return nil, nil
	}
	rule := block.RuleID(strings.ToUpper(id))
	b, ok := sim.Mistake(rule)
	if !ok {
		return nil, fault{code: exitMaterial, what: fmt.Sprintf("nobody can be ordered to break %s: %s", id, sim.NotOrdered(rule)),
			hint: "taillamp rules lists every rule"}
	}
	return []sim.Bend{b}, nil
}

// workedDay is a simulated day, as a sitting would record it.
type workedDay struct {
	header  block.Header
	rules   *block.Rules
	seed    uint64
	entries []block.Entry
}

// workDay works a district's day. Its record keeps the district's own time, so that nobody has to convert it.
func workDay(d district, seed uint64, mistakes []sim.Bend) (workedDay, error) {
	begins := dayBegins(d.rules)
	h := d.header
	l, err := block.ReadLayout([]byte(h.Layout))
	if err != nil {
		return workedDay{}, err
	}
	l.Clock = block.ClockKind{Kind: "real", Speed: 1}
	h.Layout, h.Began, h.Zone, h.Seed = string(l.Text()), begins, "UTC", seed
	rules, err := h.Rules()
	if err != nil {
		return workedDay{}, err
	}
	w := workedDay{header: h, rules: rules, seed: seed}
	for e, err := range sim.Day(rules, sim.Options{Seed: seed, Begins: begins, Bends: func(*block.Rules) []sim.Bend { return mistakes }}) {
		if err != nil {
			return workedDay{}, fmt.Errorf("the simulated day: %w", err)
		}
		e.Seq++ // the record's own first line comes before it
		w.entries = append(w.entries, e)
	}
	return w, nil
}

// dayBegins is when a simulated day begins: when the layout's clock starts, else a quarter of an hour before the first
// train; of a day that stands for every day.
func dayBegins(r *block.Rules) time.Time {
	first := time.Date(1961, 10, 17, 6, 0, 0, 0, time.UTC)
	midnight := first.Truncate(24 * time.Hour)
	if t, err := time.Parse("15:04", r.Layout().Clock.Starts); err == nil {
		return midnight.Add(time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute)
	}
	for _, w := range r.Timetable().Workings {
		if len(w.Calls) > 0 && w.Calls[0].Depart >= 0 {
			return midnight.Add(time.Duration(w.Calls[0].Depart)*time.Second - 15*time.Minute)
		}
	}
	return first
}

// tell says what ran, how late, and what was irregular.
func (d workedDay) tell(w io.Writer) {
	ran, late := 0, time.Duration(0)
	for _, k := range d.rules.Timetable().Workings {
		if at := d.arrival(k); !at.IsZero() {
			ran++
			if len(k.Calls) > 0 {
				late = max(late, at.Sub(d.booked(k)))
			}
		}
	}
	last := d.header.Began
	if n := len(d.entries); n > 0 {
		last = d.entries[n-1].Event.At
	}
	h := register.Rounding(d.rules.Layout().Settings.HalfMinutes)
	fmt.Fprintf(w, "%s, seed %d: %d of %d trains ran, %d acts from %s to %s, the latest train %d min late\n",
		d.rules.Layout().Title, d.seed, ran, len(d.rules.Timetable().Workings), len(d.entries), h.Full(d.header.Began), h.Full(last),
		int(late.Round(time.Minute).Minutes()))
	found := 0
	for f, err := range review.Of(d.rules, inTurn(d.entries)) {
		if err == nil {
			found++
			fmt.Fprintf(w, "%s at %s %s: %s\n", f.Rule, f.Box, f.At.Format("15.04.05"), f.Says)
		}
	}
	if found == 0 {
		fmt.Fprintln(w, "nothing irregular")
	}
}

// arrival is when a train reached the end of its run, or what went out and back under a token drawn for no train had that
// put in again; zero if it did not.
func (d workedDay) arrival(k block.Working) time.Time {
	for _, e := range d.entries {
		for _, c := range e.Outcome.Changes {
			back := c.Signal != nil && c.Signal.Key == "token-replaced" && c.Signal.Sense == block.Answer
			if back && len(k.Calls) == 0 && k.From == k.To {
				return c.Signal.First
			}
		}
		if e.Event.Do == block.Train && e.Event.Train == k.Train && e.Event.By == k.To && e.Event.Where == block.Heads {
			return e.Event.At
		}
	}
	return time.Time{}
}

func (d workedDay) booked(k block.Working) time.Time {
	if n := len(k.Calls); n > 0 && k.Calls[n-1].Arrive >= 0 {
		return d.header.Began.Truncate(24 * time.Hour).Add(time.Duration(k.Calls[n-1].Arrive) * time.Second)
	}
	return d.header.Began
}

// inTurn yields entries as a record does.
func inTurn(entries []block.Entry) iter.Seq2[block.Entry, error] {
	return func(yield func(block.Entry, error) bool) {
		for _, e := range entries {
			if !yield(e, nil) {
				return
			}
		}
	}
}
