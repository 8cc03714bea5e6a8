package web

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"taillamp/block/register"
	"taillamp/block/review"
)

// eveningPage is the evening told, to be read aloud, and how long answers took.
type eveningPage struct {
	Title, Sitting, Who string
	Told                []review.Sentence
	Boxes               []answersOf
}

// answersOf are the answers of one box.
type answersOf struct {
	Name   string
	Strips []answerStrip
}

// answerStrip is one kind of answer as a strip of rings on a scale of a minute, 0 to 600.
type answerStrip struct {
	What, Words string
	Rings       string // all of them as one path: thousands of shapes would keep a tablet waiting
}

// longestRing is what the end of a strip stands for: whatever took longer is drawn there.
const longestRing = time.Minute

// evening tells the sitting as far as it has gone (F10, F5).
func (s *server) evening(w http.ResponseWriter, r *http.Request) {
	rules, began := s.live.Rules(), s.live.Header().Began
	entries, err := s.live.Past(r.Context())
	if err != nil {
		s.unwell(w, err)
		return
	}
	g, err := s.graphOf(entries)
	if err != nil {
		s.unwell(w, err)
		return
	}
	found, err := s.foundIn(entries)
	if err != nil {
		s.unwell(w, err)
		return
	}
	times, err := register.TimesOf(rules, register.InOrder(entries))
	if err != nil {
		s.unwell(w, err)
		return
	}
	told := review.Story(rules, began, entries, g, found)
	page := eveningPage{Title: s.title, Sitting: s.live.Name(), Who: s.live.Header().Began.Format("Monday 2 January 2006"), Told: told}
	names := namesOf(rules)
	for n, a := range times {
		if n == 0 || times[n-1].Box != a.Box {
			page.Boxes = append(page.Boxes, answersOf{Name: names[a.Box]})
		}
		if len(a.Took) == 0 {
			continue
		}
		b := &page.Boxes[len(page.Boxes)-1]
		b.Strips = append(b.Strips, stripOf(a))
	}
	s.draw(w, "evening.html", page)
}

// stripOf draws one kind of answer.
func stripOf(a register.AnswerTimes) answerStrip {
	strip := answerStrip{What: map[register.Answered]string{register.Attentions: "Call attention answered",
		register.Acceptances: "Trains accepted", register.OutsOf: "Train out of section, after the tail lamp"}[a.Kind]}
	var rings strings.Builder
	drawn := make(map[time.Duration]bool)
	for _, d := range a.Took {
		if x := 600 * min(d, longestRing) / longestRing; !drawn[x] {
			drawn[x] = true
			fmt.Fprintf(&rings, "M%d 10a6 6 0 1 0 12 0a6 6 0 1 0-12 0", x-6)
		}
	}
	strip.Rings = rings.String()
	strip.Words = fmt.Sprintf("%d, half of them within %s", len(a.Took), secondsWords(a.Median()))
	if len(a.Took) > 3 {
		strip.Words += fmt.Sprintf("; the middle half took %s to %s", secondsWords(a.Least()), secondsWords(a.Most()))
	}
	return strip
}

func secondsWords(d time.Duration) string {
	if d < 90*time.Second {
		return fmt.Sprintf("%.0f s", d.Seconds())
	}
	return fmt.Sprintf("%.0f min", d.Minutes())
}
