package sitting_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

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
	s.settle() // the beat is answered before it is put down to be written
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

// A13: whoever comes to an evening broken off last week can take the boxes; who comes back with his ticket keeps his.
func TestBoxesOfABrokenOffEveningCanBeTaken(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	rear, advance := s.duty(ul), s.duty(os)
	require.NoError(t, s.live.Close(t.Context()))
	s.again()
	s.watch(rear)
	_, err := s.live.TakeDuty(t.Context(), ul, "somebody else")
	require.ErrorIs(t, err, sitting.ErrTaken)
	_, err = s.live.TakeDuty(t.Context(), os, "somebody else")
	require.NoError(t, err)
	require.False(t, s.live.Holds(t.Context(), advance))
	p, err := s.live.Present(t.Context(), sitting.Seat{Box: os})
	require.NoError(t, err)
	require.Equal(t, []string{"signalman off duty: relieved"}, p.Book[1].Remarks)
	require.Equal(t, []string{"signalman on duty: somebody else"}, p.Book[2].Remarks)
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
