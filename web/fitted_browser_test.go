package web_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// K3: while a real bell on the layout rings for a box, its tablet shows the beats and is silent; when that bell goes off
// the wire the tablet says so and rings again.
func TestTabletTakesOverTheBellsOfALostInstrument(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	os.countStrokes()
	bell := sitting.Instrument{Name: "bell-up", On: true, Bells: []block.CircuitID{pair}}
	require.NoError(t, e.live.Fit(t.Context(), "OS", bell))
	os.until(`taillampShelf.bells.elsewhere.length === 1`)
	rung := func() (beats int) {
		for _, s := range os.strokes(pair) {
			if s.When > 0 { // at a moment of its own: the trial of the bells, which may not be over, is struck at once
				beats++
			}
		}
		return beats
	}
	ul.ring(os, pair, "1")
	require.Zero(t, rung())
	os.ring(ul, pair, "1")
	require.NoError(t, e.live.Fit(t.Context(), "OS", sitting.Instrument{Name: "bell-up"}))
	os.until(`document.querySelector(".strip.fitted").textContent.includes("bell-up is off the wire: its bells ring at this tablet.")`)
	shots(os, "fitted")(t)
	pause(1600 * time.Millisecond) // the chain of strokes ends
	ul.ring(os, pair, "2")
	require.Equal(t, 2, rung())
	os.press(`.strip.fitted button`)
	os.until(`document.querySelector(".strip.fitted").hidden`)
}
