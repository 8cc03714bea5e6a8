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

func TestSecondTabletOfASeatEndsTheFirst(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	mine := s.duty(ul)
	first := s.watch(mine)
	second := s.watch(mine)
	upToEnd(first)
	require.ErrorIs(t, first.Why(), sitting.ErrTakenOver)
	require.NotNil(t, waiting(second)[0].Present)
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

// A beat is on the disk within a quarter of a second, and before the fact that it belongs to.
func TestBeatIsWrittenSoonAndBeforeItsFact(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	mine := s.duty(ul)
	kept := func() (beats int, last block.Do) {
		for e, err := range s.live.Entries(t.Context()) {
			require.NoError(t, err)
			last = e.Event.Do
			if last == block.Beat {
				beats++
			}
		}
		return beats, last
	}
	s.must(mine, block.Event{Do: block.Beat, Circuit: bell, Pressed: s.clock.Now()})
	beats, _ := kept()
	require.Zero(t, beats, "it hangs in the air")
	s.clock.Move(250 * time.Millisecond)
	require.Eventually(t, func() bool { n, _ := kept(); return n == 1 }, 5*time.Second, time.Millisecond)

	s.must(mine, block.Event{Do: block.Beat, Circuit: bell, Pressed: s.clock.Now()})
	s.must(mine, block.Event{Do: block.Remark, Words: "fog"})
	beats, last := kept()
	require.Equal(t, 2, beats)
	require.Equal(t, block.Remark, last)
}

// B1: a slow card stutters no bell. While a fact waits for the disk a beat rings at once; nobody is told the fact, and
// every number still comes in its turn.
func TestSlowDiskHoldsUpNoBell(t *testing.T) {
	k := &spoilt{Keeper: sitting.NewMemory()}
	s := newStage(t, k)
	rear, advance := s.duty(ul), s.duty(os)
	far := s.watch(advance)
	at := waiting(far)[0].Present.Seq
	k.disk.Lock()
	turned := make(chan error, 1)
	go func() {
		_, err := s.live.Act(t.Context(), advance, 1, block.Event{Do: block.Turn, Section: down, Show: block.Clear})
		turned <- err
	}()
	<-k.asked
	s.must(rear, block.Event{Do: block.Beat, Circuit: bell, Pressed: s.clock.Now()})
	n := <-far.News
	require.True(t, n.Early)
	require.Equal(t, os, n.Ring.To)
	require.Empty(t, waiting(far))
	require.Empty(t, turned)
	require.Equal(t, block.Blocked, s.lineOf(ul).Shows)

	k.disk.Unlock()
	require.NoError(t, <-turned)
	s.settle()
	var numbers []uint64
	for _, n := range waiting(far) {
		require.Nil(t, n.Ring, "it rings once")
		numbers = append(numbers, n.Seq)
	}
	require.Equal(t, []uint64{at + 1, at + 2}, numbers)
	require.Equal(t, block.Clear, s.lineOf(ul).Shows)
}

// The disk refuses: nobody is told anything, and everybody is told that.
func TestDiskRefuses(t *testing.T) {
	k := &spoilt{Keeper: sitting.NewMemory()}
	s := newStage(t, k)
	rear, advance := s.duty(ul), s.duty(os)
	far := s.watch(advance)
	waiting(far)
	k.refuse.Store(true)
	_, err := s.act(advance, block.Event{Do: block.Turn, Section: down, Show: block.Clear})
	require.ErrorIs(t, err, sitting.ErrNotKept)
	require.ErrorIs(t, err, errDisk)
	require.Empty(t, upToEnd(far))
	require.ErrorIs(t, far.Why(), sitting.ErrNotKept)
	require.Equal(t, block.Blocked, s.lineOf(ul).Shows, "what is shown is what is recorded")
	_, err = s.act(rear, block.Event{Do: block.Beat, Circuit: bell})
	require.ErrorIs(t, err, sitting.ErrNotKept)
	_, err = s.live.Watch(t.Context(), rear, sitting.Position{})
	require.ErrorIs(t, err, sitting.ErrNotKept)
	require.ErrorIs(t, s.live.Trouble(), sitting.ErrNotKept)
	p, err := s.live.Present(t.Context(), rear)
	require.NoError(t, err, "the books can still be read")
	require.NotEmpty(t, p.Book)
}

// A12, A13: a sitting stopped and gone on with is as it was, in another epoch; seats and act numbers hold.
func TestResumeIsAsItWas(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	rear, advance := s.duty(ul), s.duty(os)
	s.ring(rear, "1")
	s.ring(advance, "1")
	s.ring(rear, "3-1")
	s.ring(advance, "3-1")
	answer := s.must(advance, block.Event{Do: block.Turn, Section: down, Show: block.Clear})
	s.settle()
	was, state := s.live.Snapshot()
	before, err := s.live.Present(t.Context(), rear)
	require.NoError(t, err)
	require.NoError(t, s.live.Close(t.Context()))
	require.ErrorIs(t, s.live.Trouble(), sitting.ErrStopped)

	s.again()
	at, resumed := s.live.Snapshot()
	require.NotEqual(t, was.Epoch, at.Epoch)
	require.Equal(t, was.Seq+1, at.Seq, "the mark of opening alone came after it")
	require.Equal(t, state.Digest(), resumed.Digest())
	after, err := s.live.Present(t.Context(), rear)
	require.NoError(t, err)
	require.Equal(t, before.Book, after.Book)
	require.Equal(t, before.Notice, after.Notice)

	retried, err := s.live.Act(t.Context(), advance, s.acts[advance], block.Event{Do: block.Turn, Section: down, Show: block.Clear})
	require.NoError(t, err)
	require.Equal(t, answer, retried)
	w, err := s.live.Watch(t.Context(), advance, was)
	require.NoError(t, err)
	defer w.Close()
	present := (<-w.News).Present
	require.True(t, present.Unknown, "beats may have been lost: nobody says that nothing was missed")
	require.Equal(t, s.acts[advance], present.Acted)
	s.must(advance, block.Event{Do: block.Beat, Circuit: bell, Pressed: s.clock.Now()})
}

func TestEndedSittingIsOver(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	w := s.watch(s.duty(ul))
	require.NoError(t, s.live.End(t.Context()))
	upToEnd(w)
	require.ErrorIs(t, w.Why(), sitting.ErrOver)
	all, err := s.host.Kept(t.Context())
	require.NoError(t, err)
	require.Len(t, all, 1)
	require.True(t, all[0].Began.Equal(evening))
	require.True(t, all[0].Over)
	_, err = sitting.NewHost(s.keeper, s.clock, "").Resume(t.Context(), "evening")
	require.ErrorIs(t, err, sitting.ErrOver)
}

// Told to open a record that the rules would have written otherwise, a sitting shows it and adds nothing.
func TestRecordThatDiffersIsOnlyRead(t *testing.T) {
	k := sitting.NewMemory()
	s := newStage(t, k)
	s.must(s.duty(ul), block.Event{Do: block.Remark, Words: "fog"})
	at, _ := s.live.Snapshot()
	require.NoError(t, s.live.Close(t.Context()))
	record, err := k.Resume(t.Context(), "evening")
	require.NoError(t, err)
	e := block.Event{Do: block.Remark, At: evening.Add(time.Minute), By: ul, Words: "clearing"}
	require.NoError(t, record.Append(t.Context(), block.Entry{Seq: at.Seq + 1, Event: e, Outcome: block.Outcome{Ending: block.Refused, Why: block.Failed}}))
	require.NoError(t, record.Close())

	s.again()
	require.ErrorContains(t, s.live.Trouble(), "entry 4 has another outcome")
	p, err := s.live.Present(t.Context(), sitting.Seat{Box: ul})
	require.NoError(t, err)
	require.NotEmpty(t, p.Book)
	_, err = s.live.TakeDuty(t.Context(), os, "")
	require.Error(t, err)
	require.NoError(t, s.host.Close(t.Context()))
	n := 0
	for _, err := range s.live.Entries(t.Context()) {
		require.NoError(t, err)
		n++
	}
	require.Equal(t, 4, n)
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
