package web

import (
	"fmt"
	"net/http"
	"time"

	"taillamp/block"
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

// answerStrip is one kind of answer as a strip of dots on a scale of a minute.
type answerStrip struct {
	What, Words string
	Dots        []answerDot
}

// answerDot is one answer: its place on the strip, 0 to 600, and the entry behind it.
type answerDot struct {
	X   int
	Seq uint64
}

// longestDot is what the end of a strip stands for: whatever took longer is drawn there.
const longestDot = time.Minute

// evening tells the sitting as far as it has gone (F10, F5).
func (s *server) evening(w http.ResponseWriter, r *http.Request) {
	var entries []block.Entry
	for e, err := range s.live.Entries(r.Context()) {
		if err != nil {
			s.unwell(w, err)
			return
		}
		entries = append(entries, e)
	}
	rules, began := s.live.Rules(), s.live.Header().Began
	told, err := review.Story(rules, began, entries)
	if err != nil {
		s.unwell(w, err)
		return
	}
	times, err := register.TimesOf(rules, s.live.Entries(r.Context()))
	if err != nil {
		s.unwell(w, err)
		return
	}
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
	for n, d := range a.Took {
		strip.Dots = append(strip.Dots, answerDot{X: int(600 * min(d, longestDot) / longestDot), Seq: a.Seq[n]})
	}
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
