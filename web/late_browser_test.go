package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// B12, B14: an arrival that was forgotten until after 2-1 is booked by the same touch, marked as late; a line that goes
// across the page is ruled through like any entry, in the foot of the book and in the book, and stays legible.
func TestForgottenArrivalAndLineAcross(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	accept(ul, os, "3-1")
	send(ul, os)
	os.ring(ul, pair, "1")
	ul.ring(os, pair, "1")
	os.ring(ul, pair, "2-1") // nothing was booked
	ul.ring(os, pair, "2-1")
	os.turn(down, "blocked")
	os.until(`document.querySelector('` + cell("out_of_section_sent") + `[data-seq]')`)
	os.press(cell("arrived") + " button")
	os.until(`document.querySelector('` + cell("arrived") + ` .late')`)
	require.Contains(t, eval[string](os, `getComputedStyle(document.querySelector("`+"td .late"+`"), "::after").content`), "late")
	seen := acts(t, e, block.Train)
	require.Len(t, seen, 1)
	require.Equal(t, block.WasIn, seen[0].Where)
	require.False(t, eval[bool](os, `!!document.querySelector('`+cell("passed")+` button')`), "it is booked once")

	const note = `td.across[data-seq]` // that he signed on
	os.press(note)
	os.until(asked)
	require.Contains(t, eval[string](os, `document.querySelector(".ruling .what").textContent`), "signalman on duty")
	os.press(".ruling .yes")
	os.until(`document.querySelector("tr.void td.across")`)
	require.Contains(t, eval[string](os, `document.querySelector("tr.void td.across").textContent`), "signalman on duty")
	slips := acts(t, e, block.Slip)
	require.Len(t, slips, 1)

	book := fetch(t, e, "/s/demo/book/OS")
	require.Contains(t, book, `class="late"`)
	require.Regexp(t, `class="void">\s*<td class="across"`, book)
	require.Contains(t, eval[string](os, `getComputedStyle(document.querySelector("tr.void")).textDecorationLine`), "line-through")
}
