package sitting_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// B1: the far box hears each stroke with the finger's own time; whoever pressed hears nothing from the wire.
func TestBeatRingsAtTheFarBoxAlone(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	mine, theirs := s.duty(ul), s.duty(os)
	near, far := s.watch(mine), s.watch(theirs)
	waiting(near)
	waiting(far)
	pressed := s.clock.Now()
	s.clock.Move(70 * time.Millisecond) // the network's
	a := s.must(mine, block.Event{Do: block.Beat, Circuit: bell, Pressed: pressed})

	heard := waiting(far)
	require.Len(t, heard, 1)
	require.True(t, heard[0].Beat)
	require.Equal(t, a.Seq, heard[0].Seq)
	require.Equal(t, os, heard[0].Ring.To)
	require.True(t, heard[0].Ring.Pressed.Equal(pressed))

	quiet := waiting(near)
	require.Len(t, quiet, 1)
	require.Equal(t, a.Seq, quiet[0].Seq, "the number alone, so that there is no gap")
	require.Nil(t, quiet[0].Ring)
}

// B1: a tablet that never got its answer sends the act again; it rings once.
func TestActSentTwiceIsDoneOnce(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	mine, theirs := s.duty(ul), s.duty(os)
	far := s.watch(theirs)
	waiting(far)
	e := block.Event{Do: block.Beat, Circuit: bell, Pressed: s.clock.Now()}
	first, err := s.live.Act(t.Context(), mine, 1, e)
	require.NoError(t, err)
	s.clock.Move(3 * time.Second) // by now it would be stale
	second, err := s.live.Act(t.Context(), mine, 1, e)
	require.NoError(t, err)
	require.Equal(t, first, second)
	rings := 0
	for _, n := range waiting(far) {
		if n.Ring != nil {
			rings++
		}
	}
	require.Equal(t, 1, rings)
}

func TestAnswerIsForgottenAfterManyActs(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	mine := s.duty(ul)
	for range 70 {
		s.must(mine, block.Event{Do: block.Remark, Words: "fog"})
	}
	_, err := s.live.Act(t.Context(), mine, 6, block.Event{Do: block.Remark, Words: "fog"})
	require.ErrorIs(t, err, sitting.ErrForgotten)
	_, err = s.live.Act(t.Context(), mine, 7, block.Event{Do: block.Remark, Words: "fog"})
	require.NoError(t, err)
}

// A press that comes more than two seconds late is not rung; what was seen may be told ten minutes after.
func TestLateActs(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	mine := s.duty(ul)
	long := s.clock.Now()
	s.clock.Move(2001 * time.Millisecond)
	_, err := s.act(mine, block.Event{Do: block.Beat, Circuit: bell, Pressed: long})
	require.ErrorIs(t, err, sitting.ErrStale)
	_, err = s.act(mine, block.Event{Do: block.Turn, Section: down, Show: block.Clear, Pressed: long})
	require.ErrorIs(t, err, sitting.ErrStale)
	s.must(mine, block.Event{Do: block.Remark, Words: "lamp out at the home", Pressed: long})
	s.clock.Move(10 * time.Minute)
	_, err = s.act(mine, block.Event{Do: block.Remark, Words: "and the distant", Pressed: long})
	require.ErrorIs(t, err, sitting.ErrStale)
}

// A tablet whose clock runs ahead, or that speaks of an earlier press after a later one, bends no rhythm.
func TestPressedIsHeldBetweenLastPressAndNow(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	mine, theirs := s.duty(ul), s.duty(os)
	far := s.watch(theirs)
	waiting(far)
	now := s.clock.Now()
	for _, pressed := range []time.Time{now.Add(time.Second), now.Add(-time.Second)} {
		s.must(mine, block.Event{Do: block.Beat, Circuit: bell, Pressed: pressed})
	}
	heard := waiting(far)
	require.True(t, heard[0].Ring.Pressed.Equal(now))
	require.True(t, heard[1].Ring.Pressed.Equal(now))
}

// A9: a box has one signaller. Another tablet is refused, and without the ticket nobody works it.
func TestOneSignallerABox(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	mine := s.duty(ul)
	_, err := s.live.TakeDuty(t.Context(), ul, "somebody else")
	require.ErrorIs(t, err, sitting.ErrTaken)
	for _, seat := range []sitting.Seat{
		{Box: ul, As: sitting.Work, Ticket: "GUESS"}, {Box: os, As: sitting.Work, Ticket: mine.Ticket}, {Box: os, As: sitting.Work},
	} {
		_, err = s.live.Act(t.Context(), seat, 1, block.Event{Do: block.Remark, Words: "x"})
		require.ErrorIs(t, err, sitting.ErrWrongTicket)
		_, err = s.live.Watch(t.Context(), seat, sitting.Position{})
		require.ErrorIs(t, err, sitting.ErrWrongTicket)
	}
	_, err = s.live.Act(t.Context(), sitting.Seat{Box: ul, As: sitting.BookLad}, 1, block.Event{Do: block.Remark, Words: "x"})
	require.ErrorIs(t, err, sitting.ErrNotForSeat)

	s.must(mine, block.Event{Do: block.Duty, Off: true})
	require.False(t, s.live.Holds(t.Context(), mine))
	next := s.duty(ul)
	require.True(t, s.live.Holds(t.Context(), next))
	require.NotEqual(t, mine.Ticket, next.Ticket)
}

// B4, B6: a train is worked by two pairs of hands; the repeater follows, and both books have it with the same times.
func TestWholeCycle(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	rear, advance := s.duty(ul), s.duty(os)
	work := func(seat sitting.Seat, shows block.Aspect) {
		t.Helper()
		s.must(seat, block.Event{Do: block.Turn, Section: down, Show: shows})
		s.settle()
		require.Equal(t, shows, s.lineOf(ul).Shows)
		require.Equal(t, shows, s.lineOf(os).Shows)
	}
	s.ring(rear, "1")
	s.ring(advance, "1")
	s.ring(rear, "3-1")
	s.ring(advance, "3-1")
	work(advance, block.Clear)
	_, err := s.act(rear, block.Event{Do: block.Turn, Section: down, Show: block.Blocked})
	require.Error(t, err, "no act of the box in rear moves the needle")
	require.Equal(t, block.Clear, s.lineOf(os).Shows)
	s.ring(rear, "2")
	s.ring(advance, "2")
	work(advance, block.Occupied)
	s.must(advance, block.Event{Do: block.Train, Section: down, Where: block.Passes, Lamp: block.LampSeen})
	s.ring(advance, "1")
	s.ring(rear, "1")
	s.ring(advance, "2-1")
	s.ring(rear, "2-1")
	work(advance, block.Blocked)

	times := func(box block.BoxID, columns ...string) map[string]string {
		p, err := s.live.Present(t.Context(), sitting.Seat{Box: box, As: sitting.LooksOn})
		require.NoError(t, err)
		got := make(map[string]string)
		for _, l := range p.Book {
			if l.Kind != "train" {
				continue
			}
			require.Equal(t, "3-1", l.Code.String())
			require.Equal(t, block.TrainID("1"), l.Train)
			for _, c := range l.Cells {
				got[c.Column] = c.Time
			}
		}
		for _, c := range columns {
			require.NotEmpty(t, got[c], "%s: %s", box, c)
		}
		return got
	}
	u := times(ul, "offered_ahead", "accepted_ahead", "entering_section_sent", "out_of_section_received")
	o := times(os, "offered_from_rear", "accepted", "entering_section_received", "passed", "out_of_section_sent")
	require.Equal(t, u["offered_ahead"], o["offered_from_rear"])
	require.Equal(t, u["accepted_ahead"], o["accepted"])
	require.Equal(t, u["entering_section_sent"], o["entering_section_received"])
	require.Equal(t, u["out_of_section_received"], o["out_of_section_sent"])

	for e, err := range s.live.Entries(t.Context()) {
		require.NoError(t, err)
		require.Empty(t, e.Outcome.Irregular, "entry %d: it was worked by the book", e.Seq)
	}
}

// B5: an offer left alone for a day is still not accepted, and may be made again.
func TestSilenceRefuses(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	rear, advance := s.duty(ul), s.duty(os)
	s.ring(rear, "1")
	s.ring(advance, "1")
	s.ring(rear, "3-1")
	s.clock.Move(24 * time.Hour)
	s.settle()
	require.Equal(t, block.Blocked, s.lineOf(ul).Shows)
	require.Equal(t, "OFF", s.lineOf(ul).Standing)
	require.Len(t, s.view(os).Shelf[0].Offers, 1)
	s.ring(rear, "1")
	s.ring(advance, "1")
	s.ring(rear, "3-1")
	require.Equal(t, "OFF", s.lineOf(ul).Standing)
}

// Where the layout has somebody on duty throughout, whoever takes the box relieves him, and the book says so.
func TestStaffedBoxIsRelieved(t *testing.T) {
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	h.Layout = strings.Replace(h.Layout, `id = "OS"`, "id = \"OS\"\nstaffed = true", 1)
	host := sitting.NewHost(sitting.NewMemory(), sitting.NewHandClock(evening), "taillamp test")
	l, err := host.Open(t.Context(), "evening", h)
	require.NoError(t, err)
	defer func() { require.NoError(t, host.Close(t.Context())) }()
	_, err = l.TakeDuty(t.Context(), os, "A. Porter")
	require.NoError(t, err)
	p, err := l.Present(t.Context(), sitting.Seat{Box: os})
	require.NoError(t, err)
	require.Len(t, p.Book, 2)
	require.Equal(t, []string{"signalman off duty: relieved"}, p.Book[0].Remarks)
	require.Equal(t, []string{"signalman on duty: A. Porter"}, p.Book[1].Remarks)
	_, err = l.TakeDuty(t.Context(), "XX", "")
	require.ErrorIs(t, err, block.ErrNoSuchBox)
}
