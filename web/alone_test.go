package web_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// One person at OS, everybody else simulated and the trains with them: a simulated neighbour is heard and seen, his train
// is in sight when it comes, and it is worked through its cycle by a hand that knows only what the page shows (G1, B11).
func TestAloneAtOneBox(t *testing.T) {
	e := open(t, "tiny", func(h *block.Header) {
		h.Layout = strings.Replace(h.Layout, `starts = "15:30"`, `starts = "15:38"`, 1)
		h.Layout = strings.Replace(h.Layout, "speed  = 1", "speed  = 20", 1) // trains run twenty times as fast, bells do not
	})
	p := tablet(t, browser(t), "OS", e.at, 1024, 768)
	p.takeDuty("OS")
	require.NoError(t, e.live.Employ(t.Context(), 1, []block.BoxID{"OS"}))
	const line = "UL-OS Down Main"
	says := func(code string) string { return heardJS("UL-OS") + `.indexOf("heard ` + code + ` at ") === 0` }
	answer := func(code string) {
		p.until(says(code))
		p.hand("UL-OS", code, 250*time.Millisecond)
	}
	answer("1")
	answer("3-1")
	p.turn(line, "clear")
	p.shows(line, "clear")
	answer("2")
	p.turn(line, "occupied")
	p.shows(line, "occupied")
	window := `document.querySelector('tl-lamp[data-section="` + line + `"] small').textContent`
	p.until(window + ` === "no. 1 is here: hold"`)
	p.tap(`tl-lamp[data-section="`+line+`"] button`, 750*time.Millisecond)
	p.until(window + ` === "hold"`) // it has been seen whole
	p.hand("UL-OS", "1", 250*time.Millisecond)
	p.until(says("1") + ` && ` + firstHeardJS("UL-OS") + ` !== ""`)
	pause(4 * time.Second) // he has answered, or rings again
	p.hand("UL-OS", "2-1", 250*time.Millisecond)
	p.until(says("2-1"))
	p.turn(line, "blocked")
	p.shows(line, "blocked")
	require.Empty(t, irregular(t, e))
	booked := p.booked()
	for _, column := range []string{"offered_from_rear", "accepted", "entering_section_received", "arrived", "out_of_section_sent"} {
		require.NotEmpty(t, booked[column], "%s: %v", column, booked)
	}
}
