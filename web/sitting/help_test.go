package sitting_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// evening is the moment at which the tests begin.
var evening = time.Date(2026, 3, 14, 19, 30, 0, 0, time.UTC)

// The two boxes of the tiny layout, their bells and the line that trains take from the first to the second.
const (
	ul   = block.BoxID("UL")
	os   = block.BoxID("OS")
	bell = block.CircuitID("UL-OS")
	down = block.SectionID("UL-OS Down Main")
)

// stage is a sitting on the tiny layout with a clock moved by hand.
type stage struct {
	t      *testing.T
	clock  *sitting.HandClock
	keeper sitting.Keeper
	host   *sitting.Host
	live   *sitting.Live
	acts   map[sitting.Seat]uint64
}

func newStage(t *testing.T, k sitting.Keeper) *stage {
	t.Helper()
	return newStageOf(t, k, func(*block.Header) {})
}

// newStageOf is newStage of a district that was changed.
func newStageOf(t *testing.T, k sitting.Keeper, change func(*block.Header)) *stage {
	t.Helper()
	s := &stage{t: t, clock: sitting.NewHandClock(evening), keeper: k, acts: make(map[sitting.Seat]uint64)}
	s.host = sitting.NewHost(k, s.clock, "taillamp test")
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	change(&h)
	s.live, err = s.host.Open(t.Context(), "evening", h)
	require.NoError(t, err)
	t.Cleanup(func() {
		ctx, done := context.WithTimeout(context.Background(), 50*time.Millisecond) // nobody here has to be told
		defer done()
		_ = s.host.Close(ctx) // some tests have spoilt it on purpose
	})
	return s
}

// again is the same folder opened by another process.
func (s *stage) again() {
	s.t.Helper()
	s.host = sitting.NewHost(s.keeper, s.clock, "taillamp test")
	var err error
	s.live, err = s.host.Resume(s.t.Context(), "evening")
	require.NoError(s.t, err)
}

func (s *stage) duty(box block.BoxID) sitting.Seat {
	s.t.Helper()
	seat, err := s.live.TakeDuty(s.t.Context(), box, "")
	require.NoError(s.t, err)
	return seat
}

func (s *stage) watch(seat sitting.Seat) *sitting.Watch {
	s.t.Helper()
	w, err := s.live.Watch(s.t.Context(), seat, sitting.Position{})
	require.NoError(s.t, err)
	s.t.Cleanup(w.Close)
	return w
}

// act does the next act of a seat.
func (s *stage) act(seat sitting.Seat, e block.Event) (sitting.Answer, error) {
	s.acts[seat]++
	return s.live.Act(s.t.Context(), seat, s.acts[seat], e)
}

func (s *stage) must(seat sitting.Seat, e block.Event) sitting.Answer {
	s.t.Helper()
	a, err := s.act(seat, e)
	require.NoError(s.t, err)
	require.Equal(s.t, block.Done, a.Ending)
	return a
}

// ring rings a code in an even hand, beat by beat, and waits until it is at an end.
func (s *stage) ring(seat sitting.Seat, code string) {
	s.t.Helper()
	beats, err := block.ParseBeats(code)
	require.NoError(s.t, err)
	for i, n := range beats {
		if i > 0 {
			s.clock.Move(450 * time.Millisecond)
		}
		for range n {
			s.clock.Move(300 * time.Millisecond)
			s.must(seat, block.Event{Do: block.Beat, Circuit: bell, Pressed: s.clock.Now()})
		}
	}
	s.clock.Move(4 * time.Second)
	s.settle()
}

// settle lets the sitting do what the clock asks for.
func (s *stage) settle() {
	s.t.Helper()
	_, err := s.live.Present(s.t.Context(), sitting.Seat{})
	require.NoError(s.t, err)
}

func (s *stage) view(box block.BoxID) block.View {
	_, state := s.live.Snapshot()
	return s.live.Rules().View(state, box)
}

// lineOf is the Down line as a box has it.
func (s *stage) lineOf(box block.BoxID) block.LineView {
	s.t.Helper()
	for _, l := range s.view(box).Shelf[0].Lines {
		if l.Section == down {
			return l
		}
	}
	s.t.Fatalf("%s has no Down line", box)
	return block.LineView{}
}

// waiting takes what lies before a watcher.
func waiting(w *sitting.Watch) []sitting.News {
	var all []sitting.News
	for {
		select {
		case n, ok := <-w.News:
			if !ok {
				return all
			}
			all = append(all, *n)
		default:
			return all
		}
	}
}

// upToEnd takes news until the watching has ended.
func upToEnd(w *sitting.Watch) []sitting.News {
	var all []sitting.News
	for n := range w.News {
		all = append(all, *n)
	}
	return all
}
