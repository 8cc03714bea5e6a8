package sounds_test

import (
	"bytes"
	"crypto/sha256"
	"flag"
	"fmt"
	"os"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/sounds"
)

var rewrite = flag.Bool("rewrite", false, "write what was found into testdata instead of comparing")

// For one version of the program every sound is the same to the last bit. Its hash is its name on the network, so a
// change here is a change that every tablet fetches anew; after a wanted one, run with -rewrite.
func TestSoundsAreTheSameToTheLastBit(t *testing.T) {
	if !slices.Contains([]string{"amd64", "386"}, runtime.GOARCH) {
		t.Skip("the standard library's own mathematics may differ in the last bit on " + runtime.GOARCH)
	}
	var got strings.Builder
	for _, v := range everyVoice(t) {
		fmt.Fprintf(&got, "%x %s\n", hash(t, v.Stroke(sounds.Rate, 1)), v.Name)
	}
	for _, v := range sounds.Voices() {
		fmt.Fprintf(&got, "%x %s by night\n", hash(t, v.Night().Stroke(sounds.Rate, 1)), v.Name)
		fmt.Fprintf(&got, "%x %s rung 3-1\n", hash(t, sounds.Ring(v, sounds.Rate, []uint8{3, 1}, sounds.GoodHand())), v.Name)
	}
	for _, n := range sounds.Noises() {
		fmt.Fprintf(&got, "%x %s\n", hash(t, n.Sound(sounds.Rate)), n.Name)
	}
	const file = "testdata/hashes.txt"
	if *rewrite {
		require.NoError(t, os.WriteFile(file, []byte(got.String()), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, string(want), got.String())
}

func hash(t *testing.T, samples []float32) [sha256.Size]byte {
	t.Helper()
	var file bytes.Buffer
	require.NoError(t, sounds.WriteWAV(&file, sounds.Rate, samples))
	return sha256.Sum256(file.Bytes())
}

// Struck again, from another goroutine or later, a voice gives the same samples.
func TestAStrokeIsTheSameEveryTime(t *testing.T) {
	for _, v := range sounds.Voices() {
		first := v.Stroke(sounds.Rate, 0.9)
		again := make(chan []float32)
		go func() { again <- v.Stroke(sounds.Rate, 0.9) }()
		require.Equal(t, first, <-again, v.Name)
	}
}

// No two beats are alike, and the nth is always the same. The numbers are those that the page computes too.
func TestNoTwoBeatsAreOfOneForce(t *testing.T) {
	seen := map[float64]uint32{}
	for n := range uint32(100_000) {
		f := sounds.Force(n)
		require.GreaterOrEqual(t, f, 0.8)
		require.Less(t, f, 1.0)
		other, found := seen[f]
		require.False(t, found, "beats %d and %d", n, other)
		seen[f] = n
	}
	var sum float64
	for f := range seen {
		sum += f
	}
	require.InDelta(t, 0.9, sum/float64(len(seen)), 0.001, "hard and soft beats are equally many")
}
