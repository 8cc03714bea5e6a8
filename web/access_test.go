package web_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// keys rings a code by the bell's letter.
func (p *tab) keys(letter, code string, beat time.Duration) {
	p.t.Helper()
	beats, err := block.ParseBeats(code)
	require.NoError(p.t, err)
	next := time.Now()
	for _, group := range beats {
		for range group {
			pause(time.Until(next))
			when := stampOf(next)
			p.do(chromedp.KeyEvent(letter, func(k *input.DispatchKeyEventParams) { k.Timestamp = when }))
			next = next.Add(beat)
		}
		next = next.Add(beat * 3 / 2)
	}
}

// keyTo goes by the tabulator to something and sees that it shows it has the focus.
func (p *tab) keyTo(selector string) {
	p.t.Helper()
	for range 80 {
		if eval[bool](p, `document.activeElement.matches(`+quote(selector)+`)`) {
			require.NotEqual(p.t, "none", eval[string](p, "getComputedStyle(document.activeElement).outlineStyle"), "focus is seen on %s", selector)
			return
		}
		p.do(chromedp.KeyEvent("\t"))
	}
	p.t.Fatalf("%s: no key leads to %s", p.who, selector)
}

// Q3, B19: Ossenwaite works its half of the cycle by keys alone; the focus is always seen, and the live region says each
// signal once, in words.
func TestCycleByKeysAlone(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	eval[int](os, `(() => {
		window.spoken = [];
		new MutationObserver(() => window.spoken.push(document.querySelector(".spoken").textContent)).observe(document.querySelector(".spoken"), {childList: true, characterData: true, subtree: true});
		return 0;
	})()`)
	rings := func(code string) {
		t.Helper()
		before := ul.firstHeard(pair)
		os.keys("u", code, 220*time.Millisecond)
		ul.until(firstHeardJS(pair) + " !== " + quote(before) + " && " + heardJS(pair) + `.indexOf("heard ` + code + ` at ") === 0`)
	}
	turns := func(show string) {
		t.Helper()
		os.keyTo(needle(down) + ` [data-show="` + show + `"]`)
		os.do(chromedp.KeyEvent("\r"))
		ul.shows(down, show)
	}
	ul.ring(os, pair, "1")
	rings("1")
	ul.ring(os, pair, "3-1")
	rings("3-1")
	turns("clear")
	ul.ring(os, pair, "2")
	rings("2")
	turns("occupied")
	os.keyTo(`tl-lamp[data-section="` + down + `"] button`)
	for _, typ := range []input.DispatchKeyEventType{input.DispatchKeyEventTypeRawKeyDown, input.DispatchKeyEventTypeKeyUp} {
		_, err := chromedp.Call(os.ctx, input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: typ, Key: " ", Code: "Space", WindowsVirtualKeyCode: 32})
		require.NoError(t, err)
		pause(750 * time.Millisecond)
	}
	os.until(`Array.from(document.querySelectorAll('tl-book td[data-column="passed"]')).some((c) => c.textContent !== "")`)
	rings("1")
	ul.ring(os, pair, "1")
	rings("2-1")
	ul.ring(os, pair, "2-1")
	turns("blocked")
	require.Empty(t, irregular(t, e))
	spoken := eval[[]string](os, "window.spoken")
	for _, code := range []string{"1", "3-1", "2", "2-1"} {
		said := 0
		for _, s := range spoken {
			if strings.HasPrefix(s, fmt.Sprintf("Ullathwick rang %s,", code)) {
				said++
			}
		}
		want := 1
		if code == "1" {
			want = 2
		}
		require.Equal(t, want, said, "%s is said once each time: %q", code, spoken)
	}
}

// Q1: where the browser gives no sound at all, beats and words carry every signal, and the door tells that this tablet
// does not hear.
func TestWorkedWithoutSound(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	ul := tablet(t, b, "Ullathwick", e.at, 1024, 768)
	ul.takeDuty("UL")
	os := tablet(t, b, "Ossenwaite", "about:blank", 1024, 768)
	_, err := chromedp.Call(os.ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{
		Source: "delete window.AudioContext; delete window.webkitAudioContext;"})
	require.NoError(t, err)
	os.open(e.at)
	require.False(t, eval[bool](os, `"AudioContext" in window`))
	os.press(`button.take[data-box="OS"]`)
	os.until(`document.querySelector(".try") && !document.querySelector(".try").hidden`)
	os.press(".try .no")
	os.hear()
	require.Equal(t, "This browser has no sound: watch the beats", eval[string](os, `document.querySelector(".strip.hush").innerText.trim()`))
	accept(ul, os, "3-1")
	require.Equal(t, 4, eval[int](os, `document.querySelectorAll('tl-bell[data-circuit="UL-OS"] .beats i').length`))
	require.Contains(t, eval[string](os, `document.querySelector('tl-bell[data-circuit="UL-OS"]').innerText`), "is line clear for ordinary passenger?")
	require.Contains(t, fetch(t, e, "/"), "does not hear the bells")
}

// D11's beginning: a box that is switched out says so, and its closing switch lets it work; its neighbours' shelves
// change by themselves.
func TestClosingSwitch(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	os := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	os.takeDuty("OS")
	qu := tablet(t, b, "Quarnaby", e.at, 1024, 768)
	qu.press(`button.take[data-box="QU"]`)
	qu.until(`document.querySelector(".shelf .out") && window.taillampShelf && taillampShelf.shown`)
	qu.press(".closing-switch")
	require.Equal(t, []string{"Ossenwaite Junction", "Ossenwaite Junction, Up Goods Loop", "Hexleigh West"}, qu.hear())
	order := `JSON.stringify(Array.from(document.querySelectorAll(".neighbour")).map((n) => n.dataset.to))`
	os.until(order + ` === '["UL","QU","QU","TO"]'`)
	os.ring(qu, "OS-QU", "1")
}
