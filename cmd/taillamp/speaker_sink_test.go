//go:build speaker && cgo && linux

package main

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/sounds"
	"taillamp/sounds/soundtest"
	"taillamp/web/sitting"
)

// Story K7: from the server's having a beat to its sound in the air are at most 60 ms (p95), all through the sitting,
// the watching and the loudspeaker.
func TestAWallBellSoundsInTime(t *testing.T) {
	sink := soundtest.StartSink(t)
	host := sitting.NewHost(sitting.NewMemory(), sitting.NewRealClock(), "taillamp test")
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	live, err := host.Open(t.Context(), "evening", h)
	require.NoError(t, err)
	var said strings.Builder
	w, err := openWall("OS", stdio{Err: &said}, openSpeaker)
	require.NoError(t, err)
	require.NoError(t, w.hang(t.Context(), live))
	seat, err := live.TakeDuty(t.Context(), "UL", "")
	require.NoError(t, err)
	time.Sleep(time.Second) // the device finds its pace

	var struck []time.Time
	hand := sounds.HandOf(220 * time.Millisecond)
	for _, code := range [][]uint8{{1}, {3, 1}, {2}, {2, 1}, {16}} {
		begins := time.Now()
		for _, at := range hand.Times(code) {
			time.Sleep(time.Until(begins.Add(at)))
			struck = append(struck, time.Now())
			_, err := live.Act(t.Context(), seat, uint64(len(struck)), block.Event{Do: block.Beat, Circuit: "UL-OS", Pressed: live.Now()})
			require.NoError(t, err)
		}
		time.Sleep(1700 * time.Millisecond)
	}
	heard := sink.Heard()
	require.NoError(t, w.Close())
	leave, done := context.WithTimeout(context.Background(), time.Second)
	defer done()
	require.NoError(t, host.Close(leave))
	require.Empty(t, said.String())

	late, broken := soundtest.Lateness(struck, heard)
	fmt.Printf("bell on the wall: %d beats, server to sound p50 %v p95 %v; broken in two %d\n",
		len(late), soundtest.Percentile(late, 50), soundtest.Percentile(late, 95), broken)
	require.LessOrEqual(t, soundtest.Percentile(late, 95), 60*time.Millisecond)
}
