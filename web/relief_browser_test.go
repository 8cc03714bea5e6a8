package web_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// C5, A9: Ossenwaite is relieved from another tablet with a call unanswered. The reliever is told that the box has its
// signaller, reads how things stand, asks, and signs on when he has been told yes; the other tablet says so and works
// nothing more; the call is still there for him. C7: a lad keeps the register, whose page writes and rings nothing.
func TestReliefFromTabletToTablet(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	ul.ring(os, pair, "1")
	b := browser(t)
	next := tablet(t, b, "the relief", e.at+"/s/demo/box/OS", 1024, 768)
	next.until(`window.taillampShelf && document.querySelector(".strip.looking").textContent.includes("has its signaller")`)
	next.press(".wants-box")
	next.until(`document.querySelector(".standing").textContent.includes("has a call from Ullathwick to answer")`)
	next.until(`!document.querySelector(".take-over").hidden`)
	shots(next, "take-over")(t)
	shelf := func() string {
		_, state := e.live.Snapshot()
		return quoteJSON(t, e.live.Rules().View(state, "OS").Shelf)
	}
	before := shelf()
	next.press(`.take-over button[value="ask"]`)
	os.until(`!document.querySelector(".strip.asked").hidden && document.querySelector(".strip.asked").textContent.includes("asks to relieve you")`)
	shots(os, "relief-asked")(t)
	require.Len(t, acts(t, e, block.Duty), 2, "asking changes nothing")
	os.press(`.strip.asked button[value="allow"]`)
	next.until(`!document.querySelector(".take-over .sign").hidden`)
	next.press(".take-over .sign")
	next.until(`document.querySelector("button.off-duty")`)
	os.until(`document.querySelector(".strip.away").textContent.includes("You are relieved")`)
	require.Equal(t, before, shelf(), "neither a bell nor a needle")
	signed := acts(t, e, block.Duty)
	require.Len(t, signed, 4)
	require.True(t, signed[2].Off)
	require.False(t, signed[3].Off)
	next.hear()
	next.ring(ul, pair, "1")

	lad := tablet(t, browser(t), "the lad", e.at+"/s/demo/box/OS", 1024, 768)
	lad.until("window.taillampShelf")
	lad.press(".wants-box")
	lad.until(`!document.querySelector(".take-over").hidden`)
	lad.press(`.take-over button[value="keep"]`)
	next.until(`document.querySelector(".strip.asked").textContent.includes("keep the register")`)
	next.press(`.strip.asked button[value="allow"]`)
	lad.until(`location.pathname === "/s/demo/book/OS" && document.querySelector(".pen")`)
	require.Equal(t, 0, eval[int](lad, `document.querySelectorAll("tl-bell, .plunger").length`), "he has no bell")
	require.Equal(t, 204, eval[int](lad, `(() => { const x = new XMLHttpRequest(); x.open("POST", "/s/demo/remark/OS", false);
		x.setRequestHeader("Content-Type", "application/x-www-form-urlencoded"); x.send("words=fog"); return x.status; })()`))
	for _, p := range []*tab{lad, next} {
		p.until(`document.body.textContent.includes("fog")`)
	}
}

func quoteJSON(t *testing.T, v any) string {
	t.Helper()
	text, err := json.Marshal(v)
	require.NoError(t, err)
	return string(text)
}
