package web_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// L5: Ullathwick rings, Ossenwaite answers from the strip, both read what is said, and only what Ossenwaite wants stands
// in his book; a telephone that has failed has no sound (D12).
func TestTelephoneAtTwoTablets(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	line := func(part string) string { return `.telephone section[data-circuit="` + pair + `"] ` + part }
	ul.press(".telephone summary")
	ul.until(`taillampShelf.telephone && (taillampShelf.telephone.then(() => { window.fetched = true; }), window.fetched)`)
	ul.press(line(".lift"))
	os.until(`!document.querySelector(".strip.ringing").hidden && document.querySelector(".strip.ringing").textContent.includes("The telephone rings: Ullathwick.")`)
	ul.until(`document.querySelector(` + quote(line("ol")) + `).textContent === "It rings there."`)
	shots(os, "telephone-rings")(t)
	os.press(".strip.ringing button")
	ul.until(`document.querySelector(` + quote(line("")[:len(line(""))-1]) + `).className === "talks"`)
	os.until(`document.querySelector(".strip.ringing").hidden`)
	say := func(from, to *tab, words string) {
		eval[int](from, `(document.querySelector(`+quote(line("input"))+`).value = `+quote(words)+`, 0)`)
		from.press(line(".say"))
		to.until(`document.querySelector(` + quote(line("ol")) + `).textContent.includes(` + quote(words) + `)`)
	}
	say(ul, os, "Is 4 past you?")
	say(os, ul, "Standing at my home signal")
	shots(os, "telephone")(t)
	os.press(line(".into-book"))
	os.until(`document.querySelector("tl-book").textContent.includes("By telephone. Ullathwick")`)
	require.NotContains(t, eval[string](ul, `document.querySelector("tl-book").textContent`), "By telephone", "only in his who says so")
	require.Len(t, acts(t, e, block.Call), 4)
	ul.press(line(".down"))
	os.until(`document.querySelector(` + quote(line("ol")) + `).textContent.includes("The other end has put down.")`)
	os.press(line(".down"))
	os.until(`document.querySelector(` + quote(line("")[:len(line(""))-1]) + `).className === ""`)

	require.NoError(t, e.live.Fail(t.Context(), sitting.Failure{Circuit: pair, Where: block.AtPhone}, false))
	os.until(`document.querySelector(` + quote(line("ol")) + `).textContent === ""`) // the words of the last call go, and the button moves
	os.press(line(".lift"))
	os.until(`document.querySelector(` + quote(line("ol")) + `).textContent.includes("No sound on the line.")`)
	require.True(t, eval[bool](ul, `document.querySelector(".strip.ringing").hidden`))
}
