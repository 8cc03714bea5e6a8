package sitting_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// overseen is a box as the owner sees it.
func (s *stage) overseen(box block.BoxID) sitting.Overseen {
	s.t.Helper()
	o, err := s.live.Oversee(s.t.Context())
	require.NoError(s.t, err)
	for _, b := range o.Boxes {
		if b.Box == box {
			return b
		}
	}
	s.t.Fatalf("the owner does not see %s", box)
	return sitting.Overseen{}
}

// ownersEntries are the acts that the record lays to the owner.
func (s *stage) ownersEntries() []block.Event {
	s.t.Helper()
	var all []block.Event
	for e, err := range s.live.Entries(s.t.Context()) {
		require.NoError(s.t, err)
		if e.Seat == "owner" {
			all = append(all, e.Event)
		}
	}
	return all
}

// A9: the owner frees a box. Its tablet is told why it has no box any more and can work nothing; another may take it,
// and the record has it with its time.
func TestOwnerFreesABox(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	seat := s.duty(os)
	w := s.watch(seat)
	require.Equal(t, sitting.OnWire, s.overseen(os).Wire)
	require.NoError(t, s.live.Free(t.Context(), os))
	upToEnd(w)
	require.ErrorIs(t, w.Why(), sitting.ErrFreed)
	_, err := s.act(seat, block.Event{Do: block.Beat, Circuit: bell})
	require.ErrorIs(t, err, sitting.ErrWrongTicket)
	require.ErrorIs(t, s.live.Free(t.Context(), os), sitting.ErrAsItIs, "nobody is there any more")
	require.Equal(t, sitting.NoTablet, s.overseen(os).Wire)
	s.duty(os)
	did := s.ownersEntries()
	require.Len(t, did, 1)
	require.Equal(t, block.Duty, did[0].Do)
	require.True(t, did[0].Off)
	require.Equal(t, s.clock.Now(), did[0].At.UTC())
	require.ErrorIs(t, s.live.Free(t.Context(), "XX"), block.ErrNoSuchBox)
}

// A9: a tablet that goes off the wire is seen as silent, one that never came after a stop as such.
func TestOwnerSeesWhoIsSilent(t *testing.T) {
	k := sitting.NewMemory()
	s := newStage(t, k)
	w := s.watch(s.duty(os))
	w.Close()
	require.Equal(t, sitting.OffWire, s.overseen(os).Wire)
	require.Equal(t, s.clock.Now(), s.overseen(os).Silent.UTC())
	require.NoError(t, s.live.Close(t.Context()))
	s.again()
	require.Equal(t, sitting.NeverCame, s.overseen(os).Wire)
}

// A12: while the evening is paused no act of a signaller is taken and every box shows it; afterwards all stands as it
// stood.
func TestOwnerPausesTheEvening(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	rear, advance := s.duty(ul), s.duty(os)
	s.ring(rear, "1")
	before := s.view(os)
	w := s.watch(advance)
	waiting(w)
	require.NoError(t, s.live.Pause(t.Context(), true))
	told := waiting(w)
	require.NotEmpty(t, told)
	require.True(t, told[0].View.Paused, "the tablet is told at once")
	require.ErrorIs(t, s.live.Pause(t.Context(), true), sitting.ErrAsItIs)
	_, err := s.act(advance, block.Event{Do: block.Turn, Section: down, Show: block.Clear})
	require.ErrorIs(t, err, block.ErrPaused)
	stands := s.live.District().At(s.clock.Now())
	s.clock.Move(10 * time.Minute)
	require.Equal(t, stands, s.live.District().At(s.clock.Now()), "the district's clock stands too (Q10)")
	require.NoError(t, s.live.Pause(t.Context(), false))
	after := s.view(os)
	before.At, after.At = time.Time{}, time.Time{}
	require.Equal(t, before, after)
	s.must(advance, block.Event{Do: block.Turn, Section: down, Show: block.Clear})
	require.Len(t, s.ownersEntries(), 2)
}

// A12: simulated signallers and trains stand still during a pause, and do afterwards what they were about to.
func TestCompanyStandsStillDuringAPause(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	require.NoError(t, s.live.Employ(t.Context(), 1, nil))
	s.passes(nil, 20*time.Minute, func() bool { return s.lineOf(os).Standing == "LINE" })
	require.NoError(t, s.live.Pause(t.Context(), true))
	at, _ := s.live.Snapshot()
	for range 60 {
		s.clock.Move(time.Minute)
		s.settle()
	}
	now, _ := s.live.Snapshot()
	require.LessOrEqual(t, now.Seq-at.Seq, uint64(1), "a code in the air may come to its end, and nothing else happens")
	require.NoError(t, s.live.Pause(t.Context(), false))
	s.settle()
	require.Equal(t, "LINE", s.lineOf(os).Standing, "the train has not been run through the hour at once")
	s.passes(nil, 20*time.Minute, func() bool { return s.lineOf(os).Standing == "IDLE" && s.lineOf(os).Shows == block.Blocked })
}

// G1, A9: the owner puts a simulated signaller in an empty box and takes him out; then it stays empty until somebody
// comes. A box with a tablet he must free first.
func TestOwnerPutsASimulatedSignallerIn(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	seat := s.duty(os)
	require.ErrorIs(t, s.live.Simulate(t.Context(), os, 1), sitting.ErrTaken)
	require.NoError(t, s.live.Simulate(t.Context(), ul, 1))
	require.True(t, s.overseen(ul).Simulated)
	require.False(t, s.overseen(os).Simulated, "the others stay people's")
	require.ErrorIs(t, s.live.Simulate(t.Context(), ul, 1), sitting.ErrAsItIs)
	s.passes(&seat, 20*time.Minute, func() bool { return s.lineOf(os).Standing == "LINE" }) // he works his trains
	require.NoError(t, s.live.Free(t.Context(), ul))
	s.clock.Move(time.Minute)
	s.settle()
	require.False(t, s.view(ul).OnDuty)
	require.False(t, s.overseen(ul).Simulated)
	require.NoError(t, s.live.Simulate(t.Context(), ul, 1))
	require.True(t, s.overseen(ul).Simulated)
	s.duty(ul) // anybody may take it from him
	require.False(t, s.overseen(ul).Simulated)
}

// A9: with one simulated signaller in, nobody turns the closing switch of another box, although trains are to call there.
func TestSimulatedSignallerKeepsToHisBox(t *testing.T) {
	s := &stage{t: t, clock: sitting.NewHandClock(evening)}
	s.host = sitting.NewHost(sitting.NewMemory(), s.clock, "taillamp test")
	h, err := block.EmbeddedHeader("lathermoor")
	require.NoError(t, err)
	s.live, err = s.host.Open(t.Context(), "evening", h)
	require.NoError(t, err)
	t.Cleanup(func() { _ = s.host.Close(context.WithoutCancel(t.Context())) }) // nobody here has to be told
	require.False(t, s.view("QU").Open, "Quarnaby opens at 15.58½, says the layout")
	require.NoError(t, s.live.Simulate(t.Context(), ul, 1))
	for range 60 {
		s.clock.Move(time.Minute)
		s.settle()
	}
	require.Equal(t, "16.30", s.live.District().At(s.clock.Now()).Format("15.04"))
	require.False(t, s.view("QU").Open)
	for _, b := range []block.BoxID{os, "TO", "HX", "SK"} {
		require.False(t, s.view(b).OnDuty, b)
	}
}

// D12: the owner makes the bell fail: the far box hears nothing, and the signallers' pages say nothing of it. Mended, it
// rings again. What has failed is known after a stop.
func TestOwnerMakesABellFail(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	rear, advance := s.duty(ul), s.duty(os)
	failure := sitting.Failure{Circuit: bell, Where: block.AtBell}
	w := s.watch(advance)
	waiting(w)
	require.NoError(t, s.live.Fail(t.Context(), failure, false))
	require.ErrorIs(t, s.live.Fail(t.Context(), failure, false), sitting.ErrAsItIs)
	s.ring(rear, "1")
	for _, n := range waiting(w) {
		require.Nil(t, n.Ring, "a dead bell does not ring")
		for _, c := range n.Changes {
			require.Nil(t, c.Fault, "nobody is told that it is dead")
		}
	}
	require.Equal(t, []sitting.Failure{failure}, s.overseen(os).Failed)
	require.Equal(t, []sitting.Failure{failure}, s.overseen(ul).Failed)
	require.NoError(t, s.live.Close(t.Context()))
	s.again()
	require.Equal(t, []sitting.Failure{failure}, s.overseen(os).Failed)
	require.NoError(t, s.live.Fail(t.Context(), failure, true))
	require.Empty(t, s.overseen(os).Failed)
	s.ring(rear, "1")
	require.NotNil(t, s.view(os).Shelf[0].Heard)
	require.ErrorIs(t, s.live.Fail(t.Context(), sitting.Failure{Circuit: "XX-YY", Where: block.AtBell}, false), block.ErrNoSuchLine)
	require.ErrorIs(t, s.live.Fail(t.Context(), sitting.Failure{Circuit: bell, Where: block.Passes}, false), block.ErrNoInstrument)
}

// A9: what the owner remarks stands in the record and in no book, and the owner's page has what he did, newest first,
// also after a stop.
func TestOwnersRemarkIsInTheRecord(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	s.duty(os)
	require.NoError(t, s.live.Pause(t.Context(), true))
	require.NoError(t, s.live.Note(t.Context(), "tea")) // also while the evening is paused
	require.ErrorIs(t, s.live.Note(t.Context(), ""), sitting.ErrNoAct)
	require.NoError(t, s.live.Close(t.Context()))
	s.again()
	o, err := s.live.Oversee(t.Context())
	require.NoError(t, err)
	require.False(t, o.Paused.IsZero())
	require.Len(t, o.Did, 2)
	require.Equal(t, "tea", o.Did[0].Event.Words)
	require.Equal(t, block.Pace, o.Did[1].Event.Do)
	p, err := s.live.Present(t.Context(), sitting.Seat{Box: os, As: sitting.BookLad})
	require.NoError(t, err)
	require.Len(t, p.Book, 1, "the signaller's own line and no more")
}

// L2: two keys are never alike, and each has twenty letters none of which looks like another.
func TestOwnerKeysAreLongAndUnlike(t *testing.T) {
	seen := make(map[string]bool)
	for range 1000 {
		k := sitting.NewKey()
		require.Regexp(t, `^([34679A-Z]{5}-){3}[34679A-Z]{5}$`, k)
		require.NotRegexp(t, `[01258BILOSZ]`, k)
		require.False(t, seen[k])
		seen[k] = true
	}
}

// Q10: after a pause the evening goes on at another speed. It stands in the record, the tablets are told, the train that is
// on its way takes so much less of what was left, and people ring at their own pace. Only a scaled clock has a speed.
func TestEveningGoesOnAtAnotherSpeed(t *testing.T) {
	takes := func(speed float64) (train, bells time.Duration) {
		s := newStage(t, sitting.NewMemory())
		require.NoError(t, s.live.Employ(t.Context(), 1, nil))
		s.passes(nil, 20*time.Minute, func() bool { return s.lineOf(os).Standing == "LINE" })
		w := s.watch(sitting.Seat{Box: os, As: sitting.LooksOn})
		waiting(w)
		require.ErrorIs(t, s.live.GoOn(t.Context(), speed), sitting.ErrAsItIs, "only from a pause")
		require.NoError(t, s.live.Pause(t.Context(), true))
		require.ErrorIs(t, s.live.GoOn(t.Context(), 0), block.ErrNoSense)
		require.ErrorIs(t, s.live.GoOn(t.Context(), 61), block.ErrNoSense)
		require.NoError(t, s.live.GoOn(t.Context(), speed))
		told := waiting(w)
		require.NotNil(t, told[len(told)-1].Time)
		require.InDelta(t, speed, told[len(told)-1].Time.Speed, 0)
		began, shown := s.clock.Now(), s.live.District().At(s.clock.Now())
		s.passes(nil, 20*time.Minute, func() bool { return len(s.lineOf(os).Trains) > 0 && s.lineOf(os).Trains[0].Where == block.Heads })
		train = s.clock.Now().Sub(began)
		require.InDelta(t, speed, s.live.District().At(s.clock.Now()).Sub(shown).Seconds()/train.Seconds(), 0.01)
		s.passes(nil, 20*time.Minute, func() bool { return s.lineOf(os).Standing == "IDLE" && s.lineOf(os).Shows == block.Blocked })
		s.nothingFound()
		first := time.Time{}
		for e, err := range s.live.Entries(t.Context()) {
			require.NoError(t, err)
			for _, c := range e.Outcome.Changes {
				if c.Signal == nil || c.Signal.Key != "out-of-section" {
					continue
				}
				if c.Signal.Sense == block.Own {
					first = e.Event.At
				} else {
					bells = e.Event.At.Sub(first)
				}
			}
		}
		return train, bells
	}
	usual, rung := takes(1)
	faster, rungThen := takes(4)
	require.InDelta(t, usual.Seconds()/4, faster.Seconds(), 1)
	require.Greater(t, rungThen, rung/2, "bells are never sped up")
	require.Positive(t, rung)
}
