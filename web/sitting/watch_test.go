package sitting_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

func TestSecondTabletOfASeatEndsTheFirst(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	mine := s.duty(ul)
	first := s.watch(mine)
	second := s.watch(mine)
	upToEnd(first)
	require.ErrorIs(t, first.Why(), sitting.ErrTakenOver)
	require.NotNil(t, waiting(second)[0].Present)
}

// Rings and news together leave no gap, whatever happens at the other boxes.
func TestNumbersLeaveNoGap(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	rear, advance := s.duty(ul), s.duty(os)
	watches := []*sitting.Watch{s.watch(rear), s.watch(advance), s.watch(sitting.Seat{As: sitting.LooksOn})}
	s.ring(rear, "1")
	s.ring(advance, "1") // answered at once, so that a beat ends a code
	s.must(rear, block.Event{Do: block.Remark, Words: "fog"})
	for range 5 {
		s.must(rear, block.Event{Do: block.Beat, Circuit: bell, Pressed: s.clock.Now()})
		s.clock.Move(500 * time.Millisecond)
		s.must(advance, block.Event{Do: block.Beat, Circuit: bell, Pressed: s.clock.Now()})
		s.clock.Move(500 * time.Millisecond)
	}
	s.clock.Move(5 * time.Second)
	s.settle()
	at, _ := s.live.Snapshot()
	twice := 0
	for _, w := range watches {
		news := waiting(w)
		require.NotNil(t, news[0].Present)
		have := news[0].Present.Seq
		beat := false
		for _, n := range news[1:] {
			if n.Early { // its number comes in its turn
				continue
			}
			if n.Seq == have {
				require.True(t, beat && !n.Beat, "only a beat is told twice, its ring first")
				twice++
			} else {
				require.Equal(t, have+1, n.Seq)
			}
			have, beat = n.Seq, n.Beat
		}
		require.Equal(t, at.Seq, have)
	}
	require.Positive(t, twice, "some beat ended a code")
}

// A box knows its own bells and needles and nothing of other boxes' levers, reminders and remarks.
func TestBoxIsToldItsOwnOnly(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	rear, advance := s.duty(ul), s.duty(os)
	far := s.watch(advance)
	waiting(far)
	s.must(rear, block.Event{Do: block.Collar, Section: down})
	_, err := s.act(rear, block.Event{Do: block.Lever, Section: down}) // locked, but tried
	require.NoError(t, err)
	s.must(rear, block.Event{Do: block.Remark, Words: "fog"})
	for _, n := range waiting(far) {
		require.Empty(t, n.Changes)
		require.Empty(t, n.Lines)
		require.Nil(t, n.View)
	}
	s.must(advance, block.Event{Do: block.Turn, Section: down, Show: block.Clear})
	n := waiting(far)[0]
	require.Equal(t, block.Clear, n.Changes[0].Indicator.Aspect)
	require.NotNil(t, n.View)
}

// A watcher that reads nothing is cut off; the others are told everything.
func TestSlowWatcherHoldsUpNobody(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	rear, advance := s.duty(ul), s.duty(os)
	slow := s.watch(sitting.Seat{Box: os, As: sitting.LooksOn})
	good := s.watch(advance)
	heard := 0
	for range 400 {
		s.clock.Move(300 * time.Millisecond)
		s.must(rear, block.Event{Do: block.Beat, Circuit: bell, Pressed: s.clock.Now()})
		s.settle() // no hand outruns the disk by hundreds of beats, as this loop would
		for _, n := range waiting(good) {
			if n.Ring != nil {
				heard++
			}
		}
	}
	require.Equal(t, 400, heard)
	require.Len(t, upToEnd(slow), 256)
	require.ErrorIs(t, slow.Why(), sitting.ErrSlow)
}

// Whoever lost count is given the present in its place between the news: what follows follows on.
func TestSyncGivesThePresentInItsPlace(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	rear, advance := s.duty(ul), s.duty(os)
	w := s.watch(advance)
	have := waiting(w)[0].Present.Position
	s.ring(rear, "1")
	require.NoError(t, w.Sync(t.Context(), have))
	s.ring(advance, "1")
	var present *sitting.Present
	for _, n := range waiting(w) {
		if n.Present != nil {
			present = n.Present
			continue
		}
		if present != nil {
			require.Equal(t, present.Seq+1, n.Seq)
			break
		}
	}
	require.NotNil(t, present)
	require.Len(t, present.Missed, 1)
	require.Equal(t, "1", present.Missed[0].Beats.String())
	require.False(t, present.Unknown)
}

// A tablet whose battery is flat loses its box to whoever takes it after a while, in mid-cycle: state and register are as
// they were, and what rang meanwhile is told in words (C8). One that only blinked keeps it (C9).
func TestAnotherTabletGoesOn(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	first, other := s.duty(ul), s.duty(os)
	w := s.watch(first)
	s.ring(first, "1")
	s.ring(other, "1")
	s.ring(first, "4")
	before := s.view(ul)
	w.Close()
	s.clock.Move(5 * time.Second)
	_, err := s.live.TakeDuty(t.Context(), ul, "the relief")
	require.ErrorIs(t, err, sitting.ErrTaken, "it may come back yet")
	again := s.watch(first)
	s.settle()
	again.Close()
	s.clock.Move(11 * time.Second)
	s.ring(other, "4") // accepted while nobody is at UL
	second, err := s.live.TakeDuty(t.Context(), ul, "the relief")
	require.NoError(t, err)
	v := s.view(ul)
	require.Equal(t, before.Shelf[0].Lines[1].Section, v.Shelf[0].Lines[1].Section)
	p, err := s.live.Present(t.Context(), second)
	require.NoError(t, err)
	require.Equal(t, "4", p.View.Shelf[0].Heard.Beats.String(), "what rang is told in words")
	_, err = s.act(first, block.Event{Do: block.Beat, Circuit: bell})
	require.ErrorIs(t, err, sitting.ErrWrongTicket, "the old tablet has lost the box")
	s.must(second, block.Event{Do: block.Beat, Circuit: bell, Pressed: s.clock.Now()})
}
