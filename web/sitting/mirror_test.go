package sitting_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

func instructor(box block.BoxID) sitting.Seat { return sitting.Seat{Box: box, As: sitting.Instructs} }

// watched is what the last of some news tells a signaller of who looks on; false: none of them tells it.
func watched(news []sitting.News) (as sitting.As, told bool) {
	for _, n := range news {
		if n.Present != nil && n.Present.Watched != nil {
			as, told = n.Present.Watched.As, true
		}
		if n.Watched != nil {
			as, told = n.Watched.As, true
		}
	}
	return as, told
}

// H1: the instructor is told by the same pushes, in the same order and with the same in them, what the signaller is told:
// rings, needles, register lines, words that the owner puts before him alone and who asks for his box. Beyond that he sees
// the keys that are pressed there.
func TestInstructorIsToldWhatTheSignallerIsTold(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	rear, advance := s.duty(ul), s.duty(os)
	mine, his, other := s.watch(advance), s.watch(instructor(os)), s.watch(sitting.Seat{Box: ul, As: sitting.LooksOn})
	same := func(p *sitting.Present) sitting.Present {
		q := *p
		q.Watched, q.Shows, q.Acted = nil, nil, 0
		return q
	}
	m, h := waiting(mine), waiting(his)
	require.Equal(t, same(m[0].Present), same(h[0].Present))
	waiting(other)

	s.ring(rear, "1")
	s.ring(advance, "1")
	s.ring(rear, "3-1")
	s.ring(advance, "3-1")
	s.must(advance, block.Event{Do: block.Turn, Section: down, Show: block.Clear})
	s.must(advance, block.Event{Do: block.Remark, Words: "fog"})
	require.NoError(t, s.live.Tell(t.Context(), []block.BoxID{os}, "The express runs late."))
	_, err := s.live.AskFor(t.Context(), sitting.Seat{Box: os, As: sitting.Work, Ticket: "another"}, "Ada")
	require.NoError(t, err)
	require.NoError(t, s.live.Pause(t.Context(), true))
	s.settle()

	var rings, lines, needles, words, asks, presses int
	m, h = waiting(mine), waiting(his)
	var follows []sitting.News
	for _, n := range m {
		if n.Watched == nil { // which is for him alone
			follows = append(follows, n)
		}
	}
	require.Len(t, h, len(follows))
	for i, n := range h {
		if n.Press != nil {
			presses++
			require.Equal(t, bell, n.Press.Circuit)
			require.Equal(t, n.At.UnixMilli(), n.Press.Pressed.Time().UnixMilli())
			n.Press = nil
		}
		require.Equal(t, follows[i], n)
		lines += len(n.Lines)
		for _, c := range n.Changes {
			if c.Indicator != nil {
				needles++
			}
		}
		if n.Ring != nil {
			rings++
		}
		if n.Words != nil && len(n.Words.All) > 0 {
			words++
		}
		if n.Asks != nil && n.Asks.Who == "Ada" {
			asks++
		}
	}
	require.Equal(t, []int{5, 1, 1, 1, 5}, []int{rings, needles, words, asks, presses})
	require.GreaterOrEqual(t, lines, 3)
	for _, n := range waiting(other) {
		require.Nil(t, n.Words, "nobody else is told what is for one signaller")
		require.Nil(t, n.Asks)
	}
}

// H1: the signaller is told at once who looks on, the instructor before anybody else, and that nobody does any more; his
// neighbours, his book page and the instruments on the layout are neither told nor counted.
func TestSignallerIsToldThatHeIsWatched(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	mine, far := s.watch(s.duty(os)), s.watch(s.duty(ul))
	as, told := watched(waiting(mine))
	require.True(t, told)
	require.Empty(t, as)
	for _, seat := range []sitting.Seat{{Box: os, As: sitting.BookLad}, {Box: os, As: sitting.Fitted, Ticket: "bell"}, {Box: ul, As: sitting.LooksOn}, {As: sitting.Visiting}} {
		s.watch(seat)
	}
	_, told = watched(waiting(mine))
	require.False(t, told)
	as, _ = watched(waiting(far))
	require.Equal(t, sitting.LooksOn, as)

	changes := func(want sitting.As) {
		t.Helper()
		as, told := watched(waiting(mine))
		require.True(t, told)
		require.Equal(t, want, as)
	}
	somebody := s.watch(sitting.Seat{Box: os, As: sitting.LooksOn})
	changes(sitting.LooksOn)
	first, second := s.watch(instructor(os)), s.watch(instructor(os))
	changes(sitting.Instructs)
	first.Close()
	_, told = watched(waiting(mine))
	require.False(t, told, "another instructor looks on still")
	second.Close()
	changes(sitting.LooksOn)
	somebody.Close()
	changes("")
	_, told = watched(waiting(far))
	require.False(t, told)
	_, err := s.live.Watch(t.Context(), sitting.Seat{As: sitting.Instructs}, sitting.Position{})
	require.ErrorIs(t, err, sitting.ErrWrongTicket, "he watches a box")
}

// H1: what a signaller's tablet shows that is in no record goes to whoever instructs at his box and to nobody else (C1), and
// to one who comes later, too; only that tablet can say it. When it goes off the wire, he is told that.
func TestInstructorSeesWhatIsInNoRecord(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	seat := s.duty(os)
	mine := s.watch(seat)
	his, others := s.watch(instructor(os)), []*sitting.Watch{s.watch(instructor(ul)), s.watch(sitting.Seat{Box: os, As: sitting.LooksOn}), s.watch(s.duty(ul))}
	shows := sitting.Shows{Tab: bell, Advice: &sitting.Advised{Act: "Answer the call."}}
	require.NoError(t, s.live.Shows(t.Context(), seat, shows))
	require.ErrorIs(t, s.live.Shows(t.Context(), instructor(os), shows), sitting.ErrWrongTicket)
	news := waiting(his)
	require.Equal(t, &shows, news[len(news)-1].Shows)
	for _, w := range append(others, mine) {
		for _, n := range waiting(w) {
			require.Nil(t, n.Shows)
			if n.Present != nil {
				require.Nil(t, n.Present.Shows)
			}
		}
	}
	require.Equal(t, &shows, waiting(s.watch(instructor(os)))[0].Present.Shows)
	mine.Close()
	news = waiting(his)
	require.Equal(t, []string{"lost"}, news[len(news)-1].Shows.Marks)
}

// H1: an instructor who reads nothing is cut off, the signaller is told that nobody looks on any more, and every beat is
// heard; so are several at once.
func TestSlowInstructorsHoldUpNobody(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	rear, advance := s.duty(ul), s.duty(os)
	slow := []*sitting.Watch{s.watch(instructor(os)), s.watch(instructor(os)), s.watch(instructor(ul))}
	good := s.watch(advance)
	heard := 0
	var all []sitting.News
	for range 400 {
		s.clock.Move(300 * time.Millisecond)
		s.must(rear, block.Event{Do: block.Beat, Circuit: bell, Pressed: s.clock.Now()})
		s.settle()
		for _, n := range waiting(good) {
			if n.Ring != nil {
				heard++
			}
			all = append(all, n)
		}
	}
	require.Equal(t, 400, heard)
	for _, w := range slow {
		require.Len(t, upToEnd(w), 256)
		require.ErrorIs(t, w.Why(), sitting.ErrSlow)
	}
	as, told := watched(all)
	require.True(t, told)
	require.Empty(t, as)
}
