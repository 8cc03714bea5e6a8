package web_test

import (
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// levers gives a district levers at its tablets, and apparatus of that level.
func levers(level, at string) func(*block.Header) {
	return func(h *block.Header) {
		h.Layout = strings.Replace(h.Layout, "[settings]", "[settings]\nlevers = true\nleversAt = \""+at+"\"", 1)
		h.Layout = strings.Replace(h.Layout, "boxes = [\"UL\", \"OS\"]\n", "boxes = [\"UL\", \"OS\"]\nlevel = \""+level+"\"\n", 1)
	}
}

// lever is the selector of a section signal's lever, over what is true when it is pulled.
func lever(section string) string { return `tl-lever[data-section="` + section + `"]` }

func over(section string) string {
	return `document.querySelector('` + lever(section) + `').hasAttribute("over")`
}

// B15, B10: the lever of the starting signal is held by the block at the level that the layout gives, and by a collar; each
// refusal says in one line what holds it; a bell always rings. What each level holds: absolute-block reference, section 5.
func TestLeversAreHeldAsTheRealOnes(t *testing.T) {
	for _, level := range []string{"free", "sequential", "interlocked"} {
		t.Run(level, func(t *testing.T) {
			e := open(t, "tiny", levers(level, "tablet"))
			ul, os := working(t, e)
			ul.until(`document.querySelector("tl-lever").wired`)
			require.Empty(t, eval[[]string](ul, smallTargets))
			says := `document.querySelector(".says.on") && document.querySelector(".says.on").textContent.indexOf(`
			if level != "free" {
				ul.press(lever(down) + " .pulls")
				ul.until(says + `"the indicator does not show line clear") >= 0`)
				require.False(t, eval[bool](ul, over(down)))
			}
			accept(ul, os, "3-1")

			// A collar is put on by one touch, and the lever is held until it has been taken off by another.
			ul.press(lever(down) + " .reminder")
			ul.until(`document.querySelector('` + lever(down) + `').hasAttribute("collar")`)
			ul.press(lever(down) + " .pulls")
			ul.until(says + `"A reminder is on it") >= 0`)
			require.False(t, eval[bool](ul, over(down)))
			ul.press(lever(down) + " .reminder")
			ul.until(`!document.querySelector('` + lever(down) + `').hasAttribute("collar")`)

			ul.press(lever(down) + " .pulls")
			ul.until(over(down))
			ul.press(lever(down) + " .pulls")
			ul.until("!" + over(down))
			ul.keyTo(lever(down) + " .pulls")
			ul.do(chromedp.KeyEvent("\r"))
			if level == "interlocked" {
				ul.until(says + `"pulled once for this line clear") >= 0`)
				require.False(t, eval[bool](ul, over(down)))
			} else {
				ul.until(over(down))
			}
			pulls := 0
			for _, a := range acts(t, e, block.Lever) {
				if !a.Off {
					pulls++
				}
			}
			require.GreaterOrEqual(t, pulls, 2, "every pull, the refused ones too, stands in the record")
			ul.ring(os, pair, "1")
		})
	}
}

// Where the owner works real levers none stand on the tablet, and the box page is what it was.
func TestRealLeversHideThoseOfTheTablet(t *testing.T) {
	e := open(t, "tiny", levers("free", "layout"))
	ul, _ := working(t, e)
	require.False(t, eval[bool](ul, `!!document.querySelector(".frame")`))
}

// B15, G3: a simulated train stands at a person's home signal until its lever is pulled, and goes no farther than the
// starting signal. At the level interlocked line clear cannot be given, nor the needle put back, with the home signal off;
// a collar holds its lever. What each level holds: absolute-block reference, section 5.
func TestTrainStandsAtTheHomeSignal(t *testing.T) {
	e := open(t, "tiny", func(h *block.Header) {
		levers("interlocked", "tablet")(h)
		h.Layout = strings.Replace(h.Layout, `starts = "15:30"`, `starts = "15:38"`, 1)
		h.Layout = strings.Replace(h.Layout, "speed  = 1", "speed  = 20", 1)
	})
	p := tablet(t, browser(t), "OS", e.at, 1024, 768)
	p.takeDuty("OS")
	require.NoError(t, e.live.Employ(t.Context(), 1, []block.BoxID{"OS"}))
	p.until(`document.querySelector("tl-lever").wired`)
	require.Equal(t, []string{"Home from Ullathwick Down Main", "Starting to Ullathwick Up Main"}, eval[[]string](p,
		`Array.from(document.querySelectorAll("tl-lever p")).map((n) => Array.from(n.children).map((c) => c.textContent).join(" "))`))
	moves := func(way string) {
		t.Helper()
		p.press(lever(down) + " .pulls")
		if way == "pulled" {
			p.until(over(down))
		} else {
			p.until("!" + over(down))
		}
	}
	held := func(words string) {
		t.Helper()
		p.until(`document.querySelector(".says.on") && document.querySelector(".says.on").textContent.indexOf(` + quote(words) + `) >= 0`)
	}
	says := func(code string) { t.Helper(); p.until(heardJS(pair) + `.indexOf("heard ` + code + ` at ") === 0`) }
	answer := func(code string) { t.Helper(); says(code); p.hand(pair, code, 250*time.Millisecond) }

	p.press(lever(down) + " .reminder")
	p.until(`document.querySelector('` + lever(down) + `').hasAttribute("collar")`)
	p.press(lever(down) + " .pulls")
	held("A reminder is on it")
	p.press(lever(down) + " .reminder")
	p.until(`!document.querySelector('` + lever(down) + `').hasAttribute("collar")`)
	moves("pulled")
	answer("1")
	answer("3-1")
	p.turn(down, "clear")
	held("the home signal must be put back to danger first")
	moves("put back")
	p.turn(down, "clear")
	p.shows(down, "clear")
	answer("2")
	p.turn(down, "occupied")
	p.shows(down, "occupied")

	window := `document.querySelector('tl-lamp[data-section="` + down + `"] small').textContent`
	stands := func(where block.Place) bool {
		_, state := e.live.Snapshot()
		for _, l := range e.live.Rules().View(state, "OS").Shelf[0].Lines {
			if l.ToMe && len(l.Trains) == 1 && l.Trains[0].Where == where {
				return true
			}
		}
		return false
	}
	for end := time.Now().Add(2 * patience); !stands(block.Stands); pause(100 * time.Millisecond) {
		require.True(t, time.Now().Before(end), "the train does not come to the home signal")
	}
	moves("pulled")
	p.until(window + ` === "no. 1 is here: hold"`)
	require.True(t, stands(block.Heads))
	p.tap(`tl-lamp[data-section="`+down+`"] button`, 750*time.Millisecond)
	p.until(window + ` === "hold"`)
	p.hand(pair, "1", 250*time.Millisecond)
	says("1")
	pause(4 * time.Second) // he has answered, or rings again
	p.hand(pair, "2-1", 250*time.Millisecond)
	says("2-1")
	p.turn(down, "blocked")
	held("the home signal must be put back to danger first")
	moves("put back")
	p.turn(down, "blocked")
	p.shows(down, "blocked")
	require.Empty(t, irregular(t, e))
}
