package web_test

import (
	"os"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// The lineman moves tokens by a form: numbers entered at one end, compared at the other, and both books have them
// (other-methods reference, 2.8; MSWJ 36).
func TestLinemanMovesTokens(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	osT := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	osT.takeDuty("OS")
	to := tablet(t, b, "Tolverbeck", e.at, 1024, 768)
	to.takeDuty("TO")
	send := func(p *tab, box, do, words string) {
		t.Helper()
		p.open(e.at + "/s/demo/forms/" + box)
		require.True(t, eval[bool](p, `(() => { const f = document.querySelector("form[aria-label=Lineman]"); f.closest("details").open = true; window.stale = true;
			f.elements.words.value = `+quote(words)+`; f.querySelector('button[value="`+do+`"]').click(); return true; })()`))
		require.Eventually(t, func() bool {
			v, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](`document.readyState === "complete" && !window.stale`))
			return err == nil && v
		}, patience, 20*time.Millisecond)
	}
	send(osT, "OS", "taken", "2 5")
	require.Contains(t, eval[string](osT, `document.querySelector("main").innerText`), "The lineman has 2 tokens in his bag.")
	send(to, "TO", "put", "2 5")
	require.Contains(t, eval[string](to, `document.querySelector("main").textContent`), "Here are 5 tokens.")
	for box, words := range map[string]string{"OS": "lineman took tokens nos. 2 5 of Branch Single OS to TO", "TO": "lineman put in tokens nos. 2 5 of Branch Single OS to TO, numbers compared"} {
		osT.open(e.at + "/s/demo/book/" + box)
		require.Contains(t, eval[string](osT, `document.querySelector("main").innerText`), words)
	}
	require.Empty(t, irregular(t, e))
}

// D14: a line is given up to the engineers and single-line working set up, by forms: the message stands in the books of
// both ends; each end signs the pilotman's form; a train goes with him and one on his ticket; he is looked for where he
// is not; the line is handed back and the forms withdrawn. What is not so is said in words, and nothing is recorded.
func TestFormsOfAPilotman(t *testing.T) {
	e := open(t, "lathermoor", nil)
	b := browser(t)
	osT := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	osT.takeDuty("OS")
	ul := tablet(t, b, "Ullathwick", e.at, 1024, 768)
	ul.takeDuty("UL")
	const down = "UL-OS Down Main"
	page := func(p *tab, box string) { p.open(e.at + "/s/demo/forms/" + box) }
	send := func(p *tab, do string, fill map[string]string) {
		t.Helper()
		script := `(() => { const f = [...document.querySelectorAll("form")].find((f) => f.section.value === ` + quote(down) + ` && f.querySelector('button[value="` + do + `"]'));`
		for name, text := range fill {
			script += `f.elements[` + quote(name) + `].value = ` + quote(text) + `;`
		}
		script += `f.closest("details").open = true; window.stale = true; f.querySelector('button[value="` + do + `"]').click(); return true; })()`
		require.True(t, eval[bool](p, script))
		require.Eventually(t, func() bool { // while it goes from page to page nothing answers
			v, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](`document.readyState === "complete" && !window.stale`))
			return err == nil && v
		}, patience, 20*time.Millisecond, "the form %s was not taken", do)
	}
	page(ul, "UL")
	if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
		ul.shoot(folder, "forms-none")
	}
	send(ul, "give", map[string]string{"words": "P. Dent, ganger, for a broken rail"})
	send(ul, "sign", nil)
	require.Contains(t, eval[string](ul, `document.querySelector("main").innerText`), "pilotman at this box")

	page(osT, "OS")
	require.Contains(t, eval[string](osT, `document.querySelector("main").innerText`), "with the engineers")
	send(osT, "sign", nil)
	page(ul, "UL")
	send(ul, "comes", nil)
	send(ul, "ticket", map[string]string{"train": "1"})
	send(ul, "rides", map[string]string{"train": "3"})
	require.Contains(t, eval[string](ul, `document.querySelector("main").innerText`), "pilotman with train 3")
	if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
		ul.shoot(folder, "forms")
	}
	page(osT, "OS")
	send(osT, "comes", nil)
	send(osT, "ticket", map[string]string{"train": ""})
	require.Equal(t, "Write on the form which train it is for.", eval[string](osT, `document.querySelector("[role=alert]").innerText`))
	page(osT, "OS")
	send(osT, "withdraw", nil)
	page(ul, "UL")
	send(ul, "withdraw", nil)
	send(ul, "back", map[string]string{"words": "line clear, P. Dent 3.50"})

	for _, box := range []string{"UL", "OS"} {
		ul.open(e.at + "/s/demo/book/" + box)
		book := eval[string](ul, `document.querySelector("main").innerText`)
		for _, words := range []string{"Down Main UL to OS given up to the engineers: P. Dent, ganger, for a broken rail",
			"pilotman's form received and countersigned for Down Main UL to OS",
			"pilotman's form withdrawn, ordinary working resumed on Down Main UL to OS",
			"Down Main UL to OS handed back by the engineers: line clear, P. Dent 3.50"} {
			require.Contains(t, book, words, box)
		}
	}
}
