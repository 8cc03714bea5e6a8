package web_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// countStrokes lets a page write down every sound that it starts, as the name under which the shelf has it.
func (p *tab) countStrokes() {
	p.t.Helper()
	eval[int](p, `(() => {
		const bells = taillampShelf.bells, strike = bells.strike;
		window.struck = [];
		bells.strike = function (name, when, hard, loud) { window.struck.push({ name, when, hard, loud }); strike.call(this, name, when, hard, loud); };
		return 0;
	})()`)
}

// struck is one sound started.
type struck struct {
	Name string  `json:"name"`
	When float64 `json:"when"`
	Hard float64 `json:"hard"`
	Loud float64 `json:"loud"`
}

func (p *tab) strokes(name string) []struck {
	p.t.Helper()
	return eval[[]struck](p, "window.struck.filter((s) => s.name === "+quote(name)+")")
}

// Q15: how loud the bells are and whether it is night is set at the tablet, on a paper strip, and is there again when
// the page is opened anew; at night the sound is the voice's own night. The bells can be tried at any time (A10).
func TestBellsAsThisTabletLikesThem(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	p := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	p.takeDuty("OS")
	ready := func(which string) {
		p.until(`(() => { const b = taillampShelf.bells, a = b.buffers["` + pair + `"]; return a && a.ready && a.address === b.sounds.` + which + `["` + pair + `"] && !!b.sounds.` + which + `["` + pair + `"]; })()`)
	}
	ready("bells")
	require.InDelta(t, 1.0, eval[float64](p, "taillampShelf.bells.mix.volume.value"), 1e-6)
	byDay := eval[float64](p, `taillampShelf.bells.buffers["`+pair+`"].ready.duration`)

	p.press("nav .bells")
	p.until(`!document.querySelector(".strip.bells").hidden`)
	require.Empty(t, eval[[]string](p, smallTargets), "too small to touch")
	p.countStrokes()
	eval[int](p, `(() => { const r = document.querySelector(".bells [type=range]"); r.value = 6;
		for (const e of ["input", "change"]) r.dispatchEvent(new Event(e, { bubbles: true })); return 0; })()`)
	require.Equal(t, "6 of 10", eval[string](p, `document.querySelector(".bells output").textContent`))
	require.InDelta(t, math.Pow(10, -12.0/20), eval[float64](p, "taillampShelf.bells.mix.volume.value"), 1e-6, "four steps of three decibels")
	p.until(`window.struck.length === 1 && window.struck[0].name === "` + pair + `"`) // one hears how loud it is
	p.press(".bells [type=checkbox]")
	ready("night")
	p.until(fmt.Sprintf(`taillampShelf.bells.buffers[%q].ready.duration < %v`, pair, 0.7*byDay)) // till then the day's is heard

	tried := len(acts(t, e, block.Ears))
	p.press(".bells .try-bells")
	require.Len(t, p.hear(), 3)
	p.until("taillampShelf.wire.kept.length === 0")
	require.Len(t, acts(t, e, block.Ears), tried+1)
	require.True(t, eval[bool](p, `document.querySelector(".strip.bells").hidden`))

	p.open(e.at + "/s/demo/box/OS")
	p.until("window.taillampShelf && taillampShelf.shown")
	require.True(t, eval[bool](p, `taillampShelf.bells.likes.night && taillampShelf.bells.likes.loud === 6`))
}

// What a browser has kept wrong, or will not keep, does no harm.
func TestLikesAreGuarded(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	p := tablet(t, b, "the door", e.at, 1024, 768)
	eval[int](p, `(() => { import("/static/bells.mjs").then(({ Bells }) => {
		const read = () => JSON.stringify(new Bells(null, { bells: {} }).likes);
		window.likes = ["{", "null", "7", '{"loud":99}', '{"loud":"loud","night":1}', '{"loud":3,"night":true}'].map((kept) => {
			localStorage.setItem("taillamp-bells", kept);
			return read();
		});
		Object.defineProperty(window, "localStorage", { get() { throw new Error("refused"); } });
		const bells = new Bells(null, { bells: {} });
		bells.like({ loud: 2, night: false });
		window.likes.push(read(), JSON.stringify(bells.likes));
	}); return 0; })()`)
	p.until("window.likes && window.likes.length === 8")
	plain := `{"loud":10,"night":false}`
	require.Equal(t, []string{plain, plain, plain, plain, `{"loud":10,"night":true}`, `{"loud":3,"night":true}`, plain, `{"loud":2,"night":false}`},
		eval[[]string](p, "window.likes"))
}

// The indicator's click is heard at both ends when the needle moves, the lamp's when the record has it, and each far
// softer than a bell: nothing else is struck.
func TestApparatusIsHeard(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	accept(ul, os, "3-1")
	os.shows(down, "clear") // its click has been heard
	ul.shows(down, "clear")
	ul.countStrokes()
	os.countStrokes()
	send(ul, os)
	os.until(`window.struck.some((s) => s.name === "click")`)
	require.Len(t, os.strokes("click"), 1)
	ul.until(`window.struck.some((s) => s.name === "click")`)
	require.Len(t, ul.strokes("click"), 1)
	os.seeTailLamp(down)
	os.until(`window.struck.filter((s) => s.name === "click").length === 2`)
	for _, s := range append(os.strokes("click"), os.strokes("clack")...) {
		require.LessOrEqual(t, s.Loud, 1.0)
	}
	require.Empty(t, os.strokes("drawn"))
}

// A token drawn is heard at the instrument that it leaves, and put back at the one that it goes into (B16's beginning).
func TestTokenIsHeard(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	p := tablet(t, b, "the door", e.at, 1024, 768)
	eval[int](p, `(() => { import("/static/apparatus.mjs").then(({ changesOf }) => {
		const shelf = (token) => ({ shelf: [{ circuit: "A-B", lines: [{ section: "s", shows: "blocked", token }] }] });
		const both = (a, b) => Array.from(changesOf(shelf(a), shelf(b)).noises).join();
		window.tokens = [
			both({ here: 3, shows: "in" }, { here: 2, shows: "going" }), both({ here: 2, shows: "going" }, { here: 3, shows: "in" }),
			both({ here: 3, shows: "in" }, { here: 3, shows: "coming" }), both({ here: 3, shows: "in" }, { here: 3, shows: "in" }),
		];
	}); return 0; })()`)
	p.until("window.tokens")
	require.Equal(t, []string{"drawn", "restored", "click", ""}, eval[[]string](p, "window.tokens"))
}

// D1: six beats are told once more at the far end by the same bell, so fast that nobody counts it for a code, louder at
// its end than any beat, and its plate flashes slowly: never three times a second (WCAG 2.1, 2.3.1), nor at all where
// the signaller wants less motion. Who rang them hears nothing of it.
func TestSixBeatsAreUrgent(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	ul.countStrokes()
	os.countStrokes()
	ul.hand(pair, "6", 220*time.Millisecond)
	os.until(`document.body.classList.contains("alarm") && window.struck.length >= 22`)
	all := os.strokes(pair)
	require.Len(t, all, 6+16)
	beats, roll := all[:6], all[6:]
	for i, s := range roll {
		require.Greater(t, s.When, beats[5].When+0.3, "after the beats have been heard")
		if i > 0 {
			require.Less(t, s.When-roll[i-1].When, 0.1, "faster than any hand")
			require.Greater(t, s.Loud, roll[i-1].Loud)
		}
	}
	require.GreaterOrEqual(t, roll[len(roll)-1].Loud, 1.5*beats[0].Loud)
	ul.until(`document.body.classList.contains("alarm")`)
	require.Empty(t, ul.strokes(pair), "the end that rang it")

	style := func(what string) string {
		return eval[string](os, `getComputedStyle(document.querySelector(".danger .plate")).`+what)
	}
	require.Equal(t, "warns", style("animationName"))
	require.Equal(t, "2.4s", style("animationDuration"))
	_, err := chromedp.Call(os.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-reduced-motion", Value: "reduce"}}})
	require.NoError(t, err)
	require.Equal(t, "none", style("animationName"))
	require.NotEqual(t, "none", style("boxShadow"), "without motion it is marked all the same")
}

// A10, Q1: a tablet whose sound stops says so on its face, and the door shows it; when the bells sound again both know.
func TestSilentTabletSaysSo(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	p := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	p.takeDuty("OS")
	door := tablet(t, b, "the door", e.at, 1024, 768)
	says := func(words string) {
		t.Helper()
		door.until(`document.querySelector('.stop[data-box="OS"] p').textContent.indexOf(` + quote(words) + `) >= 0`)
	}
	says("hears the bells")
	eval[int](p, "(() => { taillampShelf.bells.context.suspend(); return 0; })()")
	p.until(`!document.querySelector(".strip.hush").hidden`)
	require.Equal(t, "Tap to hear the bells", eval[string](p, `document.querySelector(".strip.hush").innerText.trim()`))
	says("does not hear the bells")
	p.press(".strip.hush button")
	p.until(`document.querySelector(".strip.hush").hidden`)
	says(", hears the bells")

	// A sound card that says that it runs and stands still is silent too; a press begins it anew.
	eval[int](p, `(() => { Object.defineProperty(taillampShelf.bells.context, "currentTime", { get: () => 5 }); return 0; })()`)
	p.until(`!document.querySelector(".strip.hush").hidden`)
	p.press(".strip.hush button")
	p.until(`document.querySelector(".strip.hush").hidden && taillampShelf.bells.awake() && taillampShelf.bells.context.currentTime !== 5`)
	p.until(`Object.values(taillampShelf.bells.buffers).length >= 4 && Object.values(taillampShelf.bells.buffers).every((b) => b.ready)`)
}
