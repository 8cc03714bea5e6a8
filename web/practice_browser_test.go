package web_test

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// G7, G8: by ear a bell of the box rings a code and the guest names it; what he missed comes again in the same turn. By
// hand he taps the code of a meaning and sees his beats beside a good hand's. No other box hears any of it.
func TestBellPractice(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	_, before := e.live.Snapshot()
	p := tablet(t, b, "a guest", e.at+"/s/demo/practice/OS", 1024, 768)
	p.press(`[data-way="ear"]`)
	p.until(`document.querySelectorAll(".answers button").length === 4`)
	p.until(`document.querySelector(".asked").textContent === "What does the bell say?"`)
	missed := eval[string](p, `taillampRang`)
	p.press(`.answers button:not([data-key="` + keyOf(p) + `"])`)
	p.until(`document.querySelector(".told").textContent.includes("Listen again")`)
	p.press(`.answers button[data-key="` + keyOf(p) + `"]`)
	p.until(`!document.querySelector(".on").hidden`)
	if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
		p.shoot(folder, "practice-ear")
	}
	heard := []string{missed}
	for range 5 { // four more new ones, and the one that was missed
		p.press(".turn .on")
		p.until(`document.querySelector(".on").hidden && !document.querySelector(".answers button[disabled]")`)
		heard = append(heard, eval[string](p, `taillampRang`))
		p.press(`.answers button[data-key="` + keyOf(p) + `"]`)
		p.until(`!document.querySelector(".on").hidden`)
	}
	require.Equal(t, missed, heard[5], "what was missed comes round again in the same turn")
	p.press(".turn .on")
	p.until(`document.querySelector(".begin p").textContent === "You knew 5 of 6 at once. These come round again first: ` + missed + `."`)

	p.press(`[data-way="hand"]`)
	p.until(`document.querySelector(".asked").textContent.startsWith("Ring: ")`)
	wanted := eval[string](p, `JSON.parse(document.querySelector("#present").textContent).cards.find((c) => "Ring: " + c.means === document.querySelector(".asked").textContent).code`)
	p.hand("", wanted, 300*time.Millisecond)
	p.until(`!document.querySelector(".on").hidden`)
	require.Contains(t, eval[string](p, `document.querySelector(".told").textContent`), "Read as "+wanted+".")
	require.NotZero(t, eval[int](p, `document.querySelectorAll(".dots .mine circle").length`))
	require.Equal(t, eval[int](p, `document.querySelectorAll(".dots .mine circle").length`), eval[int](p, `document.querySelectorAll(".dots .good circle").length`))
	if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
		p.shoot(folder, "practice-hand")
	}
	p.press(".turn .off")
	_, after := e.live.Snapshot()
	require.True(t, before.Equal(after), "nothing of it goes to the boxes")
}

// keyOf is the code that was rung last.
func keyOf(p *tab) string {
	return eval[string](p, `JSON.parse(document.querySelector("#present").textContent).cards.find((c) => c.code === taillampRang).key`)
}

// The schedule is SM-2. The numbers are worked by hand from its published formulas, P. A. Wozniak, "Optimization of
// learning" (1990), from memory: EF' = EF + (0.1 − (5−q)(0.08 + (5−q)0.02)), at least 1.3; intervals 1, 6, then the last
// times EF; below 3 from the beginning, EF as it was.
func TestScheduleIsThePublishedOne(t *testing.T) {
	b := besides(t)
	e := open(t, "tiny", nil)
	p := tablet(t, b, "a guest", e.at+"/s/demo/practice/OS", 1024, 768)
	p.until(`!!document.querySelector(".begin")`)
	eval[bool](p, `import("/static/schedule.mjs").then((m) => { window.sm2 = m; }), true`)
	p.until(`window.sm2`)
	type card struct {
		Ease           float64
		Run, Days, Due int
	}
	answers := func(qualities string) card {
		return eval[card](p, `(() => { let c = sm2.NEW, day = 100; for (const q of `+qualities+`) { c = sm2.after(c, q, day); day = c.due; } return c; })()`)
	}
	for qualities, want := range map[string]card{
		"[5]":                   {2.6, 1, 1, 101},
		"[4]":                   {2.5, 1, 1, 101},
		"[3]":                   {2.36, 1, 1, 101},
		"[4, 4]":                {2.5, 2, 6, 107},
		"[4, 4, 4]":             {2.5, 3, 15, 122},
		"[5, 5, 5]":             {2.8, 3, 17, 124},
		"[4, 4, 2]":             {2.5, 0, 1, 108},
		"[3,3,3,3,3,3,3,3,3,3]": {1.3, 10, 0, 0},
	} {
		got := answers(qualities)
		require.InDelta(t, want.Ease, got.Ease, 1e-9, qualities)
		require.Equal(t, want.Run, got.Run, qualities)
		if want.Due != 0 {
			require.Equal(t, want.Days, got.Days, qualities)
			require.Equal(t, want.Due, got.Due, qualities)
		}
	}
}

// every is how many seconds the busy neighbour says that he leaves from offer to offer.
const every = `Number(/every (\d+) seconds/.exec(document.querySelector(".asked").textContent)[1])`

// G9: a neighbour who will not wait offers train after train, the sooner the better he is answered; a wrong repetition or a
// minute of silence makes him ring again. The page's own waits are made shorter here; the hand's are not.
func TestBusyNeighbourWillNotWait(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	p := tablet(t, b, "a guest", e.at+"/s/demo/practice/OS", 1024, 768)
	eval[bool](p, `(() => { const t = window.setTimeout; window.setTimeout = (f, ms) => t(f, ms >= 5000 ? ms / 6 : ms); return true; })()`)
	p.press(`[data-way="busy"]`)
	p.until(`/every 40 seconds/.test(document.querySelector(".asked").textContent) && window.taillampRang`)

	// Silence: he rings the same again.
	first := eval[string](p, `taillampRang`)
	p.until(`document.querySelector(".told").textContent === "He rings again."`)
	require.Equal(t, first, eval[string](p, `taillampRang`))

	// A wrong repetition: he rings it again.
	wrong := "4-4"
	p.hand("", wrong, 250*time.Millisecond)
	p.until(`document.querySelector(".told").textContent.includes("he rings again")`)

	// What was missed is accepted in the end, and the next comes no sooner; what is known at once brings the next sooner.
	p.hand("", first, 250*time.Millisecond)
	p.until(`document.querySelector(".told").textContent.endsWith("Accepted.")`)
	p.until(`document.querySelector(".told").textContent === "" || taillampRang !== ` + quote(first))
	require.Equal(t, 40, eval[int](p, every))
	last := 40
	for range 3 {
		code := eval[string](p, `taillampRang`)
		p.hand("", code, 250*time.Millisecond)
		p.until(`taillampRang !== ` + quote(code))
		now := eval[int](p, every)
		require.Less(t, now, last, "he is quicker the better he is answered")
		require.GreaterOrEqual(t, now, 20)
		last = now
	}
	p.press(".turn .off")
	p.until(`document.querySelector(".begin p").textContent.includes("You knew 3 of 4 at once")`)
}
