package block_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// A code cut in two by a pause a little longer than the quiet is one code once its second half is heard, if the book
// knows the whole and neither half (computation 2.4).
func TestHalvesOfACodeAreJoined(t *testing.T) {
	book, err := block.ReadCodeBook([]byte(`
name    = "own"
title   = "A book of one's own"
include = ["common"]

[[code]]
key        = "coal"
beats      = "4-3-4"
means      = "coal for the pumping station"
class      = "P"
train      = true
freight    = true
bearing    = "forward"
attention  = true
answer     = "repeat"
regulation = "local"
cite       = "from memory: invented for this test"
grade      = "P"
`))
	require.NoError(t, err)
	l := block.BareLayout()
	l.Book = "own"
	l.Boxes = []block.Box{block.BareBox("A", 0, 440), block.BareBox("B", 1760, 440)}
	line := block.DoubleLine("A", "B", 1760)
	line.Book = "own"
	l.Between = []block.Between{line}
	r, err := block.NewRules(l, []*block.CodeBook{book}, &block.Timetable{})
	require.NoError(t, err)

	at := time.Date(1961, 10, 17, 10, 0, 0, 0, time.UTC)
	s := r.Opening(at)
	var heard []*block.Heard
	step := func(e block.Event) {
		e.At = at
		next, o, err := r.Step(s, e)
		require.NoError(t, err)
		s = next
		for _, c := range o.Changes {
			if c.Code != nil {
				heard = append(heard, c.Code)
			}
		}
	}
	step(block.Event{Do: block.Duty, By: "A"})
	step(block.Event{Do: block.Duty, By: "B"})
	beats := func(gaps ...int) {
		for _, g := range gaps {
			at = at.Add(time.Duration(g) * time.Millisecond)
			step(block.Event{Do: block.Beat, By: "A", Circuit: "A-B", Pressed: at})
		}
	}
	first := at.Add(time.Second)
	beats(1000, 300, 300, 300, 800, 300, 300) // 4-3
	due, ok := r.Due(s)
	require.True(t, ok)
	last := at
	at = due
	step(block.Event{Do: block.Tick})
	require.Equal(t, "4-3", heard[0].Beats.String())
	require.Empty(t, heard[0].Keys)
	at = last
	beats(1800, 300, 300, 300) // and 4, a little late
	due, _ = r.Due(s)
	at = due
	step(block.Event{Do: block.Tick})
	require.Len(t, heard, 2)
	require.Equal(t, "4-3-4", heard[1].Beats.String())
	require.True(t, heard[1].Joined)
	require.True(t, heard[1].First.Equal(first), "it began with the first half")
	require.Len(t, r.View(s, "B").Shelf[0].Offers, 1, "and is the offer that it says")
}
