package web_test

import (
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// C6: one person works Ossenwaite and Tolverbeck at one tablet. Each has its own strip of colour and its name; one
// press shows the other; a bell of the box not shown sounds and is named on its plate until that is pressed; and both
// can be seen beside each other. No bell of the two boxes has the voice of another.
func TestTwoBoxesAtOneTablet(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	p := tablet(t, b, "two boxes", e.at+"/s/demo/two", 1024, 768)
	p.until(`document.querySelectorAll(".books a").length > 4`)
	require.Equal(t, "Ossenwaite Junction and Quarnaby Sidings", eval[string](p, `document.querySelector('.books a[href="/s/demo/two?a=OS&b=QU"]').textContent`))
	require.Equal(t, "Ossenwaite Junction and Tolverbeck", eval[string](p, `document.querySelector('.books a[href="/s/demo/two?a=OS&b=TO"]').textContent`), "Mirefoot is switched out")
	shots(p, "two-choose")(t)
	p.open(e.at + "/s/demo/two?a=OS&b=TO")
	in := func(box string) string {
		return `document.querySelector('iframe[data-box="` + box + `"]').contentWindow`
	}
	plate := func(box string) string { return `.plate[data-box="` + box + `"]` }
	take := func(box string) {
		t.Helper()
		p.until(in(box) + `.document.querySelector("button.take")`)
		p.pressIn(box, "button.take")
		p.until(in(box) + `.document.querySelector(".try") && !` + in(box) + `.document.querySelector(".try").hidden`)
		for eval[bool](p, `!`+in(box)+`.document.querySelector(".try").hidden`) {
			asked := eval[string](p, in(box)+`.document.querySelector(".ask").textContent`)
			p.pressIn(box, ".try .yes")
			p.until(in(box) + `.document.querySelector(".try").hidden || ` + in(box) + `.document.querySelector(".ask").textContent !== ` + quote(asked))
		}
	}
	take("OS")
	p.press(plate("TO"))
	take("TO")
	require.Len(t, acts(t, e, block.Duty), 2)

	ul := tablet(t, b, "Ullathwick", e.at, 1024, 768)
	ul.takeDuty("UL")
	eval[int](p, `(() => { const w = `+in("OS")+`; w.rung = 0; const ring = w.taillampShelf.bells.ring;
		w.taillampShelf.bells.ring = function (...a) { w.rung++; return ring.apply(this, a); }; return 0; })()`)
	ul.hand(pair, "1", 300000000)
	p.until(`document.querySelector('` + plate("OS") + `').textContent.includes("Ullathwick rings")`)
	require.Equal(t, 1, eval[int](p, in("OS")+".rung"), "heard although it is not shown")
	require.True(t, eval[bool](p, in("OS")+".taillampShelf.bells.awake()"))
	for _, s := range []size{{"390x844", 390, 844}, {"800x1280", 800, 1280}, {"1024x768", 1024, 768}} {
		p.do(chromedp.EmulateViewport(s.width, s.height, chromedp.EmulateTouch))
		require.True(t, eval[bool](p, `Array.from(document.querySelectorAll(".plate")).every((b) => { const r = b.getBoundingClientRect(); return r.height >= 48 && r.width >= 48 && r.top >= 0; })`), "a plate cannot be pressed at %s", s.name)
		require.LessOrEqual(t, eval[int](p, "document.scrollingElement.scrollHeight"), int(s.height), s.name)
	}
	shots(p, "two-rings")(t)
	p.press(plate("OS"))
	require.False(t, eval[bool](p, `document.querySelector('`+plate("OS")+`').classList.contains("rings")`))
	require.Equal(t, "visible", eval[string](p, `getComputedStyle(document.querySelector('iframe[data-box="OS"]')).visibility`))
	p.do(chromedp.KeyEvent("u")) // the keys are those of the box that is shown
	ul.until(`document.querySelector('tl-bell[data-circuit="` + pair + `"]').textContent.includes("heard 1")`)
	require.NoError(t, e.live.Tell(t.Context(), []block.BoxID{"TO"}, "The railcar is full."))
	p.until(`document.querySelector('` + plate("TO") + `').textContent.includes("A word from the owner")`) // and not only bells
	p.press(".both")
	require.Equal(t, 2, eval[int](p, `Array.from(document.querySelectorAll("iframe")).filter((f) => getComputedStyle(f).visibility === "visible").length`))
	shots(p, "two-beside")(t)

	voices := eval[[]string](p, `[].concat(...[`+in("OS")+`, `+in("TO")+`].map((w) => Object.values(w.taillampShelf.page.sounds.bells)))`)
	seen := make(map[string]bool)
	for _, v := range voices {
		require.False(t, seen[v], "%s is the voice of two bells of %v", v, voices)
		seen[v] = true
	}
}

// pressIn presses something on the page of a box that stands in the page of two.
func (p *tab) pressIn(box, selector string) {
	p.t.Helper()
	at := eval[point](p, `(() => { const f = document.querySelector('iframe[data-box="`+box+`"]'), o = f.getBoundingClientRect();
		const e = f.contentWindow.document.querySelector(`+quote(selector)+`); e.scrollIntoView({block: "nearest"});
		const r = e.getBoundingClientRect(); return {X: o.left + f.clientLeft + r.left + r.width / 2, Y: o.top + r.top + r.height / 2}; })()`)
	p.do(chromedp.MouseClickXY(at.X, at.Y))
}

// No other page may stand in another, and no page in one of elsewhere.
func TestBoxStandsInThePageOfTwoAlone(t *testing.T) {
	s := serveOwner(t)
	answer, _ := s.get("/s/evening/box/OS?two=OS.UL")
	require.Contains(t, answer.Header.Get("Content-Security-Policy"), "frame-ancestors 'self'")
	answer, _ = s.get("/s/evening/two?a=OS&b=XX")
	require.Equal(t, 404, answer.StatusCode)
	answer, _ = s.get("/s/evening/two?a=OS&b=OS")
	require.Equal(t, 404, answer.StatusCode)
	answer, _ = s.get("/s/evening/owner?two=OS.UL")
	require.Contains(t, answer.Header.Get("Content-Security-Policy"), "frame-ancestors 'none'")
}
