package web

import (
	"bytes"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/web/sitting"
)

// visitPage is the screen for people who look on. Nothing on it can be pressed.
type visitPage struct {
	Title, Sitting string
	Scene          scene
	Last           string   // the last signal in words; empty: there was none
	Day            []string // what has been said so far, with its time, the oldest first
	Next           []string // trains to come
}

// scene is the line as the bells have it, as a picture of 1600 by 560.
type scene struct {
	Huts []hut
	Ways []way
}

// hut is one box.
type hut struct {
	X, Y int
	Name string
	Lit  bool // somebody is on duty
}

// way is one line between two boxes that work with one another.
type way struct {
	Points string // of the drawn track, as SVG has them
	State  string // idle, asked, promised, train, danger
	Word   string // what the bells have said of it
	Train  string // believed to be there, or asked for; empty: none
	X, Y   int    // the middle of the track
	Card   int    // from there to the middle of the card that says so
}

// Half is where the thread of the card ends.
func (w way) Half() int { return w.Card * 2 / 3 }

// The measures of the picture.
const (
	sceneWide   = 1600
	sceneMargin = 130
	sceneRow    = 240 // from one row of boxes to the next
	sceneTop    = 150
	trackApart  = 20  // of each track from the middle between both
	cardAbove   = -96 // from a Down track to the card over it
	cardBelow   = 112 // from an Up track to the card under it
)

// visitors shows the line to people who look on.
func (s *server) visitors(w http.ResponseWriter, r *http.Request) {
	_, state := s.live.Snapshot()
	page := visitPage{Title: s.title, Sitting: s.live.Name(), Scene: s.sceneOf(state), Next: s.comingTrains()}
	o := newOnlooker(s.live.Rules())
	for e, err := range s.live.Entries(r.Context()) {
		if err != nil {
			s.unwell(w, err)
			return
		}
		for _, said := range o.all(e.Outcome) {
			page.Last = said
			page.Day = append(page.Day, s.saidAt(e, said))
		}
	}
	s.draw(w, "visitors.html", page)
}

// all is what an event's signals say to visitors.
func (o *onlooker) all(out block.Outcome) []string {
	var all []string
	for _, c := range out.Changes {
		if c.Signal != nil {
			if words := o.says(c.Signal); words != "" {
				all = append(all, words)
			}
		}
	}
	return all
}

// saidAt is a line of the day.
func (s *server) saidAt(e block.Entry, said string) string {
	half := register.Rounding(s.live.Rules().Layout().Settings.HalfMinutes)
	return half.Full(s.live.District().At(e.Event.At)) + "  " + said
}

// visited is what a visitors' screen is told of one fact.
type visited struct {
	Scene string   `json:"scene"` // the picture, drawn anew
	Says  []string `json:"says,omitempty"`
	Day   []string `json:"day,omitempty"`
	Next  []string `json:"next"`
}

func (s *server) visitedBy(f *sitting.Fact) (*visited, error) {
	t, err := s.sheets.templates()
	if err != nil {
		return nil, err
	}
	var picture bytes.Buffer
	if err := t.ExecuteTemplate(&picture, "scene", s.sceneOf(f.State)); err != nil {
		return nil, err
	}
	v := &visited{Scene: picture.String(), Says: newOnlooker(s.live.Rules()).all(f.Entry.Outcome), Next: s.comingTrains()}
	for _, said := range v.Says {
		v.Day = append(v.Day, s.saidAt(f.Entry, said))
	}
	return v, nil
}

// sceneOf draws the line as the bells have it.
func (s *server) sceneOf(state block.State) scene {
	r := s.live.Rules()
	names := shortNames(namesOf(r))
	stops := lineOf(r)
	columns := 1
	for _, p := range stops {
		columns = max(columns, p.Column)
	}
	at := make(map[block.BoxID]hut)
	var sc scene
	for _, p := range stops {
		h := hut{X: sceneMargin, Y: sceneTop + (p.Row-1)*sceneRow, Name: names[p.Box], Lit: r.OnDuty(state, p.Box)}
		if columns > 1 {
			h.X += (p.Column - 1) * (sceneWide - 2*sceneMargin) / (columns - 1)
		}
		at[p.Box] = h
		sc.Huts = append(sc.Huts, h)
	}
	o := newOnlooker(r)
	for _, c := range r.Circuits() {
		if !r.Works(state, c.ID) {
			continue
		}
		for _, sec := range c.Sections {
			along := []hut{at[c.Boxes[0]]}
			for _, closed := range c.Over {
				along = append(along, at[closed])
			}
			sc.Ways = append(sc.Ways, o.way(state, c, sec, append(along, at[c.Boxes[1]])))
		}
	}
	return sc
}

// way draws one line: Down trains on the upper track, Up trains on the lower, a single line in the middle.
func (o *onlooker) way(state block.State, c block.Circuit, sec block.Section, along []hut) way {
	w := way{State: "idle", Card: cardAbove}
	shift := 0
	switch sec.Way {
	case "down":
		shift = -trackApart
	case "up":
		shift = trackApart
	}
	if c.Method == "permissive" {
		shift *= 3
	}
	if shift > 0 {
		w.Card = cardBelow
	}
	for _, h := range along {
		w.Points += fmt.Sprintf("%d,%d ", h.X, h.Y+shift)
	}
	half := len(along) / 2
	w.X, w.Y = (along[half-1].X+along[half].X)/2, (along[half-1].Y+along[half].Y)/2+shift
	l, ok := o.rules.Line(state, sec.ID)
	if !ok {
		return w
	}
	key := o.classOn(state, sec)
	train := ""
	if code, ok := o.code(c.ID, key); ok {
		train = trainWords(code.Means)
	}
	switch {
	case l.Danger:
		w.State, w.Word = "danger", "trains are being stopped"
	case l.InSection:
		w.State, w.Word, w.Train = "train", "believed here", orTrain(train)
	case l.Accepted:
		w.State, w.Word, w.Train = "promised", "may come", orTrain(train)
	case l.Offered:
		w.State, w.Word, w.Train = "asked", "asked for", orTrain(train)
	}
	return w
}

func orTrain(words string) string {
	if words == "" {
		return "train"
	}
	return words
}

// classOn is the class of train that the bells speak of on a line.
func (o *onlooker) classOn(state block.State, sec block.Section) block.CodeKey {
	for _, box := range []block.BoxID{sec.Rear, sec.Advance} {
		for _, i := range o.rules.View(state, box).Shelf {
			for _, l := range i.Lines {
				if l.Section != sec.ID {
					continue
				}
				if l.Key != "" {
					return l.Key
				}
			}
			for _, p := range i.Offers {
				if p.Section == sec.ID {
					return p.Key
				}
			}
		}
	}
	return ""
}

// coming is how many trains of the sequence a visitor is told of.
const coming = 6

// comingTrains are the next trains of the sequence: by the clock, or without one from its beginning.
func (s *server) comingTrains() []string {
	names := shortNames(namesOf(s.live.Rules()))
	now := -1
	if s.live.Rules().Layout().Clock.Kind != "none" {
		t := s.live.District().At(s.live.Now())
		now = t.Hour()*3600 + t.Minute()*60
	}
	type train struct {
		at   int
		says string
	}
	var all []train
	_, state := s.live.Snapshot()
	for _, w := range state.Timetable().Workings {
		at := -1
		if len(w.Calls) > 0 {
			at = w.Calls[0].Depart
		}
		if at >= 0 && at < now {
			continue
		}
		says := names[w.From] + " to " + names[w.To]
		if at >= 0 {
			says = strconv.Itoa(at/3600) + "." + twoDigits(at/60%60) + "  " + says
		}
		all = append(all, train{at, says})
	}
	slices.SortStableFunc(all, func(a, b train) int { return a.at - b.at })
	var next []string
	for _, t := range all[:min(coming, len(all))] {
		next = append(next, t.says)
	}
	return next
}

func twoDigits(n int) string {
	if n < 10 {
		return "0" + strconv.Itoa(n)
	}
	return strconv.Itoa(n)
}
