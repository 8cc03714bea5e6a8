package web_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web"
)

// H1: from his page the instructor watches Ossenwaite while it works: bells, needles, the register, what he himself has
// told its signaller, the advice that stands before him and what his finger is about. The signaller reads that he is
// watched, once, and no more when nobody looks on; his frames come as they did before.
func TestInstructorWatchesABox(t *testing.T) {
	e := open(t, "tiny", nil)
	var key string
	e.at, key = owned(t, web.Config{Live: e.live})
	ul, os := working(t, e)
	him := tablet(t, browser(t), "the instructor", e.at+"/owner#"+key, 1024, 768)
	him.until(`document.querySelector(".rows")`)
	require.Empty(t, eval[string](os, `document.querySelector(".watched").textContent`))
	him.press(`[data-box="OS"] a[aria-label="Watch Ossenwaite Junction"]`)
	him.until(`window.taillampShelf && taillampShelf.shown && document.querySelector(".strip.looking").textContent.includes("You watch Ossenwaite Junction")`)
	os.until(`document.querySelector(".watched").textContent === "The instructor is looking on."`)
	require.Empty(t, eval[string](ul, `document.querySelector(".watched").textContent`))

	// When each page heard of it, by one clock: they are tabs of one machine.
	const note = `(() => { window.told = {}; for (const name of ["ring", "news"]) taillampShelf.wire.addEventListener(name, (e) => {
		const n = name + e.detail.seq; window.told[n] = window.told[n] || Date.now(); }); return 0; })()`
	eval[int](os, note)
	eval[int](him, note)
	dots := `document.querySelectorAll('tl-bell[data-circuit="` + pair + `"] .beats i').length`
	ul.ring(os, pair, "1")
	him.until(dots + ` === 1`)
	him.until(heardJS(pair) + `.indexOf("heard 1 at ") === 0`)
	os.ring(ul, pair, "1")
	him.until(`document.querySelector('tl-bell[data-circuit="` + pair + `"] .beats.mine i')`) // his own key
	ul.ring(os, pair, "4")
	os.ring(ul, pair, "4")
	him.until(dots + ` === 4`)
	os.press("nav .advice")
	him.until(`!document.querySelector(".strip.advice").hidden`)
	os.until(`!document.querySelector(".strip.advice button").hidden || document.querySelector(".strip.advice b").textContent.includes("Turn the needle")`)
	him.until(`document.querySelector(".strip.advice b").textContent.includes("Turn the needle") && document.querySelector('[data-show="clear"]').classList.contains("advised")`)
	require.Equal(t, eval[string](os, `document.querySelector(".strip.advice span").textContent`), eval[string](him, `document.querySelector(".strip.advice span").textContent`))
	os.turn(down, "clear")
	him.shows(down, "clear")
	him.until(`document.querySelector("tl-book").textContent.includes("no. ") || document.querySelectorAll("tl-book td[data-seq]").length >= 2`)
	require.Equal(t, eval[string](os, `document.querySelector("tl-book tbody").textContent`), eval[string](him, `document.querySelector("tl-book tbody").textContent`))
	require.NoError(t, e.live.Tell(t.Context(), []block.BoxID{"OS"}, "The express runs late."))
	for _, p := range []*tab{os, him} {
		p.until(`!document.querySelector(".strip.told").hidden && document.querySelector(".strip.told").textContent.includes("The express runs late.")`)
	}
	require.Equal(t, 0, eval[int](him, `Array.from(document.querySelectorAll(".strip.told button, .strip.asked button")).filter((b) => b.offsetHeight).length`), "he reads nothing for him")
	os.press(`.tools .reminder`)
	him.until(`document.querySelector("tl-needle.mine").hasAttribute("collar")`)
	shots(him, "watch")(t)
	shots(os, "watched")(t)
	const flips = `(() => { window.flips = []; const strip = document.querySelector(".strip.advice");
		new MutationObserver(() => window.flips.push(Date.now())).observe(strip, { attributes: true, attributeFilter: ["hidden"] }); return 0; })()`
	eval[int](os, flips)
	eval[int](him, flips)
	os.press("nav .advice")
	him.until(`window.flips.length === 1 && document.querySelector(".strip.advice").hidden`)
	t.Logf("advice put away: at the instructor's page %.0f ms after", eval[float64](him, "window.flips[0]")-eval[float64](os, "window.flips[0]"))

	before, _ := e.live.Snapshot()
	him.press(`.words [data-show="occupied"]`)
	him.press(`.plunger`)
	him.press(`.tools .reminder`)
	pause(300 * time.Millisecond)
	after, _ := e.live.Snapshot()
	require.Equal(t, before, after, "whatever he touches, nothing comes of it")

	mine, his := eval[map[string]float64](os, "window.told"), eval[map[string]float64](him, "window.told")
	var late []float64
	for name, at := range mine {
		if then, ok := his[name]; ok {
			late = append(late, then-at)
		} else if !strings.HasPrefix(name, "news") {
			t.Errorf("the instructor was not told of %s", name)
		}
	}
	require.Greater(t, len(late), 10)
	slices.Sort(late)
	t.Logf("%d rings and news: at the instructor's page %.0f ms after the signaller's at the median, %.0f at the most", len(late), late[len(late)/2], late[len(late)-1])

	os.press("nav .off-duty")
	os.until(`document.querySelector(".off-duty").dataset.sure`)
	os.press("nav .off-duty")
	him.until(`document.querySelector(".strip.looking") && document.querySelector(".strip.looking").textContent.includes("Nobody is on duty here.")`)
	os.open(e.at)
	os.takeDuty("OS")
	him.until(`document.querySelector(".strip.looking") && document.querySelector(".strip.looking").textContent.includes("You watch Ossenwaite Junction")`)
	os.until(`document.querySelector(".watched").textContent === "The instructor is looking on."`)
	him.open(e.at + "/s/demo/owner")
	os.until(`document.querySelector(".watched").textContent === ""`)
}

// H1, every page: what Ossenwaite's signaller writes by hand, what he writes in the register, the forms that he signs and
// that he works two boxes stand before the instructor too, who can write in none of them; and the signaller is told of him
// whichever of them he looks at.
func TestInstructorWatchesEveryPage(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	var key string
	e.at, key = owned(t, web.Config{Live: e.live})
	two := tablet(t, b, "two boxes", e.at+"/s/demo/two?a=OS&b=QU", 1024, 768)
	in := func(box string) string {
		return `document.querySelector('iframe[data-box="` + box + `"]').contentWindow.document`
	}
	two.until(in("OS") + `.querySelector("button.take")`)
	two.pressIn("OS", "button.take")
	two.until(in("OS") + `.querySelector(".try") && !` + in("OS") + `.querySelector(".try").hidden`)
	told := func(words string) {
		t.Helper()
		two.until(in("OS") + `.querySelector(".watched").textContent === ` + quote(words))
	}
	him := tablet(t, browser(t), "the instructor", e.at+"/owner#"+key, 1024, 768)
	him.until(`document.querySelector(".rows")`)
	him.open(e.at + "/s/demo/box/OS")
	told("The instructor is looking on.")
	him.until(`document.querySelector(".his").textContent.includes("He is trying his bells.") && document.querySelector(".his").textContent.includes("He works Quarnaby at the same tablet.")`)
	for eval[bool](two, `!`+in("OS")+`.querySelector(".try").hidden`) {
		asked := eval[string](two, in("OS")+`.querySelector(".ask").textContent`)
		two.pressIn("OS", ".try .yes")
		two.until(in("OS") + `.querySelector(".try").hidden || ` + in("OS") + `.querySelector(".ask").textContent !== ` + quote(asked))
	}
	him.until(`!document.querySelector(".his").textContent.includes("trying")`)

	pen := tablet(t, b, "the pen", e.at+"/s/demo/hand/OS", 1024, 768)
	pen.press(`button[value="take up"]`)
	pen.until(`document.querySelector(".writing")`)
	eval[int](two, `(`+in("OS")+`.body.classList.toggle("by-hand", true), 0)`) // as the page of the pen does to the one that it was opened from
	him.until(`document.querySelector(".his").textContent.includes("He keeps the register by hand.")`)
	shots(him, "watch-pen")(t)
	him.press(`.his a[href*="hand"]`)
	him.until(`document.querySelector(".hand .spread")`)
	require.Equal(t, 0, eval[int](him, `document.querySelectorAll("main button, .with, .pen").length`), "nothing to write with")
	write := func(field, words string) {
		t.Helper()
		eval[string](pen, `document.querySelector('input[name="`+field+`"]').value = `+quote(words))
	}
	write("train", "3-1")
	pen.press(`button[value="down"]`)
	him.until(`Array.from(document.querySelectorAll(".hand tr[data-id] th")).some((c) => c.textContent === "3-1")`)
	pen.until(`document.querySelector('.hand td[data-column="offered_from_rear"] button')`)
	pen.press(`.hand td[data-column="offered_from_rear"] button`)
	him.until(`document.querySelector('.hand td[data-column="offered_from_rear"][data-seq]')`)
	shots(him, "watch-hand")(t)
	told("The instructor is looking on.")

	him.open(e.at + "/s/demo/book/OS")
	require.Equal(t, "OS", eval[string](him, `document.body.dataset.box`))
	require.Equal(t, 204, eval[int](pen, `(() => { const x = new XMLHttpRequest(); x.open("POST", "/s/demo/remark/OS", false);
		x.setRequestHeader("Content-Type", "application/x-www-form-urlencoded"); x.send("words=fog"); return x.status; })()`))
	him.until(`document.querySelector(".spread").textContent.includes("fog")`)
	him.press(`nav a[href$="/forms/OS"]`)
	him.until(`document.querySelector(".folder")`)
	pen.open(e.at + "/s/demo/forms/OS")
	eval[bool](pen, `(() => { const f = [...document.querySelectorAll("form")].find((f) => f.section.value === "UL-OS Down Main" && f.querySelector('button[value="sign"]'));
		f.querySelector('button[value="sign"]').click(); return true; })()`)
	him.until(`document.querySelector(".folder").textContent.includes("Signed here")`)
	require.Equal(t, 0, eval[int](him, `document.querySelectorAll("main button").length`))
	told("The instructor is looking on.")

	him.open(e.at + "/s/demo/two?a=OS&b=QU")
	him.until(in("OS") + `.querySelector(".strip.looking").textContent.includes("You watch")`)
	shots(him, "watch-two")(t)
	him.open("about:blank")
	told("")
}
