package web_test

import (
	"net/http/httptest"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/web"
	"taillamp/web/sitting"
)

// A16: the owner adds a train at his page and withdraws it; the notice of a box at work says so within a second, without
// being loaded anew, by a word and not by a line through it alone.
func TestSequenceChangesOnTheNotice(t *testing.T) {
	e := open(t, "lathermoor", nil)
	key := sitting.NewOwnerKey()
	server := httptest.NewServer(web.New(web.Config{Live: e.live, Owner: key}))
	t.Cleanup(server.Close)
	b := besides(t)
	at := onShed(t, server.URL)
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
