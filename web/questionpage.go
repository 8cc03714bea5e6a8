package web

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/review"
)

// questionPage is a question on paper: notes of what happened, and what the machine and the review say to each line. It
// touches no sitting.
type questionPage struct {
	Title, Text, Fault string
	Lines              []answered
	Later              []laterFound
	Answers            bool // shown; else it is a worksheet to be filled in
}

// answered is one line of the notes with its answer.
type answered struct {
	Time, Text, Ending, Why string
	Rules                   []ruleAnswer
}

// ruleAnswer is a rule that a line breaks.
type ruleAnswer struct{ ID, Says, Cite, Known string }

// laterFound is what needed time, or another line, to be found.
type laterFound struct {
	ruleAnswer
	Box  block.BoxID
	Time string
}

// mostNotes is the longest question, in bytes: an evening of two boxes.
const mostNotes = 64 << 10

// question shows an empty sheet, with an example on it.
func (s *server) question(w http.ResponseWriter, _ *http.Request) {
	s.draw(w, "question.html", questionPage{Title: s.title, Text: exampleQuestion, Answers: true})
}

// exampleQuestion asks what may be done, and a class has to say.
const exampleQuestion = `boxes A B C
book 1960-letters
level free
10:00:00  A rings B 1
10:00:03  B rings A 1
10:00:06  A rings B 4
10:00:09  B rings A 4
10:00:12  B turns A clear
10:04:00  train 1 leaves A for B
10:04:03  A rings B 2
10:04:06  B rings A 2
10:04:09  B turns A occupied
10:06:00  B rings A 1
10:06:03  A rings B 1
10:06:06  B rings A 2-1
`

// answer plays the notes that were written and says to each line what came of it (H6).
func (s *server) answer(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, 2*mostNotes)
	page := questionPage{Title: s.title, Text: strings.ReplaceAll(r.FormValue("notes"), "\r\n", "\n"), Answers: r.FormValue("answers") != "no"}
	if len(page.Text) == 0 || len(page.Text) > mostNotes {
		http.Error(w, "Write notes of up to 64 kB: one fact to a line.", http.StatusBadRequest)
		return
	}
	n, err := notes.Read([]byte(page.Text), nil)
	var f notes.Fault
	switch {
	case errors.As(err, &f):
		page.Fault = "Line " + strconv.Itoa(f.Line) + ": " + f.What
	case err != nil:
		page.Fault = err.Error()
	default:
		page.play(n)
	}
	s.draw(w, "question.html", page)
}

// play fills in what came of each line.
func (p *questionPage) play(n *notes.Notes) {
	var entries []block.Entry
	atOnce := make(map[string]bool)
	for x := range notes.Run(n) {
		a := answered{Time: x.At.Format("15.04:05"), Text: x.Text, Ending: x.Ending, Why: x.Why}
		if a.Why == "" {
			a.Why = x.Says
		}
		if x.Ending == string(block.Refused) {
			a.Why = refusal(block.Reason(x.Why))
		}
		for _, i := range x.Irregular {
			a.Rules = append(a.Rules, ruleAnswerOf(i.Rule))
			atOnce[string(i.Rule)+string(i.Box)+i.At.String()] = true
		}
		p.Lines = append(p.Lines, a)
		entries = append(entries, x.Entries...)
	}
	all := func(yield func(block.Entry, error) bool) {
		for _, e := range entries {
			if !yield(e, nil) {
				return
			}
		}
	}
	for f, err := range review.Of(n.Rules, all) {
		if err != nil || atOnce[string(f.Rule)+string(f.Box)+f.At.String()] {
			continue // what was played can be reviewed; what was found at once stands at its line
		}
		p.Later = append(p.Later, laterFound{ruleAnswerOf(f.Rule), f.Box, f.At.Format("15.04:05")})
	}
}

func ruleAnswerOf(id block.RuleID) ruleAnswer {
	r, _ := block.FindRule(id)
	return ruleAnswer{string(id), r.Says, r.Cite, knownWords(r.Grade)}
}
