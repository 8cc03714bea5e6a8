package register

import (
	"iter"
	"slices"
	"time"

	"taillamp/block"
)

// Answered is what a box took its time over.
type Answered string

// What is measured.
const (
	Attentions  Answered = "attention"  // from a call for attention to its answer
	Acceptances Answered = "acceptance" // from an offer to its repetition
	OutsOf      Answered = "out"        // from the tail being seen to train out of section
)

// AnswerTimes is how long the answers of one kind took at one box, in the order in which they were given. It is a
// distribution, not a mark: what was waited for with reason is in it too.
type AnswerTimes struct {
	Box  block.BoxID
	Kind Answered
	Took []time.Duration
}

// Median is the middle one; Least and Most hold half of them between them (the first and third quartile). Zero of none.
func (a AnswerTimes) Median() time.Duration { return a.share(0.5) }

// Least is the first quartile.
func (a AnswerTimes) Least() time.Duration { return a.share(0.25) }

// Most is the third.
func (a AnswerTimes) Most() time.Duration { return a.share(0.75) }

func (a AnswerTimes) share(p float64) time.Duration {
	if len(a.Took) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(a.Took))
	at := p * float64(len(sorted)-1) // between its neighbours, as the median of an even number lies
	low := int(at)
	if low+1 >= len(sorted) {
		return sorted[low]
	}
	return sorted[low] + time.Duration((at-float64(low))*float64(sorted[low+1]-sorted[low]))
}

// TimesOf measures every box's answers, boxes in line order and the kinds in the order above. What a pause of the evening
// fell into is left out. With an error it has what could be read before.
func TimesOf(r *block.Rules, entries iter.Seq2[block.Entry, error]) ([]AnswerTimes, error) {
	t := timing{r: r, calls: map[asked]time.Time{}, offers: map[asked]time.Time{}, seen: map[block.SectionID]time.Time{}}
	for _, b := range r.Layout().Boxes {
		for _, k := range []Answered{Attentions, Acceptances, OutsOf} {
			t.all = append(t.all, AnswerTimes{Box: b.ID, Kind: k})
		}
	}
	for e, err := range entries {
		if err != nil {
			return t.all, err
		}
		if e.Mark == "" {
			t.read(e)
		}
	}
	return t.all, nil
}

// asked is who waits for an answer on a circuit or line.
type asked struct {
	at string
	by block.BoxID
}

type timing struct {
	r      *block.Rules
	all    []AnswerTimes
	calls  map[asked]time.Time
	offers map[asked]time.Time
	seen   map[block.SectionID]time.Time
}

func (t *timing) read(e block.Entry) {
	if e.Event.Do == block.Pace {
		clear(t.calls)
		clear(t.offers)
		clear(t.seen)
	}
	if e.Event.Do == block.Train && e.Event.Where == block.Passes && e.Outcome.Ending == block.Done {
		t.seen[e.Event.Section] = e.Event.At
	}
	for _, c := range e.Outcome.Changes {
		if s := c.Signal; s != nil {
			t.signal(s)
		}
	}
}

func (t *timing) signal(s *block.Signal) {
	switch {
	case s.Key == "call-attention" && s.Sense == block.Own:
		began(t.calls, asked{string(s.Circuit), s.By}, s.First)
	case s.Key == "call-attention" && s.Sense == block.Answer:
		t.ended(t.calls, string(s.Circuit), s, Attentions)
	case s.Did == block.Offered && s.Sense == block.Own:
		began(t.offers, asked{string(s.Section), s.By}, s.First)
	case s.Did == block.Accepted && s.Sense == block.Answer:
		t.ended(t.offers, string(s.Section), s, Acceptances)
	case s.Did == block.OutOf && s.Sense == block.Own:
		if at, ok := t.seen[s.Section]; ok && !s.First.Before(at) {
			t.took(s.By, OutsOf, s.First.Sub(at))
		}
		delete(t.seen, s.Section)
	}
}

// began notes the first time of asking: who asks again still waits for the first.
func began(open map[asked]time.Time, k asked, at time.Time) {
	if _, asks := open[k]; !asks {
		open[k] = at
	}
}

func (t *timing) ended(open map[asked]time.Time, at string, s *block.Signal, kind Answered) {
	for k, since := range open { // order does not matter: the other end alone is on that circuit or line
		if k.at == at && k.by != s.By {
			t.took(s.By, kind, s.First.Sub(since))
			delete(open, k)
		}
	}
}

func (t *timing) took(box block.BoxID, kind Answered, d time.Duration) {
	for n := range t.all {
		if a := &t.all[n]; a.Box == box && a.Kind == kind {
			a.Took = append(a.Took, d)
		}
	}
}
