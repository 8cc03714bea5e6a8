package web

import (
	"errors"
	"net/http"
	"slices"
	"strings"

	"taillamp/block"
)

// ownerSequence is the sequence of trains as it stands, for the owner to change.
type ownerSequence struct {
	Trains []ownerTrain
	Runs   []ownerTrain // those of them that have not been withdrawn
	Timed  bool         // a place is a time; else it is behind another train

	Classes []ownerClass // that a train which is added may have
}

// ownerClass is one class of train of the code books in force.
type ownerClass struct{ Code, Words string }

// classesOf are the classes of all the code books, each code once.
func classesOf(r *block.Rules) []ownerClass {
	var all []ownerClass
	for _, c := range r.Circuits() {
		for _, code := range c.Book.Codes {
			beats := code.Beats.String()
			if code.Train && !slices.ContainsFunc(all, func(o ownerClass) bool { return o.Code == beats }) {
				all = append(all, ownerClass{beats, strings.TrimSpace(code.Class + " " + beats + ", " + code.Means)})
			}
		}
	}
	return all
}

// What may be wrong with a form of the sequence.
var (
	errNoTime   = errors.New("web: no time of day and no train to run behind")
	errNoNumber = errors.New("web: no number for a train")
)

// ownerTrain is one train of it.
type ownerTrain struct {
	Train  block.TrainID
	Words  string      // "16.40 B 3-1, Skelderby to Hexleigh"
	Change block.Place // what the owner has done with it
}

func (s *server) ownerSequence() ownerSequence {
	_, state := s.live.Snapshot()
	names := shortNames(namesOf(s.live.Rules()))
	all := state.Timetable().WithOff()
	clocked := s.live.Rules().Layout().Clock.Kind != "none"
	seq := ownerSequence{Classes: classesOf(s.live.Rules()), Timed: clocked && slices.ContainsFunc(all, func(w block.Working) bool { return w.Starts() >= 0 })}
	for _, w := range all {
		words := w.Class + " " + w.Code.String() + ", " + names[w.From] + " to " + names[w.To]
		if at := w.Starts(); at >= 0 && seq.Timed {
			words = block.ClockText(at) + " " + words
		}
		t := ownerTrain{w.Train, strings.TrimSpace(words), w.Change}
		seq.Trains = append(seq.Trains, t)
		if w.Change != block.Withdrawn {
			seq.Runs = append(seq.Runs, t)
		}
	}
	return seq
}

// resequence does what a form of the sequence asks for.
func (s *server) resequence(r *http.Request) error {
	train := block.TrainID(strings.TrimSpace(r.PostFormValue("train")))
	if r.PostFormValue("do") == "withdraw" {
		return s.live.Resequence(r.Context(), block.Withdraw(train))
	}
	text := "at " + strings.TrimSpace(r.PostFormValue("at"))
	if behind := r.PostFormValue("behind"); behind != "" {
		text = "behind " + behind
	}
	to, err := block.ParseSlot(text)
	if err != nil {
		return errNoTime
	}
	if r.PostFormValue("do") == "move" {
		return s.live.Resequence(r.Context(), block.MoveTrain(train, to))
	}
	if train == "" || strings.ContainsAny(string(train), ` ,"`) {
		return errNoNumber
	}
	as := block.TrainID(r.PostFormValue("as"))
	if class := r.PostFormValue("class"); class != "" {
		code, err := block.ParseBeats(class)
		if err != nil {
			return block.ErrNoClass
		}
		return s.live.Resequence(r.Context(), block.AddTrainOf(train, as, code, to))
	}
	return s.live.Resequence(r.Context(), block.AddTrain(train, as, to))
}

// changeWords tells of the owner's change of the sequence.
func changeWords(e block.Event) string {
	switch e.Where {
	case block.Added:
		slot, as, _ := strings.Cut(e.Words, " like ")
		as, code, other := strings.Cut(as, " is ")
		words := "Train " + string(e.Train) + " added " + slot + ", to run as " + as
		if other {
			words += " and be offered by " + code
		}
		return words
	case block.Retimed:
		return "Train " + string(e.Train) + " moved " + e.Words
	}
	return "Train " + string(e.Train) + " withdrawn"
}
