package review

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"taillamp/block"
	"taillamp/block/register"
)

// Sentence is one thing told of an evening, with the entries of the record that it rests on.
type Sentence struct {
	Words    string   `json:"words"`
	Evidence []uint64 `json:"evidence"`
}

// StoryWords is the most that a story has: what one reads aloud in two minutes.
const StoryWords = 300

// Story tells an evening to be read aloud, from the record alone: what ran, what was late and why, the best-worked ten
// minutes, and what to try next. g is its graph and found what was found in it. Nobody is named but boxes, and nobody is
// compared with another.
func Story(r *block.Rules, began time.Time, entries []block.Entry, g *register.Graph, found []Finding) []Sentence {
	s := story{r: r, g: g, found: found, entries: entries, clock: clockThrough(r, began, entries)}
	s.ran()
	s.late()
	s.best()
	s.next()
	return s.told
}

// story is one being told.
type story struct {
	r       *block.Rules
	g       *register.Graph
	found   []Finding
	entries []block.Entry
	clock   register.Clock
	told    []Sentence
	words   int
}

// say adds a sentence if there is room for it and something that it rests on.
func (s *story) say(evidence []uint64, words string, a ...any) {
	text := fmt.Sprintf(words, a...)
	n := len(strings.Fields(text))
	if len(evidence) == 0 || s.words+n > StoryWords {
		return
	}
	s.words += n
	s.told = append(s.told, Sentence{Words: text, Evidence: evidence})
}

func (s *story) time(t time.Time) string {
	return register.Rounding(s.r.Layout().Settings.HalfMinutes).Full(t)
}

// ran is how many trains ran, and between when.
func (s *story) ran() {
	var first, last register.Moment
	trains := 0
	for _, run := range s.g.Runs {
		moved := false
		for _, stop := range run.Stops {
			for _, m := range []register.Moment{stop.Come, stop.Go} {
				if !m.Known() || m.Seq == 0 {
					continue
				}
				moved = true
				if !first.Known() || m.At.Before(first.At) {
					first = m
				}
				if !last.Known() || m.At.After(last.At) {
					last = m
				}
			}
		}
		if moved {
			trains++
		}
	}
	switch {
	case trains == 1:
		s.say([]uint64{first.Seq, last.Seq}, "One train ran, between %s and %s.", s.time(first.At), s.time(last.At))
	case trains > 1:
		s.say([]uint64{first.Seq, last.Seq}, "%d trains ran, the first at %s, the last until %s.", trains, s.time(first.At), s.time(last.At))
	}
}

// late is what came late and what it goes back to: the first three sentences of the longest chain.
func (s *story) late() {
	delays := s.g.Delays()
	var booked, punctual []uint64
	for n := range s.g.Runs {
		run := &s.g.Runs[n]
		if len(run.Booked) == 0 || len(run.Stops) == 0 {
			continue
		}
		end := run.Stops[len(run.Stops)-1]
		if end.Come.Seq == 0 {
			continue
		}
		booked = append(booked, end.Come.Seq)
		if run.Late(len(run.Stops)-1) <= 2*time.Minute {
			punctual = append(punctual, end.Come.Seq)
		}
	}
	switch {
	case len(booked) > 0 && len(punctual) == len(booked):
		s.say(booked, "Every train that has booked times came within two minutes of them.")
	case len(booked) > 0:
		s.say(booked, "Of the %d that have booked times %d came within two minutes of them.", len(booked), len(punctual))
	}
	chain := s.g.Chain(delays)
	for n, words := range chain {
		if n == 3 {
			break
		}
		s.say(s.around(delays[0].From), "%s", words)
	}
}

// around is the entry of the record that was made at a moment of the district, or the last before it.
func (s *story) around(at time.Time) []uint64 {
	var seq uint64
	for _, e := range s.entries {
		if e.Mark == "" && s.clock.At(e.Event.At).After(at) {
			break
		}
		seq = e.Seq
	}
	if seq == 0 {
		return nil
	}
	return []uint64{seq}
}

// best is the busiest ten minutes in which nothing was found.
func (s *story) best() {
	const span = 10 * time.Minute
	var signals []signalAt
	for i := range s.entries {
		e := &s.entries[i]
		for _, c := range e.Outcome.Changes {
			if c.Signal != nil && c.Signal.Sense != block.Void && c.Signal.Sense != block.Wrong {
				signals = append(signals, signalAt{c.Signal.First, e.Seq})
			}
		}
	}
	slices.SortStableFunc(signals, func(a, b signalAt) int { return a.at.Compare(b.at) })
	most, at, end := 0, 0, 0
	for n, from := range signals {
		for end < len(signals) && signals[end].at.Before(from.at.Add(span)) {
			end++
		}
		if end-n > most && !slices.ContainsFunc(s.found, func(f Finding) bool { return !f.At.Before(from.at) && f.At.Before(from.at.Add(span)) }) {
			most, at = end-n, n
		}
	}
	if most == 0 {
		return
	}
	from, last := signals[at], signals[at+most-1]
	s.say([]uint64{from.seq, last.seq}, "The best-worked ten minutes began at %s: %d signals, and nothing to be said against any of them.",
		s.time(s.clock.At(from.at)), most)
}

// signalAt is when a signal was rung, and the entry that says so.
type signalAt struct {
	at  time.Time
	seq uint64
}

// next is what was found, and what to try next.
func (s *story) next() {
	graver := map[block.Severity]int{block.Tell: 0, block.Irregular: 1, block.Dangerous: 2}
	if len(s.found) == 0 {
		if len(s.told) > 0 { // else nothing has run yet
			last := s.entries[len(s.entries)-1].Seq
			s.say([]uint64{last}, "Nothing was found against the regulations. Next time, put in a failure or a special train.")
		}
		return
	}
	worst, often := s.found[0], map[block.RuleID]int{}
	for _, f := range s.found {
		often[f.Rule]++
		if graver[f.Severity] > graver[worst.Severity] {
			worst = f
		}
	}
	things := "One thing was found"
	if len(s.found) > 1 {
		things = fmt.Sprintf("%d things were found", len(s.found))
	}
	box, _ := s.r.Box(worst.Box)
	s.say(worst.Evidence, "%s against the regulations, the gravest at %s, %s: %s", things, box.Name, s.time(s.clock.At(worst.At)), lower(worst.Says))
	common := worst
	for _, f := range s.found {
		if often[f.Rule] > often[common.Rule] {
			common = f
		}
	}
	s.say(common.Evidence, "To try next: %s", lower(common.Instead))
}

func lower(words string) string {
	if words == "" {
		return words
	}
	return strings.ToLower(words[:1]) + words[1:]
}

// clockThrough is the district's clock with every pause of the evening.
func clockThrough(r *block.Rules, began time.Time, entries []block.Entry) register.Clock {
	c := register.ClockOf(r.Layout(), began)
	for _, e := range entries {
		c = c.After(e)
	}
	return c
}
