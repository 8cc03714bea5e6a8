package web

import (
	"encoding/json"
	"net/http"
	"strings"
	"time"

	"taillamp/block"
	"taillamp/sounds"
	"taillamp/web/sitting"
)

// practicePage is the bench at which one learns the bell codes of a box: by ear and by hand. Nothing of it goes to
// another box or into the record.
type practicePage struct {
	Title, Name, Sitting string
	Box                  block.BoxID
	Bell                 shelfPlace // the plunger under one's own finger
	Present              forPractice
}

// forPractice is what the page's script works with.
type forPractice struct {
	Sitting string      `json:"sitting"`
	Box     block.BoxID `json:"box"`
	Sounds  shelfSounds `json:"sounds"`
	Cards   []practised `json:"cards"`
}

// practised is one code that the box needs, with the bells on which it is heard.
type practised struct {
	Key      string            `json:"key"`
	Code     string            `json:"code"`
	Means    string            `json:"means"`
	Times    []int64           `json:"times"` // of its beats in a good hand, milliseconds
	Circuits []block.CircuitID `json:"circuits"`
	From     []string          `json:"from"` // whose bells those are
}

// practice shows the bench of a box.
func (s *server) practice(w http.ResponseWriter, r *http.Request) {
	box := boxOf(r)
	p, err := s.live.Present(r.Context(), sitting.Seat{Box: box, As: sitting.LooksOn})
	if err != nil {
		s.unwell(w, err)
		return
	}
	page := practicePage{Title: s.title, Name: namesOf(s.live.Rules())[box], Sitting: s.live.Name(), Box: box,
		Bell:    shelfPlace{Name: "practise", To: "tap"},
		Present: forPractice{Sitting: s.live.Name(), Box: box, Sounds: s.shelfSounds(p.View), Cards: s.practisedAt(p.View)}}
	s.draw(w, "practice.html", page)
}

// practisedAt are the codes of a box's bells, each pattern once, in the order of its first book.
func (s *server) practisedAt(v *block.View) []practised {
	var cards []practised
	at := make(map[string]int) // by pattern and meaning
	for _, i := range v.Shelf {
		for _, c := range s.live.Rules().Circuits() {
			if c.ID != i.Circuit {
				continue
			}
			for _, code := range c.Book.Codes {
				means := first(code.Means)
				if code.Train {
					means = "is line clear for the " + trainWords(code.Means) + "?"
				}
				n, there := at[code.Beats.String()]
				if there && cards[n].Means != means {
					continue // one pattern, one answer: the first that the book has for it
				}
				if !there {
					n = len(cards)
					at[code.Beats.String()] = n
					cards = append(cards, practised{Key: string(code.Key), Code: code.Beats.String(), Means: means, Times: idealTimes(code.Beats)})
				}
				cards[n].Circuits = append(cards[n].Circuits, i.Circuit)
				cards[n].From = append(cards[n].From, i.Name)
			}
		}
	}
	return cards
}

func idealTimes(b block.Beats) []int64 {
	var times []int64
	for _, t := range sounds.GoodHand().Times(b) {
		times = append(times, t.Milliseconds())
	}
	return times
}

// rungForPractice is what the page sends of a code rung at the bench.
type rungForPractice struct {
	Presses []float64 `json:"presses"` // milliseconds, from any moment on
	Want    string    `json:"want"`
}

// readForPractice is how it was read.
type readForPractice struct {
	Code  string `json:"code"` // as it was read, both readings where there is a doubt
	Right bool   `json:"right"`
	Words string `json:"words"` // of tempo and pause
}

// readPractice reads a hand as the boxes read it in working.
func (s *server) readPractice(w http.ResponseWriter, r *http.Request) {
	var rung rungForPractice
	if err := json.NewDecoder(http.MaxBytesReader(w, r.Body, sitting.FrameLimit)).Decode(&rung); err != nil || len(rung.Presses) == 0 || len(rung.Presses) > 20 {
		http.Error(w, "Send the moments of one to twenty presses.", http.StatusBadRequest)
		return
	}
	var presses []time.Time
	for _, ms := range rung.Presses {
		if at := time.UnixMicro(int64(ms * 1000)); len(presses) == 0 || at.After(presses[len(presses)-1]) {
			presses = append(presses, at)
		}
	}
	var book *block.CodeBook
	for _, c := range s.live.Rules().Circuits() {
		if c.Boxes[0] == boxOf(r) || c.Boxes[1] == boxOf(r) {
			book = c.Book
			break
		}
	}
	p := block.ReadPractice(presses, book)
	read := readForPractice{Code: p.Beats.String(), Right: p.Beats.String() == rung.Want, Words: handWords(p)}
	if p.Or != nil {
		read.Code += " or " + p.Or.String()
		read.Right = read.Right && p.Or == nil
	}
	s.json(w, http.StatusOK, read)
}

// The bounds of what is said of a hand. Codes are read from 150 to 700 milliseconds a beat (computation 2); that a
// pause is two beats and more is common practice, no source.
const (
	hurried   = 180 * time.Millisecond
	dragging  = 650 * time.Millisecond
	leastRest = 1.7 // pause over beat
	mostRest  = 4
)

// handWords says of tempo and pause what a teacher beside one would say.
func handWords(p block.PractisedCode) string {
	var says []string
	switch {
	case p.Beat > 0 && p.Beat < hurried:
		says = append(says, "You hurry: let each stroke be heard.")
	case p.Beat > dragging:
		says = append(says, "A little quicker: long gaps are taken for pauses.")
	}
	if p.Pause > 0 && p.Beat > 0 {
		switch rest := float64(p.Pause) / float64(p.Beat); {
		case rest < 1:
			says = append(says, "Your pause is shorter than your beats.")
		case rest < leastRest:
			says = append(says, "Make the pause longer: two beats at least.")
		case rest > mostRest:
			says = append(says, "Make the pause shorter, or it ends the code.")
		}
	}
	if p.Uneven {
		says = append(says, "Keep the beats of a group even.")
	}
	if len(says) == 0 {
		return "A good hand."
	}
	return strings.Join(says, " ")
}
