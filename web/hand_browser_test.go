package web_test

import (
	"os"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// B13: a signaller keeps the register by hand. While he does, the one that writes itself is hidden at his tablet, a touch
// of a cell writes the time of the clock, another time can be written instead, and what is written is ruled through and
// never rubbed out. When he lays the pen down both lie side by side with what is missing, wrong or late marked in words.
func TestRegisterIsKeptByHand(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, box := working(t, e)
	page := tablet(t, box.ctx, "the pen", e.at+"/s/demo/book/OS", 1024, 768)
	page.press(`nav a[href$="/hand/OS"]`)
	page.until(`document.readyState === "complete" && document.querySelector('button[value="take up"]')`)
	page.press(`button[value="take up"]`)
	page.until(`document.readyState === "complete" && document.querySelector(".writing")`)
	require.Empty(t, eval[[]string](page, smallTargets))

	own := tablet(t, box.ctx, "the book", e.at+"/s/demo/book/OS", 1024, 768)
	own.until(`location.pathname === "/s/demo/hand/OS"`) // hidden till the end
	require.Contains(t, eval[string](page, `(() => { const x = new XMLHttpRequest(); x.open("GET", "/s/demo/box/OS", false); x.send();
		return new DOMParser().parseFromString(x.responseText, "text/html").body.className; })()`), "by-hand")
	eval[bool](box, `document.body.classList.toggle("by-hand", true)`) // as the page does to the one that it was opened from
	require.Equal(t, "none", eval[string](box, `getComputedStyle(document.querySelector("tl-book")).display`))
	require.Equal(t, "block", eval[string](box, `getComputedStyle(document.querySelector(".by-pen")).display`))

	accept(ul, box, "3-1")
	pen := func(column string) string { return `.hand td[data-column="` + column + `"]` }
	page.press(`button[value="down"]`)
	page.until(`document.querySelector(".says.on")`) // what train?
	require.Contains(t, eval[string](page, `document.querySelector(".says").textContent`), "what train")
	page.press(`input[name="train"]`)
	page.do(chromedp.KeyEvent("3-1"))
	page.press(`button[value="down"]`)
	page.until(`Array.from(document.querySelectorAll(".hand tr[data-id] th")).some((c) => c.textContent === "3-1")`)
	page.press(pen("offered_from_rear") + " button")
	page.until(`document.querySelector('` + pen("offered_from_rear") + `[data-seq]')`)
	page.press(`input[name="time"]`)
	page.do(chromedp.KeyEvent("25.00"))
	page.press(pen("accepted") + " button")
	page.until(`document.querySelector(".says").textContent.includes("25.00")`)
	require.Empty(t, eval[[]string](page, `Array.from(document.querySelectorAll('`+pen("accepted")+`[data-seq]')).map((c) => c.textContent)`))
	eval[string](page, `document.querySelector('input[name="time"]').value = "`+time.Now().Add(-90*time.Minute).Format("15.04")+`"`)
	page.press(pen("accepted") + " button")
	page.until(`document.querySelector('` + pen("accepted") + `[data-seq]')`)
	if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
		page.shoot(folder, "hand")
		box.shoot(folder, "box-by-hand")
	}

	page.press(pen("offered_from_rear") + "[data-seq]") // ruled through, and written anew
	page.until(asked)
	page.press(".ruling .yes")
	page.until(`document.querySelector('` + pen("offered_from_rear") + ` s') && document.querySelector('` + pen("offered_from_rear") + ` button')`)
	page.press(pen("offered_from_rear") + " button")
	page.until(`document.querySelector('` + pen("offered_from_rear") + `[data-seq] s')`)

	send(ul, box) // nothing of it is written by hand
	for _, a := range acts(t, e, block.Remark) {
		require.True(t, a.ByHand())
	}
	page.press(`button[value="lay down"]`)
	page.until(`document.querySelector(".told .by-pen")`)
	marks := eval[map[string]string](page, `Array.from(document.querySelectorAll(".by-pen td")).reduce((all, c) => {
		const m = c.querySelector(".mark"); if (m) all[c.dataset.column] = m.getAttribute("aria-label") || m.textContent; return all; }, {})`)
	require.Equal(t, map[string]string{"offered_from_rear": "right", "accepted": "wrong", "entering_section_received": "missing"}, marks)
	require.Contains(t, eval[string](page, `document.querySelector(".told").textContent`), "Right and in time: 1 of 3 entries. Missing 1, wrong time 1, written late 0.")
	if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
		page.shoot(folder, "hand-beside")
	}

	book := fetch(t, e, "/s/demo/book/OS") // the other register and the findings know nothing of a pen
	require.Equal(t, 1, strings.Count(book, `class="across"`), "that he signed on")
	require.NotContains(t, strings.ToLower(fetch(t, e, "/s/demo/findings")), "by hand")
	stranger := eval[int](page, `(() => { const x = new XMLHttpRequest(); x.open("POST", "/s/demo/hand/SK", false);
		x.setRequestHeader("Content-Type", "application/x-www-form-urlencoded"); x.send("begins=down&train=4"); return x.status; })()`)
	require.Equal(t, 403, stranger, "nobody writes in the book of a box that he does not work")
}
