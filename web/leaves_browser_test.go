package web_test

import (
	"fmt"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// E1: the register is read leaf by leaf, twenty lines to a page, opened at the newest; a leaf is turned by a touch or by
// the arrows, and a new line turns to a new leaf by itself.
func TestBookIsReadLeafByLeaf(t *testing.T) {
	e := open(t, "tiny", nil)
	seat, err := e.live.TakeDuty(t.Context(), "OS", "")
	require.NoError(t, err)
	write := func(n int) {
		_, err := e.live.Act(t.Context(), sitting.Seat{Box: "OS", As: sitting.Work, Ticket: seat.Ticket}, 0, block.Event{Do: block.Remark, Words: fmt.Sprintf("line %d", n)})
		require.NoError(t, err)
	}
	for n := 1; n <= 39; n++ { // and the line of his signing on: two leaves
		write(n)
	}
	p := tablet(t, browser(t), "a reader", e.at+"/s/demo/book/OS", 1024, 768)
	leaf := `((document.querySelector(".turning") || {}).textContent || "").replace(/\s+/g, " ").trim()`
	p.until(leaf + ` === "Turn back Leaf 2 of 2"`)
	require.Equal(t, 20, eval[int](p, `document.querySelectorAll(".page:first-child tbody tr").length`))
	require.Contains(t, eval[string](p, `document.querySelector(".page:first-child").textContent`), "line 39")
	require.Empty(t, eval[[]string](p, smallTargets))

	p.do(chromedp.KeyEvent(kb.ArrowLeft))
	p.until(leaf + ` === "Leaf 1 of 2 Turn on"`)
	require.Contains(t, eval[string](p, `document.querySelector(".page:first-child").textContent`), "line 19.")
	require.NotContains(t, eval[string](p, `document.querySelector(".page:first-child").textContent`), "line 20.")
	p.press(`.turning [rel="next"]`)
	p.until(leaf + ` === "Turn back Leaf 2 of 2"`)

	newest := tablet(t, p.ctx, "another reader", e.at+"/s/demo/book/OS", 1024, 768)
	newest.until(leaf + ` === "Turn back Leaf 2 of 2"`)
	write(40)
	newest.until(leaf + ` === "Turn back Leaf 3 of 3"`)
}
