package web_test

import (
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/web"
)

// A16: the owner adds a train at his page and withdraws it; the notice of a box at work says so within a second, without
// being loaded anew, by a word and not by a line through it alone.
func TestSequenceChangesOnTheNotice(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	at, key := owned(t, web.Config{Live: e.live})
	os := tablet(t, b, "Ossenwaite", at, 1024, 768)
	os.takeDuty("OS")
	owner := tablet(t, b, "the owner", at+"/owner#"+key, 1024, 768)
	owner.until(`document.querySelector(".sequence")`)
	owner.press(`.sequence .add summary`)
	owner.until(`document.querySelector(".sequence .add").open`)
	eval[int](owner, `(document.querySelector('.add [name="train"]').value = "31", document.querySelector('.add [name="as"]').value = "1",
		document.querySelector('.add [name="at"]').value = "15.31", 0)`)

	const watched = `(window.changed = [], new MutationObserver(() => {
		const row = document.querySelector('tl-notice li[data-train="31"]');
		if (row && row.querySelector("em") && window.changed[window.changed.length - 1] !== row.querySelector("em").textContent) {
			window.changed.push(row.querySelector("em").textContent); window.changedAt = Date.now();
		}
	}).observe(document.querySelector("tl-notice"), { childList: true, subtree: true }), 0)`
	eval[int](os, watched)
	pressed := time.Now()
	owner.press(`.add button[value="add"]`)
	os.until(`window.changed.some((w) => w.startsWith("added"))`)
	// Both tablets and this test are on one machine and go by one clock.
	took := eval[float64](os, "window.changedAt") - float64(pressed.UnixMilli())
	require.LessOrEqual(t, took, 1000.0, "milliseconds")
	t.Logf("pressed by the owner, on the notice after %.0f ms", took)
	owner.until(`document.querySelector(".did").innerText.includes("Train 31 added at 15.31, to run as 1")`)

	shots(owner, "owner-sequence")(t)
	owner.press(`.sequence .move summary`)
	owner.until(`document.querySelector('.move [name="train"] option[value="31"]')`)
	eval[int](owner, `(document.querySelector('.move [name="train"]').value = "31", 0)`)
	owner.press(`.move button[value="withdraw"]`)
	owner.until(`document.querySelector('.move [data-sure]')`)
	owner.press(`.move button[value="withdraw"]`)
	os.until(`window.changed.indexOf("withdrawn") > 0`)
	require.True(t, eval[bool](os, `document.querySelector('tl-notice li[data-train="31"] button').disabled`), "it cannot be offered")
	require.Equal(t, 3, eval[int](os, `document.querySelectorAll("tl-notice li[data-train] button:not([disabled])").length`))
	shots(os, "notice-changed")(t)
}

// A16, Q5: the owner's board of the sequence, all of it open and a train added, withdrawn and moved, is worked on a phone, a
// tablet held upright and at 200 % text: nothing scrolls sideways, no word is cut and every target can be touched; and a
// special is given a class of its own.
func TestSequenceBoardOnEveryTablet(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	at, key := owned(t, web.Config{Live: e.live})
	owner := tablet(t, b, "the owner", at+"/owner#"+key, 1024, 768)
	owner.until(`document.querySelector(".sequence")`)
	eval[int](owner, `(document.querySelector(".sequence .add").open = true, document.querySelector('.add [name="train"]').value = "31", document.querySelector('.add [name="as"]').value = "1",
		document.querySelector('.add [name="class"]').value = "2-3", document.querySelector('.add [name="at"]').value = "16.40", 0)`)
	owner.press(`.add button[value="add"]`)
	owner.until(`document.querySelector(".did").innerText.includes("Train 31 added at 16.40, to run as 1 and be offered by 2-3")`)
	_, state := e.live.Snapshot()
	special, ok := state.Timetable().Find("31")
	require.True(t, ok)
	require.Equal(t, "G", special.Class, "a light engine, by the book of 1960")
	eval[int](owner, `(Array.from(document.querySelectorAll(".sequence details")).forEach((d) => d.open = true), 0)`)
	owner.until(`Array.from(document.querySelectorAll(".sequence ol li")).some((li) => li.innerText.includes("31") && li.innerText.includes("G 2-3"))`)
	boardFits(t, owner, ".sequence", "sequence-board")
}

// boardFits sees that a board of the owner's is whole on a phone, a tablet held upright and at 200 % text, and takes its
// pictures where TAILLAMP_SHOTS names a folder.
func boardFits(t *testing.T, owner *tab, board, name string) {
	t.Helper()
	for _, s := range []struct {
		name       string
		wide, high int64
		text       string
	}{{"390x844", 390, 844, ""}, {"800x1280", 800, 1280, ""}, {"1024x768", 1024, 768, "200%"}, {"390x844-large", 390, 844, "200%"}} {
		owner.do(chromedp.EmulateViewport(s.wide, s.high, chromedp.EmulateTouch))
		eval[int](owner, `(document.documentElement.style.fontSize = `+strconv.Quote(s.text)+` ? "34px" : "", document.querySelector("`+board+`").scrollIntoView(), 0)`)
		require.LessOrEqual(t, eval[float64](owner, "document.scrollingElement.scrollWidth"), float64(s.wide), "%s scrolls sideways", s.name)
		require.Empty(t, eval[[]string](owner, smallTargets), "too small to touch at %s", s.name)
		require.Empty(t, eval[[]string](owner, `Array.from(document.querySelector("`+board+`").querySelectorAll("h2, summary, label, li, input, select, button"))
			.filter((x) => x.getClientRects().length && (x.getBoundingClientRect().right > document.querySelector("`+board+`").getBoundingClientRect().right + 1 || x.tagName !== "SELECT" && x.scrollWidth > x.clientWidth + 1))
			.map((x) => x.tagName + " " + x.textContent.slice(0, 30))`), "cut at %s", s.name)
		if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
			picture, err := chromedp.Run(owner.ctx, chromedp.Screenshot(board))
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(filepath.Join(folder, name+"-"+s.name+".png"), picture, 0o644))
		}
	}
}
