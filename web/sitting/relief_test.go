package sitting_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/web/sitting"
)

// C5, A9: Ossenwaite changes hands with a train in the section. Nobody takes the box unless its signaller allows it;
// then the reliever signs on and the first man off, under one another, and no bell and no needle changes; R65 is silent
// and the train is worked to its end.
func TestBoxChangesHandsWithATrainInTheSection(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	rear, first := s.duty(ul), s.duty(os)
	old := s.watch(first)
	waiting(old)
	s.ring(rear, "1")
	s.ring(first, "1")
	s.ring(rear, "3-1")
	s.ring(first, "3-1")
	s.must(first, block.Event{Do: block.Turn, Section: down, Show: block.Clear})
	s.ring(rear, "2")
	s.ring(first, "2")
	s.must(first, block.Event{Do: block.Turn, Section: down, Show: block.Occupied})
	waiting(old)

	next := sitting.Seat{Box: os, As: sitting.Work, Ticket: "A-RELIEF"}
	require.ErrorIs(t, s.live.Relieve(t.Context(), next, "A. Hand"), sitting.ErrTaken, "not without being allowed")
	allowed, err := s.live.AskFor(t.Context(), next, "A. Hand")
	require.NoError(t, err)
	require.False(t, allowed)
	require.ErrorIs(t, s.live.Relieve(t.Context(), next, "A. Hand"), sitting.ErrTaken, "nor by asking")
	told := waiting(old)
	require.Equal(t, &sitting.Asking{As: sitting.Work, Who: "A. Hand"}, told[len(told)-1].Asks)
	_, err = s.live.AskFor(t.Context(), sitting.Seat{Box: os, As: sitting.Work, Ticket: "ANOTHER"}, "")
	require.ErrorIs(t, err, sitting.ErrTaken, "one asks at a time")
	require.ErrorIs(t, s.live.Allow(t.Context(), next, true), sitting.ErrWrongTicket, "he cannot allow himself")
	require.ErrorIs(t, s.live.Allow(t.Context(), rear, true), sitting.ErrAsItIs)
	require.NoError(t, s.live.Allow(t.Context(), first, true))
	require.True(t, s.live.Holds(t.Context(), first), "he has the box until the other signs")
	allowed, err = s.live.AskFor(t.Context(), next, "A. Hand")
	require.NoError(t, err)
	require.True(t, allowed)

	before := s.view(os)
	require.NoError(t, s.live.Relieve(t.Context(), next, "A. Hand"))
	after := s.view(os)
	require.Equal(t, before.Shelf, after.Shelf, "neither a bell nor a needle")
	upToEnd(old)
	require.ErrorIs(t, old.Why(), sitting.ErrRelieved)
	require.False(t, s.live.Holds(t.Context(), first))
	_, err = s.act(first, block.Event{Do: block.Beat, Circuit: bell})
	require.ErrorIs(t, err, sitting.ErrWrongTicket)
	p, err := s.live.Present(t.Context(), sitting.Seat{Box: os, As: sitting.BookLad})
	require.NoError(t, err)
	signed := p.Book[len(p.Book)-2:]
	require.Equal(t, []string{"signalman off duty: relieved by A. Hand"}, signed[0].Remarks)
	require.Equal(t, []string{"signalman on duty: A. Hand"}, signed[1].Remarks)

	s.must(next, block.Event{Do: block.Train, Section: down, Where: block.Passes, Lamp: block.LampSeen})
	s.ring(next, "1")
	s.ring(rear, "1")
	s.ring(next, "2-1")
	s.ring(rear, "2-1")
	s.must(next, block.Event{Do: block.Turn, Section: down, Show: block.Blocked})
	require.Equal(t, "IDLE", s.lineOf(os).Standing)
	for _, f := range s.findings() {
		require.NotEqual(t, block.RuleID("R65"), f.Rule)
	}
}

// findings are those of the sitting so far.
func (s *stage) findings() []review.Finding {
	s.t.Helper()
	var all []review.Finding
	for f, err := range review.Of(s.live.Rules(), s.live.Entries(s.t.Context())) {
		require.NoError(s.t, err)
		all = append(all, f)
	}
	return all
}

// A9: who asks may be told no, may go away again, and may be let in by the owner, of which the book says so.
func TestOwnerAllowsARelief(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	first := s.duty(os)
	s.watch(first)
	next := sitting.Seat{Box: os, As: sitting.Work, Ticket: "A-RELIEF"}
	asks := func() bool {
		t.Helper()
		allowed, err := s.live.AskFor(t.Context(), next, "")
		require.NoError(t, err)
		return allowed
	}
	asks()
	require.NoError(t, s.live.Allow(t.Context(), first, false))
	require.Nil(t, s.overseen(os).Asks)
	asks()
	s.clock.Move(16 * time.Second)
	require.ErrorIs(t, s.live.AllowByOwner(t.Context(), os, true), sitting.ErrAsItIs, "he has gone away")
	asks()
	require.NotNil(t, s.overseen(os).Asks)
	require.NoError(t, s.live.AllowByOwner(t.Context(), os, true))
	require.True(t, asks())
	require.NoError(t, s.live.Relieve(t.Context(), next, ""))
	did := s.ownersEntries()
	require.Len(t, did, 1)
	require.Equal(t, "relieved by another, by the owner's leave", did[0].Words)
	require.ErrorIs(t, s.live.AllowByOwner(t.Context(), "XX", true), block.ErrNoSuchBox)
	_, err := s.live.AskFor(t.Context(), sitting.Seat{Box: ul, As: sitting.Work, Ticket: "X"}, "")
	require.ErrorIs(t, err, sitting.ErrAsItIs, "an empty box is taken, not asked for")
}

// C7: a booking lad whom the signaller allows writes in the book and rules a line through, and can do nothing else: every
// other act of the wire is refused him.
func TestBookingLadWritesAndRingsNot(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	signaller := s.duty(os)
	s.watch(signaller)
	lad := sitting.Seat{Box: os, As: sitting.BookLad, Ticket: "A-PEN"}
	_, err := s.act(lad, block.Event{Do: block.Remark, Words: "fog"})
	require.ErrorIs(t, err, sitting.ErrNotForSeat)
	_, err = s.live.AskFor(t.Context(), lad, "Tom")
	require.NoError(t, err)
	require.NoError(t, s.live.Allow(t.Context(), signaller, true))
	require.True(t, s.live.Keeps(t.Context(), lad))
	require.True(t, s.live.Holds(t.Context(), signaller), "the signaller keeps his box")
	w := s.watch(sitting.Seat{Box: os, As: sitting.BookLad})
	waiting(w)
	s.must(lad, block.Event{Do: block.Remark, Words: "fog"})
	told := waiting(w)
	require.NotEmpty(t, told[len(told)-1].Lines, "both see it at once")
	for _, do := range []block.Do{block.Beat, block.Hold, block.Turn, block.Lever, block.Collar, block.Release, block.Train, block.Told,
		block.Driver, block.Foul, block.Switch, block.Duty, block.Ears, block.Call, block.Token, block.Clock, block.Fault, block.Pace, block.Trains, block.Happens, block.Befalls, block.Plans} {
		_, err = s.act(lad, block.Event{Do: do, Off: true, Circuit: bell, Section: down})
		require.ErrorIs(t, err, sitting.ErrNotForSeat, do)
	}
	require.NoError(t, s.live.Close(t.Context()))
}

// C7: the lad goes on without asking again when the program was stopped and started, or the sitting handed over, and a
// second lad who is allowed takes his place; the signaller's own word that somebody keeps the book gives nobody leave.
func TestBookingLadGoesOnAfterAStop(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	signaller := s.duty(os)
	s.watch(signaller)
	tom, ada := sitting.Seat{Box: os, As: sitting.BookLad, Ticket: "A-PEN"}, sitting.Seat{Box: os, As: sitting.BookLad, Ticket: "ANOTHER"}
	_, err := s.live.AskFor(t.Context(), tom, "Tom")
	require.NoError(t, err)
	require.NoError(t, s.live.Allow(t.Context(), signaller, true))
	s.must(signaller, block.Event{Do: block.Remark, Words: "register kept by Ada"})
	stopped := func() {
		t.Helper()
		require.NoError(t, s.live.Close(t.Context()))
		s.again()
	}
	stopped()
	require.True(t, s.live.Keeps(t.Context(), tom))
	require.False(t, s.live.Keeps(t.Context(), ada))
	require.True(t, s.live.Holds(t.Context(), signaller))
	_, err = s.live.Act(t.Context(), tom, 1, block.Event{Do: block.Remark, Words: "fog"})
	require.NoError(t, err)
	_, err = s.live.Act(t.Context(), tom, 2, block.Event{Do: block.Beat, Circuit: bell})
	require.ErrorIs(t, err, sitting.ErrNotForSeat)
	_, err = s.live.AskFor(t.Context(), ada, "Ada")
	require.NoError(t, err)
	require.NoError(t, s.live.Allow(t.Context(), signaller, true))
	stopped()
	require.True(t, s.live.Keeps(t.Context(), ada))
	require.False(t, s.live.Keeps(t.Context(), tom))
	p, err := s.live.Present(t.Context(), tom)
	require.NoError(t, err)
	var book []string
	for _, l := range p.Book {
		book = append(book, l.Remarks...)
	}
	require.Equal(t, []string{"signalman on duty", "register kept by Tom", "register kept by Ada", "fog", "register kept by Ada"}, book)
}
