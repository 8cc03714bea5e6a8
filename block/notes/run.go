package notes

import (
	"errors"
	"fmt"
	"iter"
	"strings"

	"taillamp/block"
)

// Played is one fact of the notes and what came of it.
type Played struct {
	Fact
	Ending    string // done, refused, irregular, impossible
	Why       string // of a refusal or an impossibility
	Says      string // in a few words, what it was taken for
	Irregular []block.Irregularity
	Entries   []block.Entry // what a sitting would have recorded
	State     block.State   // after it
}

// Run steps the facts and yields what came of each. What cannot be is yielded as impossible, recorded nowhere, and
// the rest goes on.
func Run(n *Notes) iter.Seq[Played] {
	return func(yield func(Played) bool) {
		s := n.Rules.Opening(n.Begins)
		seq := uint64(1) // the opening mark
		for _, f := range n.Facts {
			p := Played{Fact: f, Ending: string(block.Done)}
			for _, e := range f.Events {
				next, out, err := n.Rules.Step(s, e)
				if err != nil {
					p.Ending, p.Why = "impossible", inWords(err)
					break
				}
				s = next
				seq++
				p.Entries = append(p.Entries, block.Entry{Seq: seq, Event: e, Outcome: out})
				p.take(out)
			}
			p.State = s
			if !yield(p) {
				return
			}
		}
	}
}

// take folds the outcome of one event into that of the line.
func (p *Played) take(o block.Outcome) {
	p.Irregular = append(p.Irregular, o.Irregular...)
	if o.Ending == block.Refused {
		p.Ending, p.Why = string(block.Refused), string(o.Why)
	}
	if len(p.Irregular) > 0 && p.Ending == string(block.Done) {
		p.Ending = "irregular"
	}
	for _, c := range o.Changes {
		if s := says(c); s != "" {
			p.Says = s
		}
	}
}

// says puts a change in a few words.
func says(c block.Change) string {
	switch {
	case c.Signal != nil:
		return signalSays(c.Signal)
	case c.Indicator != nil:
		return fmt.Sprintf("%s shows %s", c.Indicator.Section, c.Indicator.Aspect)
	case c.Lever != nil && c.Lever.Off:
		return "section signal off"
	case c.Lever != nil:
		return "section signal on"
	case c.Collar != nil && c.Collar.On:
		return "collar on"
	case c.Collar != nil:
		return "collar off"
	case c.Token != nil:
		return tokenSays(c.Token)
	case c.Train != nil:
		return fmt.Sprintf("on %s", c.Train.Section)
	case c.Switched != nil && c.Switched.Open:
		return "switched in"
	case c.Switched != nil:
		return "switched out"
	}
	return ""
}

func tokenSays(m *block.Moved) string {
	switch {
	case !m.Out:
		return fmt.Sprintf("token in the instrument at %s", m.Box)
	case m.Train != "":
		return "token with train " + string(m.Train)
	}
	return fmt.Sprintf("token in the hand of %s", m.Box)
}

// effects are what the notes say of a signal, by what it did.
var effects = map[block.Effect]string{
	block.Called: "called attention", block.Offered: "offered", block.Accepted: "accepted", block.Warning: "warning given",
	block.AcceptedW: "accepted under warning", block.Entering: "train entering section", block.OutOf: "train out of section",
	block.Mended:    "description mended",
	block.Cancelled: "cancelled", block.Removed: "obstruction removed",
}

func signalSays(s *block.Signal) string {
	switch s.Sense {
	case block.Void:
		return "no meaning"
	case block.Wrong:
		return "not repeated exactly"
	}
	word := effects[s.Did]
	if word == "" {
		word = strings.ReplaceAll(string(s.Key), "-", " ")
	}
	switch {
	case s.Sense != block.Answer, s.Did == block.Accepted, s.Did == block.AcceptedW:
		return word
	case s.Key == "call-attention":
		return "answered"
	}
	return word + ", acknowledged"
}

// reasons are what cannot be, for people.
var reasons = []struct {
	err   error
	words string
}{
	{block.ErrNoSuchBox, "there is no such box"},
	{block.ErrNoSuchLine, "there is no such line"},
	{block.ErrNotYours, "that instrument is in another box"},
	{block.ErrOffDuty, "nobody is on duty in that box"},
	{block.ErrOnDuty, "somebody is on duty there already"},
	{block.ErrCutOut, "those boxes do not work with one another at that moment"},
	{block.ErrNoTrain, "that train is not there"},
	{block.ErrNoToken, "there is no such token there"},
	{block.ErrThereIs, "a train of that number is in the sequence, or was"},
	{block.ErrNoClass, "no train is offered by that code where it begins"},
	{block.ErrFormsAnother, "another train is formed of its stock"},
	{block.ErrNoPilotman, "the pilotman is not there"},
	{block.ErrGivenUp, "the line is given up to the engineers already"},
	{block.ErrNotGivenUp, "the line is not given up to the engineers"},
	{block.ErrNoSwitch, "that box has no closing switch"},
	{block.ErrNoInstrument, "that line has no such instrument"},
	{block.ErrNoSense, "the act lacks what its kind needs"},
	{block.ErrPaused, "the evening is paused"},
}

func inWords(err error) string {
	for _, r := range reasons {
		if errors.Is(err, r.err) {
			return r.words
		}
	}
	return err.Error()
}
