package main

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/sounds"
	"taillamp/sounds/speaker"
	"taillamp/web"
	"taillamp/web/sitting"
)

// bareWall is a loudspeaker that notes what is struck.
type bareWall struct {
	mu     sync.Mutex
	struck chan string // voices
	waits  []time.Duration
	lost   error
	closed bool
}

func (b *bareWall) Strike(v sounds.Voice, after time.Duration) {
	b.mu.Lock()
	b.waits = append(b.waits, after)
	b.mu.Unlock()
	b.struck <- v.Name
}

func (b *bareWall) Lost() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.lost
}

func (b *bareWall) lose(err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.lost = err
}

func (b *bareWall) Close() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.closed = true
	return nil
}

// trial is a sitting of the tiny layout in memory.
func trial(t *testing.T) (*sitting.Live, *sitting.HandClock) {
	t.Helper()
	clock := sitting.NewHandClock(time.Date(2026, 3, 14, 19, 30, 0, 0, time.UTC))
	host := sitting.NewHost(sitting.NewMemory(), clock, "taillamp test")
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	live, err := host.Open(t.Context(), "evening", h)
	require.NoError(t, err)
	t.Cleanup(func() {
		ctx, done := context.WithTimeout(context.Background(), time.Second)
		defer done()
		require.NoError(t, host.Close(ctx))
	})
	return live, clock
}

// Story K7: the bells of the boxes named ring here, each by the voice that its tablets have, and no others.
func TestTheBellsOfABoxRingOnTheWall(t *testing.T) {
	live, clock := trial(t)
	b := &bareWall{struck: make(chan string, 100)}
	var said strings.Builder
	w, err := openWall("os", stdio{Err: &said}, func() (speaker.Speaker, error) { return b, nil })
	require.NoError(t, err)
	require.NoError(t, w.hang(t.Context(), live))

	seats := map[block.BoxID]sitting.Seat{}
	for _, box := range []block.BoxID{"UL", "OS"} {
		seats[box], err = live.TakeDuty(t.Context(), box, "")
		require.NoError(t, err)
	}
	beat := func(box block.BoxID, number uint64) {
		clock.Move(300 * time.Millisecond)
		_, err := live.Act(t.Context(), seats[box], number, block.Event{Do: block.Beat, Circuit: "UL-OS", Pressed: clock.Now()})
		require.NoError(t, err)
	}
	want := web.Voices(live.Rules())("OS", "UL-OS")
	require.NotEmpty(t, want)
	for n := range uint64(3) {
		beat("UL", n+1)
		require.Equal(t, want, <-b.struck)
	}
	beat("OS", 1) // rings at UL, where no bell hangs
	beat("UL", 4)
	require.Equal(t, want, <-b.struck)

	require.Empty(t, said.String())
	b.lose(speaker.ErrNoSpeaker)
	beat("UL", 5)
	beat("UL", 6)
	<-b.struck
	<-b.struck
	b.lose(nil)
	beat("UL", 7)
	<-b.struck

	require.NoError(t, w.Close())
	require.True(t, b.closed)
	require.Empty(t, b.struck)
	require.Equal(t, 1, strings.Count(said.String(), "has gone"), said.String())
	require.Equal(t, 1, strings.Count(said.String(), "is back"), said.String())
}

// Story D1: six beats from the other end are followed by a roll on the wall too; those of the box's own are not, nor is
// any other code.
func TestSixBeatsRollOnTheWall(t *testing.T) {
	live, clock := trial(t)
	b := &bareWall{struck: make(chan string, 100)}
	w, err := openWall("OS", stdio{Err: &strings.Builder{}}, func() (speaker.Speaker, error) { return b, nil })
	require.NoError(t, err)
	require.NoError(t, w.hang(t.Context(), live))
	number := uint64(0)
	ring := func(by block.BoxID, seat sitting.Seat, beats int) {
		for range beats {
			clock.Move(300 * time.Millisecond)
			number++
			_, err := live.Act(t.Context(), seat, number, block.Event{Do: block.Beat, Circuit: "UL-OS", Pressed: clock.Now()})
			require.NoError(t, err)
		}
		clock.Move(3 * time.Second) // the quiet that ends a code
		number++
		_, err := live.Act(t.Context(), seat, number, block.Event{Do: block.Remark, Words: "rung by " + string(by)})
		require.NoError(t, err)
	}
	ul, err := live.TakeDuty(t.Context(), "UL", "")
	require.NoError(t, err)
	os, err := live.TakeDuty(t.Context(), "OS", "")
	require.NoError(t, err)
	ring("UL", ul, 1)
	ring("UL", ul, 6)
	ring("OS", os, 6) // the answer
	require.NoError(t, w.Close())
	require.Len(t, b.struck, 1+6+rollStrokes)
	rolled := b.waits[len(b.waits)-rollStrokes:]
	require.Equal(t, rollAfter, rolled[0])
	require.Equal(t, rollAfter+(rollStrokes-1)*rollApart, rolled[rollStrokes-1])
}

// Story K7: a missing loudspeaker is one sentence, and the sitting goes on; a program built without one explains what
// to build; a box that is not there is said.
func TestAMissingLoudspeakerIsOneSentence(t *testing.T) {
	live, _ := trial(t)
	var said strings.Builder
	std := stdio{Err: &said}
	absent := func() (speaker.Speaker, error) { return nil, fmt.Errorf("%w: no such file", speaker.ErrNoSpeaker) }
	w, err := openWall("OS,UL", std, absent)
	require.NoError(t, err)
	require.NoError(t, w.hang(t.Context(), live))
	require.NoError(t, w.Close())
	require.Equal(t, 1, strings.Count(said.String(), "\n"))
	require.Contains(t, said.String(), "the tablets ring all the same")

	_, err = openWall("OS", std, func() (speaker.Speaker, error) { return nil, speaker.ErrNotBuilt })
	require.ErrorContains(t, err, "built without a loudspeaker")
	var f fault
	require.ErrorAs(t, err, &f)
	require.Contains(t, f.hint, "go build -tags speaker")

	w, err = openWall("OS,XX", std, absent)
	require.NoError(t, err)
	require.ErrorContains(t, w.hang(t.Context(), live), `has no box "XX"`)

	w, err = openWall("", std, nil)
	require.NoError(t, err)
	require.NoError(t, w.hang(t.Context(), live))
	require.NoError(t, w.Close())
}
