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
	seq := ownerSequence{Timed: clocked && slices.ContainsFunc(all, func(w block.Working) bool { return w.Starts() >= 0 })}
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
	return s.live.Resequence(r.Context(), block.AddTrain(train, block.TrainID(r.PostFormValue("as")), to))
}

// changeWords tells of the owner's change of the sequence.
func changeWords(e block.Event) string {
	switch e.Where {
	case block.Added:
		slot, as, _ := strings.Cut(e.Words, " like ")
		return "Train " + string(e.Train) + " added " + slot + ", to run as " + as
	case block.Retimed:
		return "Train " + string(e.Train) + " moved " + e.Words
	}
	return "Train " + string(e.Train) + " withdrawn"
}
