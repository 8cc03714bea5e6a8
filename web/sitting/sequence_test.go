package sitting_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/web/sitting"
)

// A16: what the owner does to the sequence comes to the notice of every box that it concerns with the news of the very
// act, marked as a change; it stands in the record as the owner's, and is so again after a stop. A train that has been
// offered stays.
func TestOwnerChangesTheSequence(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	rear, advance := s.duty(ul), s.duty(os)
	w := s.watch(advance)
	waiting(w)
	p, err := s.live.Present(t.Context(), advance)
	require.NoError(t, err)
	require.Greater(t, len(p.Notice), 2)
	first, second := p.Notice[0], p.Notice[1]
	mark := func(notice []register.Expected, train block.TrainID) block.Place {
		for _, e := range notice {
			if e.Train == train {
				return e.Change
			}
		}
		return "not there"
	}
	told := func() (notice []register.Expected) {
		for _, n := range waiting(w) {
			if n.Notice != nil {
				notice = n.Notice
			}
		}
		return notice
	}
	require.NoError(t, s.live.Resequence(t.Context(), block.AddTrain("31", first.Train, block.Slot{Behind: first.Train})))
	require.Equal(t, block.Added, mark(told(), "31"))
	require.NoError(t, s.live.Resequence(t.Context(), block.MoveTrain(first.Train, block.Slot{Behind: second.Train})))
	require.Equal(t, block.Retimed, mark(told(), first.Train))
	require.NoError(t, s.live.Resequence(t.Context(), block.Withdraw("31")))
	require.Equal(t, block.Withdrawn, mark(told(), "31"))
	require.ErrorIs(t, s.live.Resequence(t.Context(), block.Withdraw("31")), block.ErrNoTrain)
	require.ErrorIs(t, s.live.Resequence(t.Context(), block.Event{Do: block.Tick}), sitting.ErrNoAct)

	events := s.ownersEntries()
	require.Len(t, events, 3)
	require.Equal(t, block.TrainID("31"), events[0].Train)
	require.NoError(t, s.live.Close(t.Context()))
	s.again()
	p, err = s.live.Present(t.Context(), sitting.Seat{Box: os, As: sitting.LooksOn})
	require.NoError(t, err)
	require.Equal(t, block.Withdrawn, mark(p.Notice, "31"))
	require.Equal(t, block.Retimed, mark(p.Notice, first.Train))

	s.must(rear, block.Event{Do: block.Remark, Words: "back"})
	s.ring(rear, "1")
	s.ring(advance, "1")
	var coming register.Expected
	for _, e := range p.Notice {
		if e.Rear == ul && e.Change != block.Withdrawn {
			coming = e
			break
		}
	}
	s.ring(rear, coming.Code.String())
	var seen block.TrainID
	p, err = s.live.Present(t.Context(), sitting.Seat{Box: os, As: sitting.LooksOn})
	require.NoError(t, err)
	if seen = coming.Train; mark(p.Notice, seen) != "not there" {
		t.Fatalf("train %s was offered and is on the notice still", seen)
	}
	require.ErrorIs(t, s.live.Resequence(t.Context(), block.Withdraw(seen)), sitting.ErrUnderWay)

	// The offer is cancelled: it is on the notice again, and the owner may take it out.
	w = s.watch(advance)
	waiting(w)
	s.ring(rear, "1")
	s.ring(advance, "1")
	s.ring(rear, "3-5")
	require.Equal(t, coming.Change, mark(told(), seen))
	require.NoError(t, s.live.Resequence(t.Context(), block.Withdraw(seen)))
	require.Equal(t, block.Withdrawn, mark(told(), seen))
}
