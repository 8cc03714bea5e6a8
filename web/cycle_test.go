package web_test

import (
	"slices"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

const (
	pair = "UL-OS"           // the bells that the tests work
	down = "UL-OS Down Main" // from Ullathwick to Ossenwaite Junction
	up   = "UL-OS Up Main"
)

// working opens Ullathwick and Ossenwaite Junction at two tablets, both with their signaller.
func working(t *testing.T, e evening) (ul, os *tab) {
	t.Helper()
	b := besides(t)
	ul = tablet(t, b, "Ullathwick", e.at, 1024, 768)
	os = tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	ul.takeDuty("UL")
	os.takeDuty("OS")
	return ul, os
}

// accept rings attention and offers a train from Ullathwick, which Ossenwaite accepts.
func accept(ul, os *tab, class string) {
	ul.t.Helper()
	ul.ring(os, pair, "1")
	os.ring(ul, pair, "1")
	ul.ring(os, pair, class)
	os.ring(ul, pair, class)
	os.turn(down, "clear")
	ul.shows(down, "clear")
}

// send rings the train into the section.
func send(ul, os *tab) {
	ul.t.Helper()
	ul.ring(os, pair, "2")
	os.ring(ul, pair, "2")
	os.turn(down, "occupied")
	ul.shows(down, "occupied")
}

// clear marks the tail lamp and gives the train out of section.
func clear(ul, os *tab) {
	ul.t.Helper()
	os.seeTailLamp(down)
	os.ring(ul, pair, "1")
	ul.ring(os, pair, "1")
	os.ring(ul, pair, "2-1")
	ul.ring(os, pair, "2-1")
	os.turn(down, "blocked")
	ul.shows(down, "blocked")
}

// seeTailLamp holds the lamp until the line's "passed" is booked.
func (p *tab) seeTailLamp(section string) {
	p.t.Helper()
	p.tap(`tl-lamp[data-section="`+section+`"] button`, 750*time.Millisecond)
	p.until(`Array.from(document.querySelectorAll('tl-book td[data-column="passed"]')).some((c) => c.textContent !== "")`)
}

// booked reads the last line of a train on the page: column to time, with its hour.
func (p *tab) booked() map[string]string {
	p.t.Helper()
	return eval[map[string]string](p, `(() => {
		const lines = Array.from(document.querySelector("tl-book").lines.values()).filter((l) => l.kind === "train");
		const out = {};
		for (const c of lines[lines.length - 1].cells) out[c.column] = c.time;
		return out;
	})()`)
}

// B4, B6, B12: a train is worked through the whole cycle by hand at two tablets. The needle is turned at Ossenwaite alone
// and followed at Ullathwick; both books hold the same train with the same times. The cycle is that of the regulations
// reference, absolute-block.md 4.2 and 4.3.
func TestTwoTabletsWorkATrain(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	book := tablet(t, ul.ctx, "the book", e.at+"/s/demo/book/OS", 1024, 768)

	require.Zero(t, eval[int](ul, `document.querySelectorAll('`+needle(down)+` .words button').length`), "Ullathwick has no handle for the trains it sends")
	require.Equal(t, 3, eval[int](os, `document.querySelectorAll('`+needle(down)+` .words button').length`))
	ul.tap(needle(down), 30*time.Millisecond)

	ul.press(`tl-notice li[data-train="1"] button`) // it comes from Skelderby, which nobody works: the touch names it
	accept(ul, os, "3-1")
	send(ul, os)
	clear(ul, os)

	there := os.booked()
	here := ul.booked()
	same := [][2]string{{"offered_from_rear", "offered_ahead"}, {"accepted", "accepted_ahead"},
		{"entering_section_received", "entering_section_sent"}, {"out_of_section_sent", "out_of_section_received"}}
	for _, c := range same {
		require.NotEmpty(t, there[c[0]], "Ossenwaite's book lacks %s: %v", c[0], there)
		require.Equal(t, there[c[0]], here[c[1]], "%s at Ossenwaite, %s at Ullathwick", c[0], c[1])
	}
	require.NotEmpty(t, there["passed"])
	train := func(p *tab) string {
		return eval[string](p, `Array.from(document.querySelector("tl-book").lines.values()).filter((l) => l.kind === "train").pop().train`)
	}
	require.Equal(t, "1", train(os), "the first 3-1 of the sequence from Ullathwick")
	require.Equal(t, train(os), train(ul))

	book.until(`Array.from(document.querySelectorAll('td[data-column="out_of_section_sent"]')).some((c) => c.textContent !== "")`)
	require.NotContains(t, eval[string](book, `document.querySelector("main").innerText`), "call attention", "call attention is not booked")
	require.Empty(t, irregular(t, e), "a right cycle breaks no rule")
	for box, presses := range pressesOf(t, e) {
		require.LessOrEqual(t, presses, 25, "B19: the cycle at %s", box)
	}
}

// irregular are the rules that the record says were broken.
func irregular(t *testing.T, e evening) []block.RuleID {
	t.Helper()
	var rules []block.RuleID
	for entry, err := range e.live.Entries(t.Context()) {
		require.NoError(t, err)
		for _, i := range entry.Outcome.Irregular {
			rules = append(rules, i.Rule)
		}
	}
	return rules
}

// pressesOf counts what each box did with a hand: beats, needles, the lamp.
func pressesOf(t *testing.T, e evening) map[block.BoxID]int {
	t.Helper()
	presses := make(map[block.BoxID]int)
	for _, do := range []block.Do{block.Beat, block.Turn, block.Train} {
		for _, act := range acts(t, e, do) {
			presses[act.By]++
		}
	}
	return presses
}

// acts are the events of a kind that stand in the record.
func acts(t *testing.T, e evening, do block.Do) []block.Event {
	t.Helper()
	var found []block.Event
	for entry, err := range e.live.Entries(t.Context()) {
		require.NoError(t, err)
		if entry.Mark == "" && entry.Event.Do == do {
			found = append(found, entry.Event)
		}
	}
	return found
}

// B9: a tail lamp must be held for 0.6 s; a shorter touch marks nothing. Giving 2-1 without it is possible and is R38.
func TestTailLampMustBeHeld(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	accept(ul, os, "3-1")
	send(ul, os)
	os.tap(`tl-lamp[data-section="`+down+`"] button`, 250*time.Millisecond)
	os.ring(ul, pair, "1") // whatever the short touch did is recorded before this
	require.Empty(t, acts(t, e, block.Train))
	ul.ring(os, pair, "1")
	os.ring(ul, pair, "2-1")
	ul.ring(os, pair, "2-1")
	os.turn(down, "blocked")
	ul.shows(down, "blocked")
	require.Contains(t, irregular(t, e), block.RuleID("R38"))

	accept(ul, os, "4")
	send(ul, os)
	os.seeTailLamp(down)
	seen := acts(t, e, block.Train)
	require.Len(t, seen, 1)
	require.Equal(t, block.Passes, seen[0].Where)
	require.Equal(t, block.LampSeen, seen[0].Lamp)
}

// B5: an offer left alone shows nothing accepted on either page, and may be rung again.
func TestSilenceAcceptsNothing(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	ul.ring(os, pair, "1")
	os.ring(ul, pair, "1")
	ul.ring(os, pair, "3-1")
	for _, p := range []*tab{ul, os} {
		p.shows(down, "blocked")
		require.NotContains(t, eval[string](p, "document.body.innerText"), "repeats your 3-1", p.who)
		_, accepted := p.booked()["accepted"]
		_, ahead := p.booked()["accepted_ahead"]
		require.False(t, accepted || ahead, "%s books an acceptance", p.who)
	}
	ul.ring(os, pair, "3-1")
	ul.shows(down, "blocked")
}

// B21: one touch of a cell of the open line books arrived and departed; the held tail lamp fills passed.
func TestTouchOfTheBook(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	accept(ul, os, "3-1")
	send(ul, os)
	os.until(`document.querySelector('tl-book [data-book="arrived"]')`)
	os.press(`tl-book [data-book="arrived"]`)
	os.until(`Array.from(document.querySelectorAll('tl-book td[data-column="arrived"]')).some((c) => c.textContent !== "")`)
	require.NotEmpty(t, os.booked()["arrived"])
	seen := acts(t, e, block.Train)
	require.Len(t, seen, 1)
	require.Equal(t, block.Arrives, seen[0].Where)
	require.Equal(t, block.TrainID("1"), seen[0].Train)
}

// B8: beats are seen as dots with the hand's gaps; the last signal stays with the neighbour's name; on a phone a bell at
// a neighbour not shown rings visibly at its tab and is there when one turns to it.
func TestBeatsAreSeen(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	os.do(chromedp.EmulateViewport(390, 844, chromedp.EmulateTouch))
	os.tap(`.tabs button[data-circuit="OS-HX"]`, 30*time.Millisecond)
	ul.ring(os, pair, "3-1")
	require.Equal(t, 4, eval[int](os, `document.querySelectorAll('tl-bell[data-circuit="UL-OS"] .beats i').length`))
	gaps := eval[[]float64](os, `Array.from(document.querySelectorAll('tl-bell[data-circuit="UL-OS"] .beats i')).map((d) => parseFloat(d.style.marginLeft))`)
	require.Equal(t, slices.Max(gaps), gaps[3], "the pause of 3-1 is before the fourth dot: %v", gaps)
	require.Equal(t, "Ullathwick rings", eval[string](os, `(() => { const t = document.querySelector('.tabs button.rings'); return t.textContent + getComputedStyle(t, "::after").content.replace(/"/g, ""); })()`))
	require.Contains(t, eval[string](os, `document.querySelector(".spoken").textContent`), "Ullathwick rang 3-1")
	os.tap(`.tabs button[data-circuit="UL-OS"]`, 30*time.Millisecond)
	os.until(`document.querySelector('.neighbour.here').dataset.circuit === "UL-OS" && !document.querySelector('.tabs .rings')`)
	require.Contains(t, eval[string](os, `document.querySelector('.neighbour.here').innerText`), "heard 3-1 at ")
}
