package web_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/web"
)

// C11: with a train in each section Ossenwaite is handed to a simulated signaller and taken back three times, and handed
// over for good. Every bell is answered, both trains are worked to their end, and nobody finds anything in the record.
func TestBoxIsHandedOverWithTrainsInSection(t *testing.T) {
	e := open(t, "tiny", func(h *block.Header) {
		h.Layout = strings.Replace(h.Layout, `starts = "15:30"`, `starts = "15:40"`, 1)
		h.Layout = strings.Replace(h.Layout, "speed  = 1", "speed  = 6", 1)
		for _, x := range [][2]string{{"1,1,UL,,,,15.42", "1,1,UL,,,,15.44"}, {"1,2,OS,Down Main,15.47", "1,2,OS,Down Main,15.49"},
			{"3,1,OS,,,,16.45½", "3,1,OS,,,,15.44"}, {"3,2,UL,Up Main,16.53", "3,2,UL,Up Main,15.51½"}} { // an up train beside the first down one
			require.Contains(t, h.Times, x[0])
			h.Times = strings.Replace(h.Times, x[0], x[1], 1)
		}
	})
	const up = "UL-OS Up Main"
	p := tablet(t, browser(t), "OS", e.at, 1024, 768)
	p.takeDuty("OS")
	require.NoError(t, e.live.Employ(t.Context(), 1, []block.BoxID{"OS"}))
	view := func() block.View {
		_, state := e.live.Snapshot()
		return e.live.Rules().View(state, "OS")
	}
	await := func(what string, ok func(block.View) bool) {
		t.Helper()
		for end := time.Now().Add(6 * patience); !ok(view()); pause(50 * time.Millisecond) {
			require.True(t, time.Now().Before(end), "it never came true that %s", what)
		}
	}
	each := func(ok func(block.LineView) bool) func(block.View) bool {
		return func(v block.View) bool { return ok(v.Shelf[0].Lines[0]) && ok(v.Shelf[0].Lines[1]) }
	}
	says := func(code string) { t.Helper(); p.until(heardJS(pair) + `.indexOf("heard ` + code + ` at ") === 0`) }
	answer := func(code string) { t.Helper(); says(code); p.hand(pair, code, 250*time.Millisecond) }

	p.hand(pair, "1", 250*time.Millisecond)
	says("1")
	p.hand(pair, "1-4", 250*time.Millisecond)
	says("1-4")
	p.shows(up, "clear")
	answer("1")
	answer("3-1")
	p.turn(down, "clear")
	p.shows(down, "clear")
	answer("2")
	p.turn(down, "occupied")
	p.shows(down, "occupied")
	await("the freight train has left", func(v block.View) bool {
		return v.Shelf[0].Lines[0].Going || v.Shelf[0].Lines[1].Going
	})
	pause(3 * time.Second) // what he has answered is at its end
	before := p.firstHeard(pair)
	p.hand(pair, "2", 250*time.Millisecond)
	p.until(firstHeardJS(pair) + " !== " + quote(before))
	says("2")
	p.shows(up, "occupied")
	require.True(t, each(func(l block.LineView) bool { return l.Standing == "LINE" })(view()))

	leaves := func() {
		t.Helper()
		p.press("nav .off-duty")
		p.press("nav .off-duty")
		p.until(`!!document.querySelector('button.take[data-box="OS"]') && document.readyState === "complete"`)
		await("a simulated signaller is there", func(v block.View) bool { return v.OnDuty })
	}
	for range 3 {
		leaves()
		p.takeDuty("OS")
	}
	require.Len(t, acts(t, e, block.Duty), 1+1+4*3, "Ullathwick's signing on, his own, and three times himself off, another on and relieved, himself on")
	leaves()
	await("both trains have been worked to their end", each(func(l block.LineView) bool { return l.Standing == "IDLE" && l.Shows == block.Blocked }))
	passed := map[block.TrainID]bool{}
	for _, a := range acts(t, e, block.Train) {
		passed[a.Train] = passed[a.Train] || a.Where == block.Passes
	}
	require.True(t, passed["1"] && passed["3"], "%v", passed)
	for f, err := range review.Of(e.live.Rules(), e.live.Entries(t.Context())) {
		require.NoError(t, err)
		t.Errorf("%s at %s %s: %s", f.Rule, f.Box, f.At.Format("15:04:05"), f.Says)
	}
}

// G1, G2: a simulated yard whose roads are all taken refuses by silence, and says on the owner's page what it waits for;
// when a train of its own has left a road it accepts. One road, one train: other-methods reference, section 10 (yards).
func TestYardRefusesWhenItIsFull(t *testing.T) {
	b := besides(t)
	e := open(t, "tiny", func(h *block.Header) {
		h.Layout = strings.Replace(h.Layout, `starts = "15:30"`, `starts = "16:24"`, 1)
		h.Layout = strings.Replace(h.Layout, "speed  = 1", "speed  = 20", 1)
		h.Layout = strings.Replace(h.Layout, `id = "OS"`, "id = \"OS\"\nroads = 4\naccepts = \"road\"", 1) // nos. 3, 8, 9 and 12 stand there
	})
	shedAt, key := owned(t, web.Config{Live: e.live})
	owner := tablet(t, b, "the owner", shedAt+"/owner#"+key, 1024, 768)
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
	require.Eventually(t, func() bool {
		return slices.ContainsFunc(acts(t, e, block.Train), func(a block.Event) bool { return a.Train == "8" && a.Where == block.Leaves })
	}, 2*time.Minute, 100*time.Millisecond, "it goes when it is booked to, not before")
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
