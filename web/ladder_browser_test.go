package web_test

import (
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// orderSays is what the slip of a lesson asks for in bell codes.
var orderSays = regexp.MustCompile(`(?:Block back to|clear of the line from|Test it|The bell to) ?(.*?)(?: first| is mended|\.).*then ([\d-]+)\.`)

// ordered does what the slip of a lesson asks for: attention first, then the code, until the slip asks no more.
func (g *guide) ordered() bool {
	words := eval[string](g.tab, `document.querySelector(".lesson .order").textContent`)
	m := orderSays.FindStringSubmatch(words)
	if m == nil {
		return false
	}
	circuit := eval[string](g.tab, `(() => { const n = Array.from(document.querySelectorAll(".neighbour")).find((n) => `+quote(words)+`.includes(n.querySelector(".plate").textContent.trim())); return n ? n.dataset.circuit : ""; })()`)
	if circuit == "" || eval[bool](g.tab, `taillampShelf.shown.shelf.some((i) => i.circuit === `+quote(circuit)+` && (i.called || (i.waiting || []).length))`) {
		return false
	}
	g.did["Order"]++
	if eval[bool](g.tab, `taillampShelf.shown.shelf.some((i) => i.circuit === `+quote(circuit)+` && i.has === taillampShelf.seat.box)`) {
		g.hand(circuit, m[2], 300*time.Millisecond)
	} else {
		g.hand(circuit, "1", 300*time.Millisecond)
	}
	pause(4 * time.Second)
	return true
}

// Every lesson but the last is passed by a hand that knows only what the page of its box shows: the advice, and the slip.
// It takes as long as the lessons take. TAILLAMP_LESSONS names which, "2,3,10".
func TestLadderIsClimbedByThePageAlone(t *testing.T) {
	which := os.Getenv("TAILLAMP_LESSONS")
	if which == "" {
		t.Skip("TAILLAMP_LESSONS names no lessons")
	}
	for _, no := range strings.Split(which, ",") {
		t.Run(no, func(t *testing.T) {
			t.Parallel()
			e := open(t, "lathermoor", nil)
			g := &guide{tab: tablet(t, browser(t), "a learner", e.at+"/lessons", 1024, 768), did: map[string]int{}, tail: 20 * time.Second}
			g.press(`button[data-lesson="` + no + `"]`)
			g.hear()
			g.until(`document.querySelector(".lesson .goals li")`)
			since := map[string]time.Time{}
			over := `!document.querySelector(".lesson .ended").hidden`
			for end := time.Now().Add(25 * time.Minute); !eval[bool](g.tab, over); pause(200 * time.Millisecond) {
				require.True(t, time.Now().Before(end), "it does not end: %s %v", g.goals(), g.did)
				if !g.ordered() {
					g.act()
				}
				g.lamps(since)
			}
			words := eval[string](g.tab, `document.querySelector(".lesson .ended").innerText`)
			t.Log(fmt.Sprint(g.goals(), " ", words, " ", g.did))
			require.Contains(t, words, "You can do this")
		})
	}
}
