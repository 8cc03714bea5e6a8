package web_test

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// D11, B16, B17: three tablets, at Ossenwaite, Tolverbeck and Quarnaby, work a branch train under its token, see Quarnaby
// open, work a goods train by the loop, and see Quarnaby close again, with a signaller at Hexleigh who only answers. The
// review of it finds nothing. Other-methods reference, 2.2, 5.3 and 9.1.
func TestBranchLoopAndClosing(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	osT := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	to := tablet(t, b, "Tolverbeck", e.at, 1024, 768)
	osT.takeDuty("OS")
	to.takeDuty("TO")
	hx := answering(t, e, "HX")

	// a branch train to Tolverbeck, under its token
	osT.ring(to, branch, "1")
	to.ring(osT, branch, "1")
	osT.ring(to, branch, "1-3")
	lift := to.holding(branch, "1-3", 220*time.Millisecond)
	osT.says(".release", "Tolverbeck releases: draw")
	if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
		osT.shoot(folder, "token-release")
	}
	osT.press(token(`[data-where="drawn"]`))
	osT.says(".whereabouts", "The token is in your hand.")
	lift()
	if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
		osT.shoot(folder, "token-hand")
		to.shoot(folder, "token-coming")
	}
	osT.press(token(`[data-where="handed"]`))
	osT.ring(to, branch, "2")
	to.ring(osT, branch, "2")
	to.press(token(`[data-where="given"]`))
	to.seeTailLamp(single)
	to.press(token(`[data-where="restored"]`))
	to.says(".whereabouts", "4 tokens here")
	to.ring(osT, branch, "1")
	osT.ring(to, branch, "1")
	to.ring(osT, branch, "2-1")
	osT.ring(to, branch, "2-1")

	// Quarnaby opens: the switch, then 5-5-5 to each side
	qu := tablet(t, b, "Quarnaby", e.at, 1024, 768)
	qu.press(`button.take[data-box="QU"]`)
	qu.until(`document.querySelector(".shelf .out") && window.taillampShelf && taillampShelf.shown`)
	qu.press(".closing-switch")
	qu.hear()
	osT.until(`document.querySelector('tl-bell[data-circuit="OS-QU"]')`)
	const near, far = "OS-QU", "QU-HX"
	tells := func(code string) { // to both neighbours
		t.Helper()
		qu.ring(osT, near, "1")
		osT.ring(qu, near, "1")
		qu.ring(osT, near, code)
		osT.ring(qu, near, code)
		qu.hand(far, "1", 220*time.Millisecond)
		hx(far, "1")
		qu.until(heardJS(far) + `.indexOf("heard 1 at ") === 0`)
		qu.hand(far, code, 220*time.Millisecond)
		hx(far, code)
		qu.until(heardJS(far) + `.indexOf("heard ` + code + ` at ") === 0`)
	}
	tells("5-5-5")

	// a goods train by the loop
	qu.ring(osT, loopBells, "1")
	osT.ring(qu, loopBells, "1")
	qu.ring(osT, loopBells, "1-4")
	osT.ring(qu, loopBells, "1-4")
	osT.turn(loop, "clear")
	qu.shows(loop, "clear")
	qu.ring(osT, loopBells, "2")
	osT.ring(qu, loopBells, "2")
	osT.turn(loop, "occupied")
	qu.shows(loop, "occupied")
	qu.until(`document.querySelector('` + needle(loop) + ` .count').textContent.indexOf("Count 1") === 0`)
	if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
		osT.shoot(folder, "loop")
		qu.shoot(folder, "loop-quarnaby")
	}
	osT.seeTailLamp(loop)
	osT.ring(qu, loopBells, "1")
	qu.ring(osT, loopBells, "1")
	osT.ring(qu, loopBells, "2-1")
	qu.ring(osT, loopBells, "2-1")
	osT.turn(loop, "blocked")
	qu.shows(loop, "blocked")

	// and Quarnaby closes
	tells("7-5-5")
	qu.press(".closing-switch")
	qu.press(".closing-switch")
	qu.until(`document.querySelector(".shelf .out")`)
	osT.until(`!document.querySelector('tl-bell[data-circuit="OS-QU"]') && document.querySelector('tl-bell[data-circuit="OS-HX"]')`)
	osT.hand("OS-HX", "1", 220*time.Millisecond)
	hx("OS-HX", "1")
	osT.until(heardJS("OS-HX") + `.indexOf("heard 1 at ") === 0`)
	osT.hand("OS-HX", "16", 180*time.Millisecond)
	hx("OS-HX", "16")
	osT.until(heardJS("OS-HX") + `.indexOf("heard 16 at ") === 0`)

	for _, box := range []string{"OS", "QU"} {
		osT.open(e.at + "/s/demo/book/" + box)
		book := eval[string](osT, `document.querySelector("main").innerText`)
		require.Contains(t, book, "opening of signal box (5-5-5)", box)
		require.Contains(t, book, "closing of signal box (7-5-5)", box)
	}
	require.Empty(t, irregular(t, e))
	osT.open(e.at + "/s/demo/findings")
	require.Equal(t, []string{"Nothing was found against the regulations."},
		eval[[]string](osT, `[...document.querySelectorAll(".finding h2")].map((h) => h.innerText)`))
}

// answering is a signaller without a tablet who repeats what he is told to: each call waits until that code has come to
// him on the circuit, and rings it back.
func answering(t *testing.T, e evening, box block.BoxID) func(circuit block.CircuitID, code string) {
	t.Helper()
	seat, err := e.live.TakeDuty(t.Context(), box, "")
	require.NoError(t, err)
	return func(circuit block.CircuitID, code string) {
		t.Helper()
		beats, err := block.ParseBeats(code)
		require.NoError(t, err)
		require.Eventually(t, func() bool {
			p, err := e.live.Present(t.Context(), sitting.Seat{Box: box, As: sitting.LooksOn})
			if err != nil {
				return false
			}
			for _, i := range p.View.Shelf {
				if i.Circuit == circuit && i.Heard != nil && i.Heard.Beats.Equal(beats) {
					return true
				}
			}
			return false
		}, patience, 20*time.Millisecond, "%s never heard %s", box, code)
		_, err = e.live.Act(t.Context(), seat, 0, block.Event{Do: block.Rung, Circuit: circuit, Beats: beats})
		require.NoError(t, err)
	}
}
