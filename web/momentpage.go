package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"taillamp/block"
)

// momentPage is the district as it stood after one entry of the record.
type momentPage struct {
	Title, Sitting string
	Time           string // of the district
	Entry          uint64
	Words          []string // what happened then
	Boxes          []momentBox
	Lines          []momentLine
	First, Before  uint64 // entries to go to; 0: there is none
	Next, Last     uint64
	Gap            int64  // milliseconds from this step to the next
	Rings          string // JSON: the strokes since the step before, for the page's script
}

// momentBox is who was on duty.
type momentBox struct {
	Name string
	Duty bool
}

// momentLine is one line between two boxes that work with one another at that moment.
type momentLine struct {
	Name, From, To string
	Shows          block.Aspect
	Word           string   // of the needle
	Also           []string // what else there is to say
}

// stroke is one beat of a bell to be heard again.
type stroke struct {
	Sound string `json:"sound"`
	After int64  `json:"after"` // milliseconds after the first
}

// leadIn is how long before a finding one begins to look.
const leadIn = 20 * time.Second

// moment steps through the sitting. ?entry=N shows the district after that entry; ?finding=N a little before it.
func (s *server) moment(w http.ResponseWriter, r *http.Request) {
	entries, err := s.live.Past(r.Context())
	if err != nil {
		s.unwell(w, err)
		return
	}
	at := momentAsked(entries, r)
	var after uint64
	if at >= 0 {
		after = entries[at].Seq
	}
	state, err := s.live.Stood(r.Context(), after)
	if err != nil {
		s.unwell(w, err)
		return
	}
	s.draw(w, "moment.html", s.drawMoment(entries, at, state))
}

// momentAsked finds the place in the record: the last step that is not after what was asked for. −1: before the first.
func momentAsked(entries []block.Entry, r *http.Request) int {
	number := func(name string) uint64 {
		n, err := strconv.ParseUint(r.FormValue(name), 10, 64)
		if err != nil {
			return 0
		}
		return n
	}
	until := func(e *block.Entry) bool { return true }
	if n := number("entry"); n > 0 {
		until = func(e *block.Entry) bool { return e.Seq <= n }
	} else if n := number("finding"); n > 0 {
		var from time.Time
		for i := range entries {
			if e := &entries[i]; e.Seq <= n && e.Mark == "" {
				from = e.Event.At.Add(-leadIn)
			}
		}
		until = func(e *block.Entry) bool { return !e.Event.At.After(from) }
	}
	at := -1
	for i := range entries {
		if isStep(&entries[i]) && until(&entries[i]) {
			at = i
		}
	}
	return at
}

// isStep tells whether an entry changed anything that is seen, or was said by telephone. Single beats are heard with the
// code that they make.
func isStep(e *block.Entry) bool {
	if e.Event.Do == block.Call && e.Event.Words != "" {
		return true
	}
	for i := range e.Outcome.Changes {
		if e.Outcome.Changes[i].Code == nil {
			return true
		}
	}
	return false
}

func (s *server) drawMoment(entries []block.Entry, at int, state block.State) momentPage {
	rules := s.live.Rules()
	names := namesOf(rules)
	page := momentPage{Title: s.title, Sitting: s.live.Name(), Rings: "[]"}
	before, last := -1, -1
	for i := range entries {
		if !isStep(&entries[i]) {
			continue
		}
		last = i
		switch {
		case i < at:
			before = i
			if page.First == 0 {
				page.First = entries[i].Seq
			}
		case i > at && page.Next == 0:
			page.Next = entries[i].Seq
			if at >= 0 {
				page.Gap = entries[i].Event.At.Sub(entries[at].Event.At).Milliseconds()
			}
		}
	}
	if before >= 0 {
		page.Before = entries[before].Seq
	}
	if last > at {
		page.Last = entries[last].Seq
	}
	page.Time = s.live.District().At(s.live.Header().Began).Format("15.04:05")
	if at >= 0 {
		page.Entry = entries[at].Seq
		page.Time = s.live.District().At(entries[at].Event.At).Format("15.04:05")
		page.Words = s.happened(&entries[at], names)
		page.Rings = s.strokes(entries[before+1 : at+1])
	}
	for _, b := range rules.Layout().Boxes {
		page.Boxes = append(page.Boxes, momentBox{b.Name, rules.OnDuty(state, b.ID)})
	}
	for _, l := range rules.Lines(state) {
		page.Lines = append(page.Lines, lineThen(l, names))
	}
	return page
}

// lineThen puts a line as it stood into words.
func lineThen(l block.LineState, names map[block.BoxID]string) momentLine {
	m := momentLine{Name: l.Section.Line, From: names[l.Section.Rear], To: names[l.Section.Advance], Shows: l.Shows,
		Word: needleWord(l.Shows)}
	say := func(is bool, words string) {
		if is {
			m.Also = append(m.Also, words)
		}
	}
	say(l.Count > 0, fmt.Sprintf("%d on the line", l.Count))
	say(l.Offered, "offered")
	say(l.Accepted && !l.Warning, "accepted")
	say(l.Accepted && l.Warning, "accepted under regulation 5")
	say(l.InSection, "train in section")
	say(l.Doubt, "not known to be whole")
	say(l.Inside || l.Outside, "blocked back")
	say(l.Danger, "obstruction danger")
	say(l.Signal, "section signal off")
	say(l.Token.Out && l.Token.Train == "", "token out at "+names[l.Token.Box])
	say(l.Token.Train != "", "token with train "+string(l.Token.Train))
	say(l.BellDead, "bell failed")
	say(l.NeedleDead, "needle failed")
	return m
}

func needleWord(a block.Aspect) string {
	switch a {
	case block.Clear:
		return "line clear"
	case block.Occupied:
		return "train on line"
	}
	return "line blocked"
}

// happened says what one entry changed.
func (s *server) happened(e *block.Entry, names map[block.BoxID]string) []string {
	var all []string
	if e.Event.Do == block.Call && e.Event.Words != "" {
		all = append(all, fmt.Sprintf("%s by telephone: “%s”", names[e.Event.By], e.Event.Words))
	}
	for i := range e.Outcome.Changes {
		switch c := &e.Outcome.Changes[i]; {
		case c.Signal != nil:
			all = append(all, s.rangThen(c.Signal, names))
		case c.Indicator != nil:
			all = append(all, fmt.Sprintf("%s: %s", c.Indicator.Section, needleWord(c.Indicator.Aspect)))
		case c.Lever != nil && c.Lever.Off:
			all = append(all, fmt.Sprintf("%s: section signal off", c.Lever.Section))
		case c.Lever != nil:
			all = append(all, fmt.Sprintf("%s: section signal back at danger", c.Lever.Section))
		case c.Token != nil:
			all = append(all, fmt.Sprintf("%s: token %s at %s", c.Token.Section, e.Event.Where, names[c.Token.Box]))
		case c.Train != nil:
			words := fmt.Sprintf("Train %s %s", c.Train.Train, c.Train.Where)
			if e.Event.By != "" {
				words += " at " + names[e.Event.By]
			}
			all = append(all, words)
		case c.Duty != nil && c.Duty.On:
			all = append(all, names[c.Duty.Box]+": signaller on duty")
		case c.Duty != nil:
			all = append(all, names[c.Duty.Box]+": signaller off duty")
		case c.Switched != nil && c.Switched.Open:
			all = append(all, names[c.Switched.Box]+" was opened")
		case c.Switched != nil:
			all = append(all, names[c.Switched.Box]+" was switched out")
		}
	}
	return all
}

// rangThen says a bell signal: who rang what, and what it means where the book leaves no doubt.
func (s *server) rangThen(g *block.Signal, names map[block.BoxID]string) string {
	words := fmt.Sprintf("%s rang %s", names[g.By], g.Beats)
	for _, c := range s.live.Rules().Circuits() {
		if c.ID != g.Circuit {
			continue
		}
		other := c.Boxes[0]
		if other == g.By {
			other = c.Boxes[1]
		}
		words += " to " + names[other]
		if code, ok := c.Book.Key(g.Key); ok {
			words += ": " + code.Means
		}
	}
	if g.Sense == block.Answer {
		words += " (repeated)"
	}
	return strings.TrimSpace(words)
}

// strokes are the beats that were heard in some entries, in the rhythm in which they were struck, each by the voice of
// the box that heard it.
func (s *server) strokes(entries []block.Entry) string {
	all := []stroke{}
	var first time.Time
	for _, e := range entries {
		for _, ring := range e.Outcome.Rings {
			if first.IsZero() {
				first = ring.Pressed
			}
			if r, ok := s.bells.sound(s.voices[hearing{ring.To, ring.Circuit}]); ok {
				all = append(all, stroke{r.address, ring.Pressed.Sub(first).Milliseconds()})
			}
		}
	}
	text, err := json.Marshal(all)
	if err != nil { // it holds nothing but numbers and names
		return "[]"
	}
	return string(text)
}
