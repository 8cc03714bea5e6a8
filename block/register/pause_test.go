package register_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/register"
)

// Q10: a scaled clock stands while the evening is paused, and then goes on from where it stood; what was booked before
// stays as it was. The wall's own clock is paused by nobody.
func TestScaledClockStandsInAPause(t *testing.T) {
	began := time.Date(1961, 10, 17, 20, 0, 0, 0, time.UTC)
	at := func(min int) time.Time { return began.Add(time.Duration(min) * time.Minute) }
	pace := func(min int, off bool) block.Entry {
		return block.Entry{Event: block.Event{Do: block.Pace, At: at(min), Off: off}, Outcome: block.Outcome{Ending: block.Done}}
	}
	l := block.BareLayout()
	l.Clock = block.ClockKind{Kind: "scaled", Starts: "15:30", Speed: 4}
	c := register.ClockOf(l, began).After(pace(10, true))
	shows := func(min int) string { return c.At(at(min)).Format("15:04") }
	require.Equal(t, "16:10", shows(10))
	require.Equal(t, "16:10", shows(25), "it stands")
	c = c.After(pace(30, false))
	require.Equal(t, "16:10", shows(30))
	require.Equal(t, "16:30", shows(35))
	require.Equal(t, "15:50", shows(5), "what was before stays")
	require.Equal(t, at(35), c.Moment(16*3600+30*60))
	require.Equal(t, at(5), c.Moment(15*3600+50*60))
	c = c.After(pace(35, true)).After(pace(36, false))
	require.Equal(t, "16:34", shows(37))

	faster := pace(41, false)
	faster.Event.Words = "10"
	c = c.After(pace(40, true)).After(faster) // 16:46 when it stopped
	require.Equal(t, "16:56", shows(42), "it goes on at another speed")
	require.Equal(t, "16:34", shows(37), "what was before stays")
	require.InDelta(t, 10, c.Speed(), 0)
	require.Equal(t, at(42), c.Moment(16*3600+56*60))
	require.Equal(t, at(37), c.Moment(16*3600+34*60))

	l.Clock = block.ClockKind{Kind: "real", Speed: 1}
	wall := register.ClockOf(l, began).After(pace(10, true))
	require.Equal(t, at(25), wall.At(at(25)))
}
