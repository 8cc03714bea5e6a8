package web

import (
	"errors"
	"net/http"
	"strings"

	"taillamp/block"
	"taillamp/web/sitting"
)

// relief is where one at another tablet asks for a box that has its signaller, and where that one answers. do is ask,
// sign, keep (the register), allow or no. Whoever asks gets a ticket that is good for nothing until it has been allowed.
func (s *server) relief(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, sitting.FrameLimit)
	box := boxOf(r)
	asks := r.PostFormValue("do")
	if _, mine := s.seatOf(r, box); !mine && (asks == "ask" || asks == "keep") && s.kept(r, box) == "" && !s.mayEnter(w, r, box, false) {
		return // it has been answered
	}
	state, err := s.reliefAct(w, r, box)
	if err != nil {
		words := wordsOf(s.live.Rules(), err)
		var taken *sitting.TakenError
		if errors.As(err, &taken) {
			words.words = "Somebody else asks for that box already. Wait for his answer."
		}
		s.json(w, http.StatusConflict, map[string]string{"why": words.why, "words": words.words})
		return
	}
	s.json(w, http.StatusOK, map[string]string{"state": state})
}

// reliefAct gives how the asking stands: waits, may, yours; or what the signaller answered.
func (s *server) reliefAct(w http.ResponseWriter, r *http.Request, box block.BoxID) (string, error) {
	ctx, who := r.Context(), strings.TrimSpace(r.PostFormValue("who"))
	seat := sitting.Seat{Box: box, As: sitting.Work, Ticket: s.kept(r, box)}
	switch do := r.PostFormValue("do"); do {
	case "ask", "keep":
		as := "waits"
		if do == "keep" {
			seat = sitting.Seat{Box: box, As: sitting.BookLad, Ticket: s.keptAt(r, s.ladsCookie(box))}
		}
		if seat.Ticket == "" {
			seat.Ticket = sitting.NewTicket()
		}
		allowed, err := s.live.AskFor(ctx, seat, who)
		if err != nil {
			return "", err
		}
		if name := s.cookie(box); seat.As == sitting.Work {
			s.keepTicket(w, r, name, seat.Ticket)
		} else {
			s.keepTicket(w, r, s.ladsCookie(box), seat.Ticket)
		}
		if allowed {
			as = "may"
		}
		return as, nil
	case "sign":
		return "yours", s.live.Relieve(ctx, seat, who)
	case "allow":
		return "allowed", s.live.Allow(ctx, seat, true)
	case "no":
		return "refused", s.live.Allow(ctx, seat, false)
	}
	return "", sitting.ErrNoAct
}

// read is a signaller's word that he has read what the owner told him.
func (s *server) read(w http.ResponseWriter, r *http.Request) {
	seat, _ := s.seatOf(r, boxOf(r))
	if err := s.live.Read(r.Context(), seat); err != nil {
		words := wordsOf(s.live.Rules(), err)
		s.json(w, http.StatusConflict, map[string]string{"why": words.why, "words": words.words})
		return
	}
	s.json(w, http.StatusOK, map[string]string{"state": "read"})
}

// ladsCookie is where a browser keeps the ticket of one who keeps the register of a box beside its signaller.
func (s *server) ladsCookie(box block.BoxID) string {
	return "book-" + s.live.Name() + "-" + string(box)
}

// keeperOf is the seat of a browser that keeps the register of a box, and whether it may.
func (s *server) keeperOf(r *http.Request, box block.BoxID) (sitting.Seat, bool) {
	seat := sitting.Seat{Box: box, As: sitting.BookLad, Ticket: s.keptAt(r, s.ladsCookie(box))}
	return seat, seat.Ticket != "" && s.live.Keeps(r.Context(), seat)
}

// standing tells in words how things stand in a box, for one who is to take it over: what is in each section, what is
// asked or unanswered, which lines are blocked back, where collars and tokens are.
func (s *server) standing(v *block.View) []string {
	var all []string
	for _, i := range v.Shelf {
		for _, l := range i.Lines {
			all = append(all, i.Name+", "+lineStands(l))
		}
		if i.Danger {
			all = append(all, i.Name+": six beats are in force. Let nothing go that way.")
		}
		if m := i.Pilot; m != nil {
			all = append(all, i.Name+": a pilotman works the line. He is "+pilotIs(m, i.Name)+".")
		}
	}
	for _, w := range s.waits(*v) {
		all = append(all, "This box "+w)
	}
	return all
}

// lineStands is how one line stands, as the box knows it by bells, needles and tokens.
func lineStands(l block.LineView) string {
	words := l.Line + ": "
	has := func(part string) bool { return strings.Contains(l.Standing, part) }
	switch {
	case l.Token != nil:
		words += tokenStands(l.Token)
	default:
		words += strings.ToLower(aspectWords(l.Shows))
	}
	if len(l.Trains) > 0 || has("LINE") {
		words += ", a train in the section"
	} else if has("OFF") {
		words += ", a train offered"
	} else if has("ACC") || has("ACW") || l.Shows == block.Clear {
		words += ", a train accepted"
	}
	if l.Train != "" {
		words += " (" + string(l.Train) + ")"
	}
	if l.Out {
		words += ", out of section still to be given"
	}
	if l.Foul != "" {
		words += ", something in its way"
	}
	if l.Engineers {
		words += ", given up to the engineers"
	}
	if l.Signal == "off" {
		words += ", its signal off"
	}
	if l.Collar {
		words += ", a collar on it"
	}
	return words + "."
}

func tokenStands(t *block.TokenView) string {
	switch {
	case t.Hand == "box":
		return "the token is out and in this box"
	case t.Hand == "train":
		return "the token is with the train"
	case t.Out:
		return "a token is out"
	}
	return "all tokens in"
}
