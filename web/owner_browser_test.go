package web_test

import (
	"os"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web"
)

// A9, A10, A12, L2: the owner opens the address of the terminal over plain http, on a tablet and on a phone; the key does
// not stay in the address. He sees a signaller come, pauses the evening, which the signaller's tablet says, and frees the
// box by two presses, which the tablet says too.
func TestOwnerAtHisPage(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	at, key := owned(t, web.Config{Live: e.live})
	owner := tablet(t, b, "the owner", at+"/owner#wrong", 1024, 768)
	owner.until(`document.querySelector(".says.on") && document.querySelector(".says").textContent.includes("not the owner's key")`)
	require.Equal(t, at+"/owner", eval[string](owner, "location.href"), "a key does not stay in the address")
	owner.open(at + "/owner#" + key)
	owner.until(`document.querySelector(".rows")`)
	require.Equal(t, at+"/s/demo/owner", eval[string](owner, "location.href"))
	require.Equal(t, []string{"SK", "UL", "OS", "MI", "TO", "QU", "HX"}, eval[[]string](owner, `Array.from(document.querySelectorAll(".row")).map((r) => r.dataset.box)`))

	os := tablet(t, b, "Ossenwaite", at, 1024, 768)
	os.takeDuty("OS")
	owner.until(`document.querySelector('[data-box="OS"] .wire') && document.querySelector('[data-box="OS"] .wire').textContent === "on the wire"`)
	os.hand(pair, "1", 300*time.Millisecond)
	owner.until(`document.querySelector('[data-box="OS"] ul') && document.querySelector('[data-box="OS"] ul').textContent.includes("calls Ullathwick")`)

	shown := shots(owner, "owner")
	shown(t)
	owner.press(`.pace button[value="pause"]`)
	os.until(`!document.querySelector(".strip.paused").hidden`)
	owner.until(`document.querySelector('.pace button[value="go"]')`)
	shots(owner, "owner-paused")(t)
	eval[int](owner, `(document.querySelector("#speed").value = "30", 0)`)
	owner.press(`.pace button[value="go"]`)
	os.until(`document.querySelector(".strip.paused").hidden`)
	os.until(`document.querySelector("tl-clock").time.speed === 30`) // Q10: at another speed, as the record says
	owner.until(`document.querySelector(".did").innerText.includes("goes on, 30 minutes of the layout in a real one")`)

	owner.press(`[data-box="OS"] summary`)
	owner.press(`[data-box="OS"] .instrument button[value="fail"]`)
	owner.until(`document.querySelector('[data-box="OS"] [data-sure]')`)
	owner.press(`[data-box="OS"] .instrument button[value="fail"]`)
	owner.until(`document.querySelector('[data-box="OS"] summary b')`)
	require.True(t, eval[bool](owner, `document.querySelector('[data-box="OS"] details').open`), "what is open stays open")
	shots(owner, "owner-failed")(t)

	owner.press(`[data-box="OS"] .acts button[value="free"]`)
	require.Contains(t, eval[string](owner, `document.querySelector('[data-box="OS"] .there').textContent`), "since", "one press is none")
	owner.press(`[data-box="OS"] .acts button[value="free"]`)
	os.until(`document.querySelector(".strip.away").textContent.includes("The owner has freed this box")`)
	owner.until(`document.querySelector('[data-box="OS"] .there').textContent === "Nobody there"`)
	require.Contains(t, eval[string](owner, `document.querySelector(".did").innerText`), "Ossenwaite Junction: freed by the owner")
}

// shots sees that a page fits a tablet and a phone, and takes its picture where TAILLAMP_SHOTS names a folder.
func shots(p *tab, name string) func(*testing.T) {
	return func(t *testing.T) {
		t.Helper()
		for _, s := range []size{{"1024x768", 1024, 768}, {"390x844", 390, 844}} {
			p.do(chromedp.EmulateViewport(s.width, s.height, chromedp.EmulateTouch))
			require.LessOrEqual(t, eval[float64](p, "document.scrollingElement.scrollWidth"), float64(s.width), "%s scrolls sideways", s.name)
			require.Empty(t, eval[[]string](p, smallTargets), "too small to touch at %s", s.name)
		}
		if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
			p.shoot(folder, name)
		}
		p.do(chromedp.EmulateViewport(1024, 768, chromedp.EmulateTouch))
	}
}

// L2: the key's form and the buttons work without any script, over plain http: the browser sends them as from this page
// and not as from nowhere.
func TestOwnersPageWithoutScript(t *testing.T) {
	b := besides(t)
	e := open(t, "tiny", nil)
	at, key := owned(t, web.Config{Live: e.live})
	p := tablet(t, b, "the owner", "about:blank", 1024, 768)
	_, err := chromedp.Call(p.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	require.NoError(t, err)
	p.open(at + "/owner")
	shots(p, "owner-key")(t)
	p.press("#key")
	for _, letter := range key {
		p.do(chromedp.KeyEvent(string(letter)))
	}
	p.press(".key button")
	p.until(`document.querySelector(".rows")`)
	p.until(`document.readyState === "complete"`)
	p.press(`.pace button`)
	p.until(`document.querySelector('.pace button[value="go"]')`)
	_, state := e.live.Snapshot()
	require.True(t, e.live.Rules().View(state, block.BoxID("OS")).Paused)
}
