package web_test

import (
	"strconv"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// strikes notes every stroke that a page lets sound, by the moment it is to sound at.
const strikes = `window.struck = []; const start = AudioBufferSourceNode.prototype.start;
	AudioBufferSourceNode.prototype.start = function (when, ...more) { window.struck.push({ when, long: this.buffer ? this.buffer.duration : 0 }); return start.call(this, when, ...more); };`

// E2, F7, F8: from a finding one comes to its line in the book; "show it" leads to where things stood before it, and from
// there the bells are heard again, every stroke of the record and each code in the proportions in which it was rung.
func TestFromFindingToPageToReplayToSound(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	accept(ul, os, "3-1")
	send(ul, os)
	os.ring(ul, pair, "1")
	ul.ring(os, pair, "1")
	os.ring(ul, pair, "2-1") // and no tail lamp was seen: R38
	ul.ring(os, pair, "2-1")

	p := tablet(t, ul.ctx, "a reader", "about:blank", 1024, 768)
	_, err := chromedp.Call(p.ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: strikes})
	require.NoError(t, err)
	p.open(e.at + "/s/demo/findings")
	const r38 = `Array.from(document.querySelectorAll(".finding")).find((f) => f.querySelector(".cite").textContent.startsWith("R38"))`
	p.until(r38)
	lead := func(words string) {
		eval[int](p, `(() => { const a = Array.from(`+r38+`.querySelectorAll(".leads a")).find((a) => a.textContent === "`+words+`"); a.id = "led"; return 0; })()`)
		p.press("#led")
	}
	lead("The book")
	p.until(`location.pathname === "/s/demo/book/OS" && document.readyState === "complete" && document.querySelector(".sought")`)
	require.Contains(t, eval[string](p, `document.querySelector(".sought").closest("tr").querySelector("th").textContent`), "3-1", "the line of that train")
	at := eval[point](p, `(() => { const r = document.querySelector(".sought").getBoundingClientRect(); return { X: r.left, Y: r.top }; })()`)
	require.True(t, at.X > 0 && at.X < 1024 && at.Y > 100 && at.Y < 768, "the page is turned to it: %v", at)

	p.open(e.at + "/s/demo/findings")
	p.until(r38)
	evidence := eval[string](p, "("+r38+`).querySelector('a[href*="finding="]').href.split("finding=")[1]`)
	lead("Show it")
	p.until(`location.pathname === "/s/demo/moment" && document.querySelector(".running button") && !document.querySelector(".running").hidden`)
	seq, err := strconv.ParseUint(eval[string](p, `(/record (\d+)/.exec(document.querySelector(".then").textContent) || [0, "0"])[1]`), 10, 64)
	require.NoError(t, err)
	var found time.Time
	var shown time.Time
	var rings []block.Ring
	for entry, err := range e.live.Entries(t.Context()) {
		require.NoError(t, err)
		if entry.Seq == seq {
			shown = entry.Event.At
		}
		if strconv.FormatUint(entry.Seq, 10) == evidence {
			found = entry.Event.At
		}
		if entry.Seq > seq {
			rings = append(rings, entry.Outcome.Rings...)
		}
	}
	require.False(t, found.IsZero())
	require.GreaterOrEqual(t, found.Sub(shown), 20*time.Second, "from twenty seconds before what it rests on")
	require.GreaterOrEqual(t, len(rings), 8, "1, 1, 2-1 and 2-1 are still to be heard")

	const speed = 5
	eval[string](p, `document.querySelector(".running select").value = "5"`)
	p.press(".running button")
	p.until(`window.struck.length >= ` + strconv.Itoa(len(rings)))
	p.until(`document.querySelector(".running button").textContent.startsWith("Run on")`)
	struck := eval[[]struct{ When, Long float64 }](p, "window.struck")
	require.Len(t, struck, len(rings), "every stroke once")
	codes := 0
	for i := 1; i < len(rings); i++ {
		gap := rings[i].Pressed.Sub(rings[i-1].Pressed)
		if rings[i].Circuit != rings[i-1].Circuit || rings[i].To != rings[i-1].To || gap > time.Second {
			continue
		}
		codes++
		require.InDelta(t, gap.Seconds()/speed, struck[i].When-struck[i-1].When, 0.006, "stroke %d", i+1)
	}
	require.GreaterOrEqual(t, codes, 4)
	for _, s := range struck {
		require.Greater(t, s.Long, 0.1, "a bell sounds")
	}
}
