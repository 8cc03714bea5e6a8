package sim

import (
	"slices"
	"time"

	"taillamp/block"
)

// Intent is an act that a signaller has made up his mind to, and when he will do it.
type Intent struct {
	block.Advice
	At time.Time
}

// Signaller works one box. He looks at what his box can see and says what he will do and when; he never touches
// anything himself.
type Signaller struct {
	Box    block.BoxID
	rules  *block.Rules
	temper Temper
	chance chance
	intent Intent
	minded bool
	leaves func(block.Advice) bool // what he leaves undone; nil: nothing
}

// NewSignaller is a signaller of that temper for a box. Two of the same seed are the same person.
func NewSignaller(r *block.Rules, box block.BoxID, t Temper, seed uint64) *Signaller {
	return &Signaller{Box: box, rules: r, temper: t, chance: newChance(seed, string(box))}
}

// Think looks at the box as it stands. If there is something to do he says what and when; else when he would look
// again although nothing happens, zero if never.
func (n *Signaller) Think(v block.View, now time.Time) (i Intent, acts bool, wake time.Time) {
	advice := slices.DeleteFunc(n.rules.Next(v), func(a block.Advice) bool {
		byTrain := a.Do == block.Token && slices.Contains([]block.Place{block.Handed, block.GivenUp, block.Spent}, a.Where) // when, the train says
		return byTrain || n.leaves != nil && n.leaves(a)
	})
	if len(advice) == 0 {
		n.minded = false
		return Intent{}, false, later(v, now)
	}
	if n.minded && n.intent.Pressing() <= advice[0].Pressing() {
		for _, a := range advice {
			if same(a, n.intent.Advice) {
				n.intent.Advice = a
				return n.intent, true, time.Time{}
			}
		}
	}
	n.intent = Intent{Advice: advice[0], At: now.Add(n.temper.takes(n.chance, advice[0]))}
	n.minded = true
	return n.intent, true, time.Time{}
}

// Done tells him that his act is done.
func (n *Signaller) Done() { n.minded = false }

// same tells whether two pieces of advice are the same act.
func same(a, b block.Advice) bool {
	return a.Do == b.Do && a.Circuit == b.Circuit && a.Section == b.Section && a.Show == b.Show && a.Train == b.Train &&
		a.Answers == b.Answers && a.Where == b.Where && a.Held == b.Held && a.Beats.Equal(b.Beats)
}

// later is the next moment at which waiting alone gives him something to do: to ask again, or to offer a train.
func later(v block.View, now time.Time) time.Time {
	var first time.Time
	at := func(t time.Time) {
		if t.After(now) && (first.IsZero() || t.Before(first)) {
			first = t
		}
	}
	for _, i := range v.Shelf {
		if i.Called == v.Box {
			at(i.CalledAt.Add(block.AskAgain))
		}
		for _, w := range i.Waiting {
			if w.By == v.Box {
				at(w.First.Add(block.AskAgain))
			}
		}
		for _, w := range i.Offers {
			if w.By == v.Box {
				at(w.First.Add(block.OfferAgain))
			}
		}
		for _, l := range i.Lines {
			if l.Token != nil && !l.Token.Failed.IsZero() {
				at(now.Add(time.Minute)) // lineman and pilotman take their time
			}
		}
		if i.Has == i.To {
			at(i.HasSince.Add(block.AskAgain)) // he called and says nothing
		}
	}
	for _, s := range v.Sends {
		at(s.From)
	}
	return first
}
