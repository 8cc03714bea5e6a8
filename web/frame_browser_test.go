package web_test

import (
	"strings"
	"testing"

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
