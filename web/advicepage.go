package web

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"taillamp/block"
	"taillamp/web/sitting"
)

// counsel is the next act as a page tells it to the signaller who asked, and to nobody else (C2).
type counsel struct {
	Kind    string          `json:"kind"` // what sort of act: one that was done right is told later and later (C3)
	Act     string          `json:"act"`
	Why     string          `json:"why"`
	Rule    string          `json:"rule,omitempty"` // the regulation, and where it is from memory, that
	Circuit block.CircuitID `json:"circuit,omitempty"`
	Section block.SectionID `json:"section,omitempty"`
	Show    block.Aspect    `json:"show,omitempty"`
	Answers bool            `json:"answers,omitempty"`
}

// advice answers a signaller who asks what is to be done next. It is a question of his own tablet's, so that no other
// hears of it, and it does nothing.
func (s *server) advice(w http.ResponseWriter, r *http.Request) {
	box := boxOf(r)
	all, v, err := s.live.Advise(r.Context(), sitting.Seat{Box: box, As: sitting.Work, Ticket: s.kept(r, box)})
	if errors.Is(err, sitting.ErrWrongTicket) {
		http.Error(w, "Only the signaller of a box is advised there.", http.StatusForbidden)
		return
	}
	if err != nil {
		s.unwell(w, err)
		return
	}
	if s.bench != nil { // an old hand does what is not the learner's
		all = slices.DeleteFunc(all, func(a block.Advice) bool { return !s.bench.lesson.Does(a) })
	}
	if len(all) == 0 {
		s.json(w, http.StatusOK, counsel{Act: waitWords(v)})
		return
	}
	s.json(w, http.StatusOK, s.counselOf(all[0], v))
}

// waitWords is what there is to do where nothing is to be signalled.
func waitWords(v block.View) string {
	switch {
	case v.Paused:
		return "The evening is paused."
	case !v.Open:
		return "The box is switched out."
	}
	for _, i := range v.Shelf {
		for _, l := range i.Lines {
			if k := l.Token; k != nil && k.Holding && !k.Out {
				if strings.HasPrefix(l.Standing, "ACC") && !k.Mine || k.Shunt && !k.Asks {
					return "Keep the bell to " + i.Name + " held down until he has drawn his token."
				}
				return "Let go of the bell to " + i.Name + ": no train is accepted."
			}
			comes := l.ToMe || l.Token != nil && !l.Token.Mine
			if comes && strings.HasPrefix(l.Standing, "LINE") && !l.Out {
				return "Watch for the train from " + i.Name + ". When it has passed complete, hold the tail lamp."
			}
		}
	}
	return "Nothing to do now."
}

// counselOf puts one piece of advice into words.
func (s *server) counselOf(a block.Advice, v block.View) counsel {
	c := counsel{Kind: string(a.Do) + " " + string(a.Key) + string(a.Show) + string(a.Where), Why: a.Why, Circuit: a.Circuit,
		Section: a.Section, Show: a.Show, Answers: a.Answers}
	name := string(a.Circuit)
	for _, i := range v.Shelf {
		if i.Circuit == a.Circuit {
			name = i.Name
		}
	}
	switch a.Do {
	case block.Rung:
		c.Act = fmt.Sprintf("Ring %s to %s.", a.Beats, name)
		if a.Answers {
			c.Act = fmt.Sprintf("Answer %s: ring %s.", name, a.Beats)
		}
		if a.Held {
			c.Act = strings.TrimSuffix(c.Act, ".") + ", and keep the last beat held."
		}
		c.Rule = s.ruleOf(a)
	case block.Turn:
		c.Act = fmt.Sprintf("Turn the needle for trains from %s to %s.", name, strings.ToLower(aspectWords(a.Show)))
	case block.Token:
		c.Act = tokenWords(a.Where)
		if strings.Contains(a.Why, "staff") {
			c.Act = strings.Replace(c.Act, "token", "staff", 1)
		}
	case block.Hold:
		c.Act = "Keep the bell to " + name + " held down."
	default:
		c.Act = a.Why
		c.Why = ""
	}
	return c
}

// tokenWords are what is done with a token.
func tokenWords(where block.Place) string {
	switch where {
	case block.Drawn:
		return "Draw a token."
	case block.Handed:
		return "Give the token to the driver."
	case block.GivenUp:
		return "Take the token from the driver."
	case block.ShownTo:
		return "Show the driver the staff."
	case block.Unlocked:
		return "Turn the key of the ticket box."
	case block.Issued:
		return "Give the driver a ticket."
	case block.Spent:
		return "Take the ticket and cancel it."
	}
	return "Put the token back."
}

// ruleOf names the regulation that a code is sent under. The book says there what is from memory (G13).
func (s *server) ruleOf(a block.Advice) string {
	for _, c := range s.live.Rules().Circuits() {
		if c.ID != a.Circuit {
			continue
		}
		if code, ok := c.Book.Key(a.Key); ok {
			return code.Regulation
		}
	}
	return ""
}
