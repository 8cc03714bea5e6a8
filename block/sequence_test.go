package block_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// A16: a train is added, moved and withdrawn; its times go with it, the rest stays as it was booked, and the state before
// knows nothing of it. The times are those of the scenario's timetable.
func TestSequenceIsChanged(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	opening := r.Opening(time.Date(1960, 7, 9, 15, 30, 0, 0, time.UTC))
	s := opening
	change := func(e block.Event) error {
		e.At = s.At()
		next, out, err := r.Step(s, e)
		if err == nil {
			require.Equal(t, block.Done, out.Ending)
			require.NotEqual(t, s.Digest(), next.Digest())
		}
		s = next
		return err
	}
	first := func(train block.TrainID) string {
		w, ok := s.Timetable().Find(train)
		require.True(t, ok)
		return block.ClockText(w.Starts())
	}
	place := func(train block.TrainID) int {
		for i, w := range s.Timetable().Workings {
			if w.Train == train {
				return i
			}
		}
		return -1
	}
	require.Equal(t, "15.36", first("1"))
	booked6 := first("6")
	at := func(text string) block.Slot {
		p, err := block.ParseSlot(text)
		require.NoError(t, err)
		require.Equal(t, text, p.String())
		return p
	}
	require.NoError(t, change(block.AddTrain("31", "1", at("at 16.40"))))
	w, _ := s.Timetable().Find("31")
	require.Equal(t, block.Added, w.Change)
	require.Equal(t, "16.45", block.ClockText(w.Calls[1].Arrive), "train 1 is at Ullathwick five minutes after it leaves")
	require.Equal(t, "15.36", first("1"), "the train that it runs as stays where it was")
	require.NoError(t, change(block.MoveTrain("31", at("behind 4"))))
	require.Equal(t, first("4"), first("31"))
	require.Equal(t, place("4")+1, place("31"))
	w, _ = s.Timetable().Find("31")
	require.Equal(t, block.Added, w.Change, "it is a change still")
	require.NoError(t, change(block.Withdraw("6")))
	require.Equal(t, -1, place("6"))
	require.Equal(t, booked6, first("6"), "what has been withdrawn is known")

	require.ErrorIs(t, change(block.Withdraw("6")), block.ErrNoTrain)
	require.ErrorIs(t, change(block.AddTrain("6", "1", at("at 17.00"))), block.ErrThereIs)
	require.ErrorIs(t, change(block.Withdraw("2")), block.ErrFormsAnother, "5 is formed of it")
	require.ErrorIs(t, change(block.MoveTrain("4", at("behind 6"))), block.ErrNoTrain)
	require.ErrorIs(t, change(block.MoveTrain("4", at("at 29.59"))), block.ErrNoSense, "it would run into the next day but one")
	require.ErrorIs(t, change(block.Event{Do: block.Trains, By: "OS", Train: "4", Where: block.Withdrawn}), block.ErrNotYours)
	require.Equal(t, r.Timetable(), opening.Timetable())
	_, err = block.ParseSlot("at teatime")
	require.Error(t, err)
}

// A16: a special may be of any class of the code book in force, whatever the train whose run it has; what it is stands in
// the act, and an act recorded without a class means what it meant.
func TestSpecialOfAClassOfItsOwn(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	to := block.Slot{At: 16*3600 + 40*60}
	for _, code := range r.Timetable().Classes("SK") {
		e := block.AddTrainOf("31", "1", code.Beats, to)
		require.Equal(t, "at 16.40 like 1 is "+code.Beats.String(), e.Words)
		after, err := r.Timetable().After(e)
		require.NoError(t, err)
		w, ok := after.Find("31")
		require.True(t, ok)
		require.Equal(t, []any{code.Class, code.Beats.String(), code.Freight, "16.40"}, []any{w.Class, w.Code.String(), w.Freight, block.ClockText(w.Starts())})
	}
	require.Greater(t, len(r.Timetable().Classes("SK")), 13, "all the classes of the book, not those of the demo's trains alone")
	like, err := r.Timetable().After(block.AddTrain("31", "1", to))
	require.NoError(t, err)
	w, _ := like.Find("31")
	one, _ := r.Timetable().Find("1")
	require.Equal(t, one.Class, w.Class)
	attention, err := block.ParseBeats("1")
	require.NoError(t, err)
	_, err = r.Timetable().After(block.AddTrainOf("31", "1", attention, to))
	require.ErrorIs(t, err, block.ErrNoClass, "call attention offers no train")
}
