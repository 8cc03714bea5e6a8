package web_test

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// F7: at any entry the page has every needle as the record says it stood, forward and back by signal; a finding is shown
// from twenty seconds before it.
func TestStepsThroughTheEvening(t *testing.T) {
	e := lateDay(t)
	shows := map[string]string{} // section → its needle by the record alone
	var entries []block.Entry
	for entry, err := range e.live.Entries(t.Context()) {
		require.NoError(t, err)
		entries = append(entries, entry)
	}
	words := map[block.Aspect]string{block.Blocked: "line blocked", block.Clear: "line clear", block.Occupied: "train on line"}
	checked := 0
	var seq uint64
	out := false // Ullathwick is switched out: Skelderby works with Ossenwaite then, and those lines are not there
	for _, entry := range entries {
		for _, c := range entry.Outcome.Changes {
			if c.Switched != nil && c.Switched.Box == "UL" {
				out = !c.Switched.Open
			}
			if c.Indicator != nil {
				shows[string(c.Indicator.Section)] = words[c.Indicator.Aspect]
				seq = entry.Seq
			}
		}
		if out || seq != entry.Seq || entry.Seq%37 != 0 && checked > 2 {
			continue
		}
		html := fetch(t, e, "/s/late/moment?entry="+strconv.FormatUint(seq, 10))
		require.Contains(t, html, "record "+strconv.FormatUint(seq, 10)+"<")
		for _, l := range []struct{ section, row string }{
			{"SK-UL Down Main", "<th scope=\"row\">Skelderby East to Ullathwick, Down Main</th><td><b>"},
			{"SK-UL Up Main", "<th scope=\"row\">Ullathwick to Skelderby East, Up Main</th><td><b>"},
		} {
			want := shows[l.section]
			if want == "" {
				want = "line blocked"
			}
			require.Contains(t, html, l.row+want+"</b>", "entry %d, %s", seq, l.section)
		}
		checked++
	}
	require.Greater(t, checked, 5)

	// Twenty seconds before.
	at := entries[len(entries)/2]
	html := fetch(t, e, "/s/late/moment?finding="+strconv.FormatUint(at.Seq, 10))
	_, rest, ok := strings.Cut(html, `<b class="time">`)
	require.True(t, ok)
	shown, err := time.Parse("15.04:05", rest[:8])
	require.NoError(t, err)
	before, err := time.Parse("15.04:05", at.Event.At.Format("15.04:05"))
	require.NoError(t, err)
	require.GreaterOrEqual(t, before.Sub(shown), 19*time.Second)

	p := tablet(t, besides(t), "a reader", e.at+"/s/late/moment?entry="+strconv.FormatUint(at.Seq, 10), 1024, 768)
	now := func() string { return eval[string](p, `document.querySelector(".cite").textContent`) }
	first := now()
	p.press("a[rel=next]")
	p.until(`document.querySelector(".cite").textContent !== "` + first + `"`)
	second := now()
	p.press("a[rel=prev]")
	p.until(`document.querySelector(".cite").textContent === "` + first + `"`)
	require.NotEqual(t, first, second)

	// F8: it runs on by itself at twenty times, and stops.
	eval[string](p, `document.querySelector(".running select").value = "20"`)
	p.press(".running button")
	p.until(`document.querySelector(".cite").textContent !== "` + first + `" && document.querySelector(".cite").textContent !== "` + second + `"`)
	p.press(".running button")
	require.Contains(t, eval[string](p, `document.querySelector(".running button").textContent`), "Run on")
}
