package web_test

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
)

// guide is a hand that does what the page of its box advises, and knows nothing but what the page shows.
type guide struct {
	*tab
	did  map[string]int // by the first word of the advice
	tail time.Duration  // from a train's coming in sight to its tail being by
	lift func()         // a bell key that is kept down
	// wired rings a code by a real instrument, for each circuit that has one here
	wired map[string]func(code string)
}

var (
	adviceRings = regexp.MustCompile(`^(?:Ring ([\d-]+) to (.+?)|Answer (.+?): ring ([\d-]+))(, and keep the last beat held)?\.$`)
	adviceTurns = regexp.MustCompile(`^Turn the needle for trains from (.+) to (line clear|line blocked|train on line)\.$`)
)

// advised is what the strip says now; empty while it says nothing.
func (g *guide) advised() string {
	return eval[string](g.tab, `(() => { const s = document.querySelector(".strip.advice"); return s.hidden ? "" : s.querySelector("b").textContent; })()`)
}

// ringed is the circuit of the plunger that the advice has a ring round.
func (g *guide) ringed() string {
	return eval[string](g.tab, `(() => { const p = document.querySelector("tl-bell .plunger.advised"); return p ? p.closest("tl-bell").dataset.circuit : ""; })()`)
}

// act does one thing, if there is one to do.
func (g *guide) act() {
	words := g.advised()
	first, _, _ := strings.Cut(words, " ")
	note := func() { g.did[first]++ }
	switch m := adviceRings.FindStringSubmatch(words); {
	case words == "Something is to be done.":
		g.press(".strip.advice button")
	case m != nil:
		code, circuit := m[1]+m[4], g.ringed()
		if circuit == "" {
			return
		}
		note()
		if m[5] != "" {
			g.let()
			g.lift = g.holding(circuit, code, 300*time.Millisecond)
			pause(5 * time.Second) // until the page has been told
			return
		}
		g.let()
		if ring := g.wired[circuit]; ring != nil {
			ring(code)
		} else {
			g.hand(circuit, code, 300*time.Millisecond)
		}
		pause(2500 * time.Millisecond) // the code is at an end, and the page has been told
	case adviceTurns.MatchString(words):
		note()
		g.press("tl-needle .advised")
		pause(time.Second)
	case strings.HasPrefix(words, "Draw"), strings.HasPrefix(words, "Put the token"), strings.HasPrefix(words, "Give the token"), strings.HasPrefix(words, "Take the token"):
		where := map[string]string{"Draw": "drawn", "Put": "restored", "Give": "handed", "Take": "given"}[first]
		if eval[bool](g.tab, `!!document.querySelector('tl-token button[data-where="`+where+`"]:not([hidden])')`) {
			note()
			g.press(`tl-token button[data-where="` + where + `"]`)
			pause(time.Second)
		}
	case strings.HasPrefix(words, "Keep the bell"):
		if circuit := g.ringed(); g.lift == nil && circuit != "" { // it slipped from the hand: down again
			note()
			g.lift = g.holding(circuit, "1", 300*time.Millisecond)
			pause(5 * time.Second)
		}
	case strings.HasPrefix(words, "Let go"), strings.HasPrefix(words, "Nothing"), strings.HasPrefix(words, "Watch"):
		g.let()
	}
}

// let lets go of a key that was kept down.
func (g *guide) let() {
	if g.lift != nil {
		g.lift()
		g.lift = nil
	}
}

// lamps holds the tail lamp of each train that has been in sight for so long that its tail must be by.
func (g *guide) lamps(since map[string]time.Time) {
	for _, section := range eval[[]string](g.tab, `Array.from(document.querySelectorAll("tl-lamp")).filter((l) => l.querySelector(".lamp.sight")).map((l) => l.dataset.section)`) {
		if since[section].IsZero() {
			since[section] = time.Now()
		}
		if time.Since(since[section]) > g.tail {
			delete(since, section)
			g.did["Lamp"]++
			g.tap(`tl-lamp[data-section="`+section+`"] button`, 750*time.Millisecond)
		}
	}
}

// One hour of the demo's sequence worked as OS at the bells' own speed, by a hand that does what the page advises and
// looks at nothing else; a picture every five minutes, for people to look at. TAILLAMP_HOUR names the folder for the
// pictures, and TAILLAMP_MINUTES how many minutes if not sixty.
func TestAnHourAtTheJunction(t *testing.T) {
	folder := os.Getenv("TAILLAMP_HOUR")
	if folder == "" {
		t.Skip("TAILLAMP_HOUR names no folder")
	}
	minutes := 60
	if n, err := strconv.Atoi(os.Getenv("TAILLAMP_MINUTES")); err == nil {
		minutes = n
	}
	e := open(t, "lathermoor", nil)
	g := &guide{tab: tablet(t, browser(t), "OS", e.at, 1024, 768), did: map[string]int{}, tail: 55 * time.Second}
	g.takeDuty("OS")
	require.NoError(t, e.live.Employ(t.Context(), 1, []block.BoxID{"OS"}))
	g.press("nav .advice")
	began, shots := time.Now(), 0
	since := map[string]time.Time{}
	for time.Since(began) < time.Duration(minutes)*time.Minute {
		g.act()
		g.lamps(since)
		if time.Since(began) >= time.Duration(5*shots)*time.Minute {
			png, err := chromedp.Run(g.ctx, chromedp.CaptureScreenshot())
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(filepath.Join(folder, fmt.Sprintf("hour-%02d.png", 5*shots)), png, 0o644))
			shots++
		}
		pause(300 * time.Millisecond)
	}
	t.Logf("%d minutes: %v", minutes, g.did)
	require.Positive(t, g.did["Answer"])
	entries := 0
	all := func(yield func(block.Entry, error) bool) {
		for x, err := range e.live.Entries(t.Context()) {
			entries++
			if !yield(x, err) {
				return
			}
		}
	}
	for f, err := range review.Of(e.live.Rules(), all) {
		require.NoError(t, err)
		t.Logf("%s %s %s at %s: %s", f.Rule, f.Box, f.Severity, e.live.District().At(f.At).Format("15:04:05"), f.Says)
		require.NotEqual(t, block.Dangerous, f.Severity)
	}
	t.Logf("%d entries", entries)
}
