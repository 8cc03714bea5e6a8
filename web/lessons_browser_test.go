package web_test

import (
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// goals are what the slip on the learner's shelf counts.
func (p *tab) goals() string {
	p.t.Helper()
	return eval[string](p, `document.querySelector(".lesson .goals").innerText`)
}

// G4, G5, C2: a guest takes the first lesson through: one press on the ladder, his bells heard, every call answered by his
// own hand, an old hand beside him doing the rest, and words at the end. The evening in hand hears and records nothing.
func TestFirstLessonIsTaken(t *testing.T) {
	e := open(t, "lathermoor", nil)
	b := browser(t)
	p := tablet(t, b, "a guest", e.at+"/lessons", 1024, 768)
	require.Equal(t, 15, eval[int](p, `document.querySelectorAll(".ladder li").length - document.querySelectorAll(".ladder li li").length`))
	require.Empty(t, eval[[]string](p, smallTargets))
	p.press(`button[data-lesson="1"]`)
	p.hear()
	p.until(`document.querySelector(".lesson .goals li")`)
	require.Contains(t, p.goals(), "0 of 5")
	p.until(`!document.querySelector(".strip.advice").hidden`)
	answered := 0
	over, called := `!document.querySelector(".lesson .ended").hidden`, `taillampShelf.shown.shelf[0].called === "UL"`
	for end := time.Now().Add(15 * time.Minute); !eval[bool](p, over); pause(50 * time.Millisecond) {
		require.True(t, time.Now().Before(end), "the lesson does not end: %s", p.goals())
		if eval[bool](p, called) {
			p.tap(bell(pair), 60*time.Millisecond)
			answered++
			p.until(over + " || !(" + called + ")")
		}
	}
	require.GreaterOrEqual(t, answered, 5)
	require.Contains(t, p.goals(), "5 of 5")
	words := eval[string](p, `document.querySelector(".lesson .ended").innerText`)
	require.Contains(t, words, "You can do this")
	require.Contains(t, words, "Well done: calls answered within 10 seconds")
	for _, never := range []string{"score", "points", "%"} {
		require.NotContains(t, words, never)
	}
	onHisSheet(t, p, e.at)
	for entry, err := range e.live.Entries(t.Context()) {
		require.NoError(t, err)
		require.NotEqual(t, "beat", string(entry.Event.Do), "the evening in hand hears nothing of it")
	}
}

// onHisSheet is H4 as a learner meets it: what was said at the end stands under the lesson on his own sheet, another tablet
// sees nothing of it until it is given the key, and forgotten it is gone from both.
func onHisSheet(t *testing.T, p *tab, at string) {
	t.Helper()
	p.open(at + "/lessons")
	const tries = `(document.querySelector("#lesson-1 .tries") || {innerText: ""}).innerText`
	require.Contains(t, eval[string](p, tries), "shown Well done: calls answered within 10 seconds")
	p.do(chromedp.SendKeys("#name", "Anna"))
	p.press(`button[value="name"]`)
	p.until(`document.querySelector("#mine") && document.querySelector("#mine").textContent.includes("Anna")`)
	shots(p, "sheet")(t)
	p.press(".mine summary")
	key := eval[string](p, `document.querySelector(".mine .key").textContent`)

	other := tablet(t, browser(t), "another tablet", at+"/lessons", 1024, 768)
	require.Empty(t, eval[string](other, tries))
	other.press(".mine summary")
	other.do(chromedp.SendKeys("#key", strings.ToLower(key)))
	other.press(`button[value="take"]`)
	other.until(tries + `.includes("shown")`)
	other.press(".mine summary")
	other.press(`button[value="forget"]`) // one press is none
	require.Contains(t, eval[string](other, tries), "shown")
	other.press(`button[value="forget"]`)
	other.until(`document.querySelector("#key")`)
	p.open(at + "/lessons")
	require.Empty(t, eval[string](p, tries))
}
