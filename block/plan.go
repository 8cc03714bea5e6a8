package block

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Plan is something that the owner will have done at a time of the evening: a card dealt, an instrument that fails or is
// mended, a happening.
type Plan struct {
	When Later
	Does PlanDoes
	Card string    // of Deal: the name of the card
	To   BoxID     // … and the box chosen for it, where the card names none
	What Happening // of Happen
	// Of Fail and Mend: which instrument.
	Circuit CircuitID
	Where   Place
}

// PlanDoes is what a plan is about.
type PlanDoes string

// What may be planned.
const (
	Deal   PlanDoes = "deal"
	Fail   PlanDoes = "fail"
	Mend   PlanDoes = "mend"
	Happen PlanDoes = "happen"
)

// Later is a time to come: by the district's clock, or so long after it was named, pauses left out.
type Later struct {
	At int           // seconds after midnight, where In is nothing
	In time.Duration // whole minutes
}

// String gives it as it stands in the record: "at 17.40", "in 10 minutes".
func (l Later) String() string {
	if l.In > 0 {
		return fmt.Sprintf("in %d minutes", l.In/time.Minute)
	}
	return "at " + ClockText(l.At)
}

// ParseLater reads "at 17.40" and "in 10 minutes".
func ParseLater(text string) (Later, error) {
	word, rest, _ := strings.Cut(text, " ")
	switch rest = strings.TrimSpace(rest); word {
	case "at":
		if at, ok := parseClock(rest); ok {
			return Later{At: at}, nil
		}
	case "in":
		number, ok := strings.CutSuffix(rest, " minutes")
		if n, err := strconv.Atoi(number); ok && err == nil && n > 0 && n <= mostAhead {
			return Later{In: time.Duration(n) * time.Minute}, nil
		}
	}
	return Later{}, fmt.Errorf("%w: %q is no time to come", ErrNoSense, text)
}

// mostAhead is how many minutes ahead something may be planned.
const mostAhead = 24 * 60

// Event is the act of planning it.
func (p Plan) Event() Event {
	e := Event{Do: Plans, Words: p.When.String() + ": " + string(p.Does)}
	switch p.Does {
	case Deal:
		e.By = p.To
		e.Words += " " + p.Card
	case Happen:
		h := p.What.Event()
		e.By, e.Where, e.Train = h.By, h.Where, h.Train
		if h.Words != "" {
			e.Words += " " + h.Words
		}
	default:
		e.Circuit, e.Where = p.Circuit, p.Where
	}
	return e
}

// PlanOf reads such an act. False: it is none.
func PlanOf(e Event) (Plan, bool) {
	when, rest, ok := strings.Cut(e.Words, ": ")
	at, err := ParseLater(when)
	if e.Do != Plans || e.Off || !ok || err != nil {
		return Plan{}, false
	}
	does, words, _ := strings.Cut(rest, " ")
	p := Plan{When: at, Does: PlanDoes(does)}
	switch p.Does {
	case Deal:
		p.Card, p.To = words, e.By
		return p, words != ""
	case Happen:
		p.What, ok = HappeningOf(Event{Do: Happens, Where: e.Where, By: e.By, Train: e.Train, Words: words})
		return p, ok
	case Fail, Mend:
		p.Circuit, p.Where = e.Circuit, e.Where
		return p, words == "" && slices.Contains([]Place{AtBell, AtNeedle, AtPhone}, e.Where)
	}
	return p, false
}

// Unplan is the act of taking a plan, the record entry of that number, off the list: it is withdrawn, or it has been done.
func Unplan(line uint64, words string) Event {
	return Event{Do: Plans, Off: true, Line: line, Words: words}
}

// plans is a plan made, or taken off the list.
func (a *act) plans() error {
	if a.e.Off {
		if a.e.Line == 0 {
			return ErrNoEntry
		}
		return nil
	}
	p, ok := PlanOf(a.e)
	if !ok {
		return ErrNoSense
	}
	if p.Does == Happen {
		return a.canHappen(p.What)
	}
	if _, is := a.r.boxNo[p.To]; p.To != "" && !is {
		return ErrNoSuchBox
	}
	if _, is := a.r.circuitNo[p.Circuit]; p.Circuit != "" && !is {
		return ErrNoSuchLine
	}
	return nil
}
