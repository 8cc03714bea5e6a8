package web_test

import (
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/web"
	"taillamp/web/sitting"
)

// C11: with a train in each section Ossenwaite is handed to a simulated signaller and taken back three times. Every bell
// is answered, both trains are worked to their end, and nobody finds anything in the record.
func TestBoxIsHandedOverWithTrainsInSection(t *testing.T) {
	e := open(t, "tiny", func(h *block.Header) {
		h.Layout = strings.Replace(h.Layout, `starts = "15:30"`, `starts = "15:40"`, 1)
		h.Layout = strings.Replace(h.Layout, "speed  = 1", "speed  = 6", 1)
		h.Times = strings.Replace(h.Times, "3,1,OS,,,,16.45½", "3,1,OS,,,,15.42", 1) // an up train beside the first down one
		h.Times = strings.Replace(h.Times, "3,2,UL,Up Main,16.53", "3,2,UL,Up Main,15.49½", 1)
	})
	g := &guide{tab: tablet(t, browser(t), "OS", e.at, 1024, 768), did: map[string]int{}}
	g.takeDuty("OS")
	require.NoError(t, e.live.Employ(t.Context(), 1, []block.BoxID{"OS"}))
	g.press("nav .advice")
	seen := func(ok func(block.View) bool) func() bool {
		return func() bool {
			_, state := e.live.Snapshot()
			return ok(e.live.Rules().View(state, "OS"))
		}
	}
	lines := func(standing string) func() bool {
		return seen(func(v block.View) bool {
			for _, l := range v.Shelf[0].Lines {
				if l.Standing != standing {
					return false
				}
			}
			return true
		})
	}
	since := map[string]time.Time{}
	works := func(done func() bool) {
		t.Helper()
		for end := time.Now().Add(6 * patience); !done(); {
			require.True(t, time.Now().Before(end), "he does not come on: %v, advised %q", g.did, g.advised())
			g.act()
			g.lamps(since)
			pause(200 * time.Millisecond)
		}
	}
	works(lines("LINE"))
	for range 3 {
		g.press("nav .off-duty")
		g.press("nav .off-duty")
		g.until(`!!document.querySelector('button.take[data-box="OS"]') && document.readyState === "complete"`)
		for !seen(func(v block.View) bool { return v.OnDuty })() {
			pause(50 * time.Millisecond)
		}
		require.Empty(t, irregular(t, e))
		g.takeDuty("OS") // advice, once asked for, is kept
	}
	require.Len(t, acts(t, e, block.Duty), 1+1+4*3, "Ullathwick's signing on, his own, and three times himself off, another on and relieved, himself on")
	works(func() bool {
		arrived := map[block.TrainID]bool{}
		for _, a := range acts(t, e, block.Train) {
			arrived[a.Train] = arrived[a.Train] || a.Where == block.Passes
		}
		return arrived["1"] && arrived["3"] && lines("IDLE")()
	})
	for f, err := range review.Of(e.live.Rules(), e.live.Entries(t.Context())) {
		require.NoError(t, err)
		t.Errorf("%s at %s %s: %s", f.Rule, f.Box, f.At.Format("15:04:05"), f.Says)
	}
}

// G1, G2: a simulated yard whose roads are all taken refuses by silence, and says on the owner's page what it waits for;
// when a train of its own has left a road it accepts. One road, one train: other-methods reference, section 10 (yards).
func TestYardRefusesWhenItIsFull(t *testing.T) {
	e := open(t, "tiny", func(h *block.Header) {
		h.Layout = strings.Replace(h.Layout, `starts = "15:30"`, `starts = "16:24"`, 1)
		h.Layout = strings.Replace(h.Layout, "speed  = 1", "speed  = 20", 1)
		h.Layout = strings.Replace(h.Layout, `id = "OS"`, "id = \"OS\"\nroads = 4\naccepts = \"road\"", 1) // nos. 3, 8, 9 and 12 stand there
	})
	key := sitting.NewOwnerKey()
	server := httptest.NewServer(web.New(web.Config{Live: e.live, Owner: key}))
	t.Cleanup(server.Close)
	b := besides(t)
	owner := tablet(t, b, "the owner", onShed(t, server.URL)+"/owner#"+key, 1024, 768)
	owner.until(`document.querySelector(".rows")`)
	ul := tablet(t, b, "Ullathwick", e.at, 1024, 768)
	ul.takeDuty("UL")
	require.NoError(t, e.live.Employ(t.Context(), 1, []block.BoxID{"UL"}))
	says := func(code string) { t.Helper(); ul.until(heardJS(pair) + `.indexOf("heard ` + code + ` at ") === 0`) }
	waits := `document.querySelector('[data-box="OS"]').innerText`

	ul.hand(pair, "1", 250*time.Millisecond)
	says("1")
	ul.hand(pair, "3-1", 250*time.Millisecond)
	owner.until(waits + `.includes("waits for a free road: all 4 are taken or promised, and no train is accepted")`)
	owner.until(waits + `.includes("has not answered Ullathwick")`)
	owner.until(waits + `.includes("no. 8 waits for")`)
	shots(owner, "owner-yard")(t)

	// No. 8 goes, and with it a road is free.
	answered := ul.firstHeard(pair)
	ul.until(firstHeardJS(pair) + " !== " + quote(answered))
	says("1")
	ul.hand(pair, "1", 250*time.Millisecond)
	says("4")
	ul.hand(pair, "4", 250*time.Millisecond)
	ul.turn("UL-OS Up Main", "clear")
	says("2")
	ul.hand(pair, "2", 250*time.Millisecond)
	ul.turn("UL-OS Up Main", "occupied")
	owner.until(`!` + waits + `.includes("waits for a free road")`)
	pause(2 * time.Second)
	ul.hand(pair, "1", 250*time.Millisecond)
	says("1")
	ul.hand(pair, "3-1", 250*time.Millisecond)
	says("3-1")
	ul.shows(down, "clear")
	left, accepted := 0, 0
	at := 0
	for x, err := range e.live.Entries(t.Context()) {
		require.NoError(t, err)
		at++
		switch a := x.Event; {
		case a.Do == block.Train && a.Where == block.Leaves && a.Train == "8":
			left = at
		case a.Do == block.Turn && a.By == "OS" && a.Show == block.Clear:
			accepted = at
		}
	}
	require.Positive(t, left)
	require.Greater(t, accepted, left, "accepted only when no. 8 had left its road")
}
