package sitting_test

import (
	"context"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// passes lets time go by in small steps, and has a person do at his box what is right, until something holds.
func (s *stage) passes(seat *sitting.Seat, most time.Duration, until func() bool) {
	s.t.Helper()
	for end := s.clock.Now().Add(most); !until(); {
		require.True(s.t, s.clock.Now().Before(end), "nothing came of it in %s", most)
		s.clock.Move(250 * time.Millisecond)
		s.settle()
		if seat != nil {
			s.rightAct(*seat)
		}
	}
}

// rightAct does what Next advises at the box of a seat, if anything.
func (s *stage) rightAct(seat sitting.Seat) {
	s.t.Helper()
	v := s.view(seat.Box)
	v.At = s.clock.Now()
	advice := s.live.Rules().Next(v)
	if len(advice) == 0 {
		return
	}
	a := advice[0]
	if a.Do != block.Rung {
		s.must(seat, a.Event(seat.Box))
		return
	}
	for i, n := range a.Beats {
		if i > 0 {
			s.clock.Move(700 * time.Millisecond)
		}
		for range n {
			s.clock.Move(300 * time.Millisecond)
			s.must(seat, block.Event{Do: block.Beat, Circuit: a.Circuit, Pressed: s.clock.Now()})
		}
	}
	s.clock.Move(4 * time.Second)
	s.settle()
}

// One operator works OS; UL and its trains are simulated. The first train is worked through by the two of them, and
// nothing is irregular (G1). He leaves, and the company works his box; another takes it in mid-train and has it (C5).
func TestAloneWithACompany(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	require.NoError(t, s.live.Employ(t.Context(), 1, []block.BoxID{os}))
	seat := s.duty(os)
	s.passes(&seat, 20*time.Minute, func() bool { return len(s.lineOf(os).Trains) > 0 && s.lineOf(os).Trains[0].Where == block.Heads })
	require.Equal(t, block.Occupied, s.lineOf(os).Shows)
	s.must(seat, block.Event{Do: block.Train, Section: down, Where: block.Passes, Lamp: block.LampSeen, Train: "1"})
	s.passes(&seat, 2*time.Minute, func() bool { return s.lineOf(os).Standing == "IDLE" && s.lineOf(os).Shows == block.Blocked })

	s.must(seat, block.Event{Do: block.Duty, Off: true})
	s.passes(nil, 30*time.Second, func() bool { return s.view(os).OnDuty })
	s.passes(nil, 40*time.Minute, func() bool { return s.lineOf(os).Standing == "LINE" }) // the next train is on its way
	seat = s.duty(os)
	s.passes(&seat, 15*time.Minute, func() bool { return len(s.lineOf(os).Trains) > 0 && s.lineOf(os).Trains[0].Where == block.Heads })
	s.must(seat, block.Event{Do: block.Train, Section: down, Where: block.Passes, Lamp: block.LampSeen, Train: s.lineOf(os).Trains[0].Train})
	s.passes(&seat, 2*time.Minute, func() bool { return s.lineOf(os).Standing == "IDLE" && s.lineOf(os).Shows == block.Blocked })

	s.nothingFound()
}

// A sitting with a company that is broken off goes on with its trains where they were.
func TestCompanyGoesOnAfterAStop(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	require.NoError(t, s.live.Employ(t.Context(), 1, nil))
	s.passes(nil, 20*time.Minute, func() bool { return s.lineOf(os).Standing == "LINE" })
	require.NoError(t, s.live.Close(t.Context()))
	s.again()
	require.NoError(t, s.live.Employ(t.Context(), 2, nil))
	s.passes(nil, 20*time.Minute, func() bool { return s.lineOf(os).Standing == "IDLE" && s.lineOf(os).Shows == block.Blocked })
}

// A13: a sitting that is stopped while its simulated signallers ring has their codes whole, and goes on as if they had rung
// them to the end. It is stopped at second beats.
func TestStoppedInMidCode(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	require.NoError(t, s.live.Employ(t.Context(), 1, nil))
	for range 12 {
		w := s.watch(sitting.Seat{Box: os, As: sitting.LooksOn})
		var last time.Time
		s.passes(nil, 40*time.Minute, func() bool {
			second := false
			for _, n := range waiting(w) {
				if n.Ring != nil {
					second = second || n.Ring.Pressed.Sub(last) < time.Second
					last = n.Ring.Pressed
				}
			}
			return second
		})
		require.NoError(t, s.live.Close(t.Context()))
		s.again()
		s.clock.Move(20 * time.Second)
		s.settle()
		require.NoError(t, s.live.Employ(t.Context(), 1, nil))
	}
	s.passes(nil, 60*time.Minute, func() bool { return s.lineOf(os).Standing == "LINE" })
	s.passes(nil, 20*time.Minute, func() bool { return s.lineOf(os).Standing == "IDLE" && s.lineOf(os).Shows == block.Blocked })
	s.nothingFound()
}

// C11: a tail that goes by while a person has the box and is not marked before he leaves is known to who relieves him: the
// train is given out of section, and nobody is stuck.
func TestReliefKnowsOfTheTailThatWentBy(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	require.NoError(t, s.live.Employ(t.Context(), 1, []block.BoxID{os}))
	seat := s.duty(os)
	s.passes(&seat, 20*time.Minute, func() bool { return len(s.lineOf(os).Trains) > 0 && s.lineOf(os).Trains[0].Where == block.Heads })
	for range 3 { // its tail goes by, and he looks at nothing
		s.clock.Move(time.Minute)
		s.settle()
	}
	require.Equal(t, "LINE", s.lineOf(os).Standing)
	s.must(seat, block.Event{Do: block.Duty, Off: true})
	s.passes(nil, 3*time.Minute, func() bool { return s.lineOf(os).Standing == "IDLE" && s.lineOf(os).Shows == block.Blocked })
}

// G11, Q10: without a clock nothing presses. The simulated neighbour calls once and waits, for half an hour if need be; his
// train stands; and when the person is ready all goes on from there. That is no setting of the rules: what was slow is still
// told afterwards as slow.
func TestNeighbourWaitsWithoutAClock(t *testing.T) {
	s := newStageOf(t, sitting.NewMemory(), func(h *block.Header) {
		h.Layout = strings.Replace(h.Layout, `kind   = "scaled"`, `kind   = "none"`, 1)
	})
	require.NoError(t, s.live.Employ(t.Context(), 1, []block.BoxID{os}))
	seat := s.duty(os)
	calls := func() int {
		n := 0
		for e, err := range s.live.Entries(t.Context()) {
			require.NoError(t, err)
			for _, c := range e.Outcome.Changes {
				if c.Signal != nil && c.Signal.By == ul && c.Signal.Key == "call-attention" && c.Signal.Sense == block.Own {
					n++
				}
			}
		}
		return n
	}
	s.passes(nil, 30*time.Minute, func() bool { return calls() == 1 })
	for range 30 {
		s.clock.Move(time.Minute)
		s.settle()
	}
	require.Equal(t, 1, calls(), "he waits")
	s.passes(&seat, 20*time.Minute, func() bool { return len(s.lineOf(os).Trains) > 0 && s.lineOf(os).Trains[0].Where == block.Heads })
}

// C11, C5: who goes off duty with a train in the section is relieved by the company, and the record says so. It is no
// finding (R65), neither the first time nor the third.
func TestCompanyRelievesInMidTrain(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	require.NoError(t, s.live.Employ(t.Context(), 1, []block.BoxID{os}))
	seat := s.duty(os)
	s.passes(&seat, 20*time.Minute, func() bool { return s.lineOf(os).Standing == "LINE" })
	for range 3 {
		s.must(seat, block.Event{Do: block.Duty, Off: true})
		require.False(t, s.view(os).OnDuty)
		s.passes(nil, 30*time.Second, func() bool { return s.view(os).OnDuty })
		seat = s.duty(os)
		require.Equal(t, "LINE", s.lineOf(os).Standing)
	}
	s.nothingFound()
}

// gate is a clock that can be held: whoever asks it for the time then waits.
type gate struct {
	*sitting.HandClock
	held  sync.Mutex
	asked atomic.Int64
}

func (g *gate) Now() time.Time {
	g.asked.Add(1)
	g.held.Lock()
	defer g.held.Unlock()
	return g.HandClock.Now()
}

// However much a sitting is asked, what is due by its clock is done before what was asked later: else the beats of a
// simulated signaller would run together, and be read as another code.
func TestWhatIsDueIsDoneBeforeWhatIsAskedLater(t *testing.T) {
	clock := &gate{HandClock: sitting.NewHandClock(evening)}
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	host := sitting.NewHost(sitting.NewMemory(), clock, "taillamp test")
	live, err := host.Open(t.Context(), "evening", h)
	require.NoError(t, err)
	t.Cleanup(func() { _ = host.Close(context.WithoutCancel(t.Context())) }) // nobody here has to be told
	require.NoError(t, live.Employ(t.Context(), 1, nil))
	present := func() uint64 {
		p, err := live.Present(t.Context(), sitting.Seat{})
		assert.NoError(t, err)
		return p.Seq
	}
	happened := 0
	for range 8000 {
		var asking sync.WaitGroup
		var then uint64
		before, asked := present(), clock.asked.Load()
		clock.held.Lock()
		asking.Go(func() { present() })
		for clock.asked.Load() == asked { // until the sitting is busy with it
			runtime.Gosched()
		}
		clock.Move(250 * time.Millisecond)
		asking.Go(func() { then = present() })
		runtime.Gosched()
		clock.held.Unlock()
		asking.Wait()
		if now := present(); now != before {
			happened++
			require.Equal(t, now, then, "what was due had happened when it was answered")
		}
	}
	require.Greater(t, happened, 20)
}

// Q10: with a clock that goes six times as fast trains still leave when they are booked: that a box with a closing switch ought
// to have opened before the sitting began puts nobody off.
func TestQuickClockKeepsItsTrains(t *testing.T) {
	s := newStageOf(t, sitting.NewMemory(), func(h *block.Header) {
		demo, err := block.EmbeddedHeader("lathermoor")
		require.NoError(t, err)
		*h = demo
		h.Layout = strings.Replace(h.Layout, "speed  = 1", "speed  = 6", 1)
	})
	require.NoError(t, s.live.Employ(t.Context(), 1, nil))
	left := func() (first time.Time) {
		for _, e := range s.happened(block.Train) {
			if e.Event.Where == block.Leaves && first.IsZero() {
				first = e.Event.At
			}
		}
		return first
	}
	s.passes(nil, 5*time.Minute, func() bool { return !left().IsZero() })
	district := s.live.District().At(left())
	require.WithinDuration(t, time.Date(2026, 3, 14, 15, 37, 0, 0, district.Location()), district, 4*time.Minute, "15.34 from Tolverbeck, 15.36 from Skelderby")
}
