package notes_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
)

// A16: every change that the owner can make of the sequence has its line in the notes, and the line is read as the very act
// that the record has of it; played, it changes the sequence as the act does.
func TestSequenceIsChangedByNotes(t *testing.T) {
	code, err := block.ParseBeats("2-3")
	require.NoError(t, err)
	at := block.Slot{At: 16*3600 + 40*60}
	want := []block.Event{
		block.AddTrain("31", "1", at),
		block.AddTrain("32", "1", block.Slot{Behind: "31"}),
		block.AddTrainOf("33", "1", code, at),
		block.AddTrainOf("34", "1", code, block.Slot{Behind: "4"}),
		block.MoveTrain("32", block.Slot{At: 17*3600 + 30}),
		block.MoveTrain("32", block.Slot{Behind: "33"}),
		block.Withdraw("31"),
	}
	n, err := notes.Read([]byte(`layout lathermoor
15:30 train 31 is added at 16:40 like 1
train 32 is added behind 31 like 1
train 33 is added at 16.40 like 1 as 2-3
train 34 is added behind 4 like 1 as 2-3
train 32 is moved to 17:00:30
train 32 is moved behind 33
train 31 is withdrawn
train 31 is withdrawn
15:32 train 35 is added at 16:40 like 1 as 1
`), nil)
	require.NoError(t, err)
	var got []block.Event
	sequence := n.Rules.Timetable()
	var last []notes.Played
	for p := range notes.Run(n) {
		last = append(last, p)
		for _, e := range p.Entries {
			if e.Event.Do != block.Trains {
				continue
			}
			sequence, err = sequence.After(e.Event)
			require.NoError(t, err)
			e.Event.At = time.Time{}
			got = append(got, e.Event)
		}
	}
	require.Equal(t, want, got)
	w, ok := sequence.Find("34")
	require.True(t, ok)
	require.Equal(t, "G", w.Class, "a light engine, by the book of 1960")
	w, _ = sequence.Find("31")
	require.Equal(t, block.Withdrawn, w.Change)
	for _, p := range last[7:9] { // withdrawn already, and offered by no code
		require.Empty(t, p.Entries)
		require.Equal(t, "impossible", p.Ending)
		require.NotEmpty(t, p.Why)
	}

	_, err = notes.Read([]byte("layout tiny\n10:00 train 9 is added at teatime like 1\n"), nil)
	require.ErrorContains(t, err, `"teatime" is no time of day; write it as 9:41 or 09:41:05`)
}
