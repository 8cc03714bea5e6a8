package web

import (
	"net/http"
	"slices"
	"strings"
	"unicode/utf8"

	"taillamp/block"
	"taillamp/web/sitting"
)

// formsPage is the drawer of printed forms of a box: what is done by paper and by word of mouth, and by no instrument. A
// pilotman works in place of a blocked line or of tokens that cannot be had; a line is given up to the engineers and
// handed back (other-methods reference, 9.3).
type formsPage struct {
	Title, Name, Sitting string
	Box                  block.BoxID
	Working              bool
	Instructs            bool
	Fault                string
	Lines                []formLine
	Trains               []formTrain // those that are to come
}

// formTrain is a train that a form can be made out for.
type formTrain struct {
	Train block.TrainID
	Words string
}

// formLine is a line of the box with its two forms.
type formLine struct {
	Section   block.SectionID
	Line, To  string
	Single    bool
	Open      bool // something of it is in force
	Token     *block.TokenView
	Siding    string // between the two, with an instrument of its own
	Engineers bool
	Pilot     *block.PilotView
	Where     string // the pilotman is, in words
}

// forms shows the forms of a box, and takes them.
func (s *server) forms(w http.ResponseWriter, r *http.Request) {
	box := boxOf(r)
	page := formsPage{Title: s.title, Name: namesOf(s.live.Rules())[box], Sitting: s.live.Name(), Box: box}
	seat, working := s.seatOf(r, box)
	page.Working, page.Instructs = working, !working && s.instructs(r)
	if r.Method == http.MethodPost {
		r.Body = http.MaxBytesReader(w, r.Body, sitting.FrameLimit)
		e, why := formEvent(r)
		if why == "" {
			if _, err := s.live.Act(r.Context(), seat, 0, e); err == nil {
				http.Redirect(w, r, r.URL.Path, http.StatusSeeOther)
				return
			} else {
				why = wordsOf(s.live.Rules(), err).words
			}
		}
		page.Fault = why
		w.WriteHeader(http.StatusConflict)
	}
	p, err := s.live.Present(r.Context(), sitting.Seat{Box: box, As: sitting.LooksOn})
	if err != nil {
		s.unwell(w, err)
		return
	}
	for _, n := range noticeOf(p.Notice, shortNames(namesOf(s.live.Rules()))) {
		page.Trains = append(page.Trains, formTrain{n.Train, n.Booked + " " + n.Words})
	}
	page.lines(s.live.Rules(), p.View)
	s.draw(w, "forms.html", page)
}

// lines fills in how each line of the shelf stands.
func (p *formsPage) lines(r *block.Rules, v *block.View) {
	for _, i := range v.Shelf {
		if i.Method == "permissive" {
			continue
		}
		for _, l := range i.Lines {
			f := formLine{Section: l.Section, Line: l.Line, To: i.Name, Single: l.Way == "both", Engineers: l.Engineers}
			if m := i.Pilot; m != nil && m.Section == l.Section {
				f.Pilot = m
				f.Where = pilotIs(m, i.Name)
			}
			f.Token, f.Siding = l.Token, sidingOf(r, l.Section)
			f.Open = f.Engineers || f.Pilot != nil || f.Token != nil && (f.Token.Bagged > 0 || f.Token.Siding > 0)
			p.Lines = append(p.Lines, f)
		}
	}
	slices.SortStableFunc(p.Lines, func(a, b formLine) int { return btoi(b.Open) - btoi(a.Open) })
}

// sidingOf is the siding with an instrument of its own on a single line; empty if it has none.
func sidingOf(r *block.Rules, id block.SectionID) string {
	s, _ := r.Section(id)
	for _, b := range r.Layout().Between {
		for _, l := range b.Lines {
			if len(b.Boxes) == 2 && b.Boxes[0] == s.Rear && b.Boxes[1] == s.Advance && l.Name == s.Line {
				return l.Siding
			}
		}
	}
	return ""
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// pilotIs says where the pilotman is.
func pilotIs(m *block.PilotView, other string) string {
	switch {
	case m.Riding && m.With != "":
		return "with train " + string(m.With)
	case m.Riding:
		return "with a train"
	case m.Here:
		return "at this box"
	}
	return "at " + other
}

// formEvent is what a form that was sent in says was done; else in words why it says nothing.
func formEvent(r *http.Request) (block.Event, string) {
	e := block.Event{Section: block.SectionID(r.PostFormValue("section")), Words: strings.TrimSpace(r.PostFormValue("words"))}
	if utf8.RuneCountInString(e.Words) > remarkLimit {
		return e, "That is too long for the form."
	}
	train := block.TrainID(strings.TrimSpace(r.PostFormValue("train")))
	switch r.PostFormValue("do") {
	case "sign":
		e.Do, e.Where = block.Pilot, block.Form
	case "withdraw":
		e.Do, e.Where, e.Off = block.Pilot, block.Form, true
	case "comes":
		e.Do, e.Where = block.Pilot, block.Comes
	case "rides", "ticket":
		e.Do, e.Where, e.Train = block.Pilot, block.Place(r.PostFormValue("do")), train
		if train == "" {
			return e, "Write on the form which train it is for."
		}
	case "taken", "put":
		e.Do, e.Where = block.Token, block.Place(r.PostFormValue("do"))
		if e.Words == "" {
			return e, "Enter the number of each token."
		}
	case "shut-in", "let-out":
		e.Do, e.Where, e.Train, e.Words = block.Token, block.Place(r.PostFormValue("do")), train, ""
		if train == "" {
			return e, "Write on the form which train it is for."
		}
	case "give":
		e.Do = block.Engineers
	case "back":
		e.Do, e.Off = block.Engineers, true
	default:
		return e, "That form is not known here. Load the page anew."
	}
	return e, ""
}
