package web_test

import (
	"strconv"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// cell is a cell of the newest train's line, at the foot of the book or on its Down page.
func cell(column string) string {
	return `tr[data-id]:not([data-id="0"]) td[data-column="` + column + `"]`
}

// asked is true when the page asks whether to rule an entry through.
const asked = `!document.querySelector(".ruling").hidden && document.activeElement.matches(".ruling .no")`

// asks touches an entry and waits for the question.
func (p *tab) asks(entry string) {
	p.t.Helper()
	p.press(entry)
	p.until(asked)
}

// B14, B13: a touch of a filled cell of one's own book asks whether to rule it through. Ruled through it stays legible,
// its place can be filled again and both stand in the record; a tablet that looks in can rule nothing. That an entry is
// never erased is the register's rule in the regulations reference, absolute-block.md section 6.
func TestEntryIsRuledThrough(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	accept(ul, os, "3-1")
	send(ul, os)
	os.press(cell("arrived") + " button")
	os.until(`document.querySelector('` + cell("arrived") + `[data-seq]')`)
	seq := eval[string](os, `document.querySelector('`+cell("arrived")+`').dataset.seq`)
	time := eval[string](os, `document.querySelector('`+cell("arrived")+`').dataset.time`)

	os.asks(cell("arrived"))
	require.Contains(t, eval[string](os, `document.querySelector(".ruling").innerText`), "Arrived "+time)
	require.Empty(t, eval[[]string](os, smallTargets))
	os.press(".ruling .no")
	require.True(t, eval[bool](os, `document.querySelector(".ruling").hidden`))
	require.Empty(t, acts(t, e, block.Slip), "left as it was")

	os.asks(cell("arrived"))
	os.press(".ruling .yes")
	os.until(`document.querySelector('` + cell("arrived") + ` s') && document.querySelector('` + cell("arrived") + ` button')`)
	slips := acts(t, e, block.Slip)
	require.Len(t, slips, 1)
	require.Equal(t, seq, strconv.FormatUint(slips[0].Line, 10))
	os.press(cell("arrived") + " button")
	os.until(`document.querySelector('` + cell("arrived") + `[data-seq]') && document.querySelector('` + cell("arrived") + ` s')`)
	require.Len(t, acts(t, e, block.Train), 2, "the new time is an entry of its own")

	// The whole book, opened beside the box in the same browser, and a tablet of nobody's.
	book := tablet(t, os.ctx, "the book", e.at+"/s/demo/book/OS", 1024, 768)
	book.until(`document.querySelector('td[data-column="arrived"] s')`)
	book.asks(`td[data-column="accepted"][data-seq]`)
	book.press(".ruling .yes")
	book.until(`document.querySelector('td[data-column="accepted"] s')`)
	os.until(`document.querySelector('` + cell("accepted") + ` s')`)
	require.Len(t, acts(t, e, block.Slip), 2)
	require.True(t, eval[bool](os, "taillampShelf.wire.ready"), "the box page keeps its seat")

	look := tablet(t, ul.ctx, "the book of another box", e.at+"/s/demo/book/SK", 1024, 768)
	look.until(`document.body.classList.contains("looking")`)
	answer := eval[int](look, `(() => { const x = new XMLHttpRequest(); x.open("POST", "/s/demo/rule/SK", false);
		x.setRequestHeader("Content-Type", "application/x-www-form-urlencoded"); x.send("line=3"); return x.status; })()`)
	require.Equal(t, 403, answer)
	require.Len(t, acts(t, e, block.Slip), 2)
}

// B14, Q3: an entry is reached, asked about and left by keys alone.
func TestEntryIsRuledThroughByKeys(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	ul.ring(os, pair, "1")
	os.ring(ul, pair, "1")
	ul.ring(os, pair, "3-1")
	os.ring(ul, pair, "3-1")
	os.until(`document.querySelector('` + cell("accepted") + `[data-seq]')`)
	os.keyTo(cell("accepted"))
	os.do(chromedp.KeyEvent("\r"))
	os.until(asked)
	os.do(chromedp.KeyEvent("\r"))
	require.True(t, eval[bool](os, `document.querySelector(".ruling").hidden`))
	os.keyTo(cell("accepted"))
	os.do(chromedp.KeyEvent("\r"))
	os.until(asked)
	os.keyTo(".ruling .yes")
	os.do(chromedp.KeyEvent("\r"))
	os.until(`document.querySelector('` + cell("accepted") + ` s')`)
}
