package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"
)

const (
	loopBells = "OS-QU Up Goods Loop" // the bells of the loop
	loop      = "OS-QU Up Goods Loop" // and its line: trains run from Quarnaby to Ossenwaite
)

// B17, the page's part: a second goods train is accepted with the count at 1, the page says that its driver must be
// stopped and told, and 2-1 takes the count down again (other-methods.md 5.3).
func TestLoopCountsItsTrains(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", fourNeighbours)
	os := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	qu := tablet(t, b, "Quarnaby", e.at, 1024, 768)
	os.takeDuty("OS")
	qu.takeDuty("QU")
	count := func(p *tab, words string) {
		t.Helper()
		p.until(`document.querySelector('` + needle(loop) + ` .count').textContent.indexOf(` + quote(words) + `) === 0`)
	}
	count(os, "Count 0, room for 2 more.")
	for _, trains := range []string{"1", "2"} {
		qu.ring(os, loopBells, "1")
		os.ring(qu, loopBells, "1")
		qu.ring(os, loopBells, "1-4")
		os.ring(qu, loopBells, "1-4")
		if trains == "1" {
			os.turn(loop, "clear")
			qu.shows(loop, "clear")
		}
		qu.ring(os, loopBells, "2")
		os.ring(qu, loopBells, "2")
		os.turn(loop, "occupied")
		count(qu, "Count "+trains)
		qu.shows(loop, "occupied")
	}
	require.Contains(t, eval[string](qu, `document.querySelector('`+needle(loop)+` .count').textContent`), "Stop each driver and tell him")
	os.seeTailLamp(loop)
	os.ring(qu, loopBells, "1")
	qu.ring(os, loopBells, "1")
	os.ring(qu, loopBells, "2-1")
	qu.ring(os, loopBells, "2-1")
	count(os, "Count 1, room for 1 more.")
	count(qu, "Count 1, room for 1 more.")
}
