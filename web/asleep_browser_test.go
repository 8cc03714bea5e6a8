package web_test

import (
	"net"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// away lets nothing new through either, as when a tablet is out of reach of its network; back ends it.
func (l *lag) away() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.dead, l.off = true, true
}

func (l *lag) back() {
	l.cut() // what hung in the air is gone for good
	l.mu.Lock()
	defer l.mu.Unlock()
	l.dead, l.off = false, false
}

// refuses tells whether a tablet finds no network now.
func (l *lag) refuses(near net.Conn) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.off {
		near.Close()
	}
	return l.off
}

// C9: a tablet is cut off in the middle of a train, with a beat still on its way. The other box sees that it is away;
// it comes back by itself within 5 s of the network's being back, with what rang meanwhile in words and not in sound;
// nothing was rung twice, nothing is lost, and the train is worked to its end. TAILLAMP_ASLEEP says for how long it is
// away; the full run is 10m.
func TestTabletComesBackWhenItsNetworkDoes(t *testing.T) {
	asleep := 8 * time.Second
	if d, err := time.ParseDuration(os.Getenv("TAILLAMP_ASLEEP")); err == nil {
		asleep = d
	}
	b := besides(t)
	e := open(t, "tiny", nil)
	network, door := badNetwork(t, e.at, 0)
	ul := tablet(t, b, "Ullathwick", e.at, 1024, 768)
	os := tablet(t, b, "Ossenwaite", door, 1024, 768)
	ul.takeDuty("UL")
	os.takeDuty("OS")
	accept(ul, os, "4")
	send(ul, os)
	played := func() int { return eval[int](os, `taillampPlayed.length`) }
	silent := `!document.querySelector(".absent").hidden`

	network.away()
	gone := time.Now()
	os.press(bell(pair)) // it never arrives
	os.until(`!document.querySelector(".strip.away").hidden`)
	found := time.Since(gone)
	ul.until(silent)
	t.Logf("the sockets silent and open: its own page told of it after %v, the neighbour's after %v",
		found.Round(time.Millisecond), time.Since(gone).Round(time.Millisecond))
	require.LessOrEqual(t, time.Since(gone), foundWithin)
	heard := played()
	ul.hand(pair, "1", 300*time.Millisecond)
	pause(asleep)
	require.True(t, eval[bool](ul, silent))

	network.back()
	began := time.Now()
	os.until(`document.querySelector(".strip.away").hidden && taillampShelf.wire.ready`)
	t.Logf("away for %v, at work again %v after the network was back", asleep, time.Since(began).Round(time.Millisecond))
	require.LessOrEqual(t, time.Since(began), 5*time.Second)
	ul.until(`document.querySelector(".absent").hidden`)
	os.until(`document.querySelector(".spoken").textContent.includes("Ullathwick rang 1")`)
	require.Equal(t, heard, played(), "what rang meanwhile is not sounded again")

	beats := 0
	for e, err := range e.live.Entries(t.Context()) {
		require.NoError(t, err)
		if e.Event.Do == block.Beat && e.Event.By == "OS" {
			beats++
		}
	}
	require.Equal(t, 1+4+2, beats, "the beat that the network swallowed was too old when it came, and nothing was rung twice")
	os.ring(ul, pair, "1") // answers the call
	clear(ul, os)
}
