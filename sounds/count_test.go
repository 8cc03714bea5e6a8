package sounds_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/sounds"
	"taillamp/sounds/soundtest"
)

// The fastest that a hand rings and an ear still counts (common practice, no source).
const fastest = 180 * time.Millisecond

// Every code of every book, rung at 180 ms a beat in every voice, is counted right by an ear that knows only the
// samples.
func TestEveryCodeCanBeCounted(t *testing.T) {
	hand := sounds.HandOf(fastest)
	codes := make(map[string]block.Beats)
	for _, name := range block.BookNames() {
		book, err := block.FindCodeBook(name)
		require.NoError(t, err)
		beats := 0
		for _, code := range book.Codes {
			beats += code.Beats.Total()
			codes[code.Beats.String()] = code.Beats
		}
		fmt.Printf("book %-14s %3d codes, %4d beats\n", name, len(book.Codes), beats)
	}
	require.Greater(t, len(codes), 40)
	for _, v := range sounds.Voices() {
		t.Run(v.Name, func(t *testing.T) {
			t.Parallel()
			beats, wrong := 0, 0
			for _, code := range codes {
				beats += code.Total()
				onsets := soundtest.Onsets(sounds.Ring(v, sounds.Rate, code, hand), sounds.Rate)
				if heard := soundtest.Groups(onsets, (hand.Beat+hand.Pause)/2); !code.Equal(heard) {
					wrong++
					t.Errorf("%s is heard as %v", code, block.Beats(heard))
				}
			}
			fmt.Printf("%-7s at %v a beat: %d different codes, %d beats, %d codes heard wrong\n", v.Name, fastest, len(codes), beats, wrong)
		})
	}
}

// Sisters too, at the hardest codes there are: 16 without a breath, 5-5-5, and single beats apart.
func TestSistersCanBeCounted(t *testing.T) {
	hand := sounds.HandOf(fastest)
	for _, v := range everyVoice(t) {
		for _, code := range []block.Beats{{16}, {5, 5, 5}, {1, 3, 1}, {1, 2, 3}} {
			onsets := soundtest.Onsets(sounds.Ring(v, sounds.Rate, code, hand), sounds.Rate)
			require.Equal(t, code, block.Beats(soundtest.Groups(onsets, (hand.Beat+hand.Pause)/2)), v.Name)
		}
	}
}

// After eight beats at speed the next still stands out: the level just after it is 8 dB or more over that just
// before (common practice, no source).
func TestABeatStandsOutOfTheRinging(t *testing.T) {
	for _, v := range sounds.Voices() {
		s := sounds.Ring(v, sounds.Rate, []uint8{9}, sounds.HandOf(fastest))
		at := int(8 * fastest.Seconds() * sounds.Rate)
		const wide = sounds.Rate * 15 / 1000
		contrast := dB(mean(s[at:at+wide]) / mean(s[at-wide:at]))
		fmt.Printf("%-7s the ninth beat stands %.1f dB out of the ringing\n", v.Name, contrast)
		require.GreaterOrEqual(t, contrast, 8.0, v.Name)
	}
}

func mean(s []float32) float64 {
	var sum float64
	for _, x := range s {
		sum += float64(x) * float64(x)
	}
	return math.Sqrt(sum / float64(len(s)))
}

// A ringing bell struck again rings on: the first stroke is not cut off.
func TestABellRingsOnWhenStruckAgain(t *testing.T) {
	v, _ := sounds.FindVoice("dome")
	hand := sounds.HandOf(300 * time.Millisecond)
	twice := sounds.Ring(v, sounds.Rate, []uint8{2}, hand)
	first, second := v.Stroke(sounds.Rate, sounds.Force(0)), v.Stroke(sounds.Rate, sounds.Force(1))
	at := int(0.3 * sounds.Rate)
	require.Len(t, twice, at+len(second))
	for i := at; i < len(first); i++ {
		require.InDelta(t, 0.7*float64(first[i]+second[i-at]), twice[i], 1e-6, "sample %d", i)
	}
}

func TestAHandPausesBetweenGroups(t *testing.T) {
	hand := sounds.Hand{Beat: 200 * time.Millisecond, Pause: 500 * time.Millisecond}
	var ms []int64
	for _, at := range hand.Times([]uint8{3, 1, 2}) {
		ms = append(ms, at.Milliseconds())
	}
	require.Equal(t, []int64{0, 200, 400, 900, 1400, 1600}, ms)
	require.Empty(t, hand.Times(nil))
}
