package web_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// A15: from the owner's command to a guest's first heard bell. The owner types one command; the guest opens the address,
// takes a box and says that he heard its bell. What the guest had to press is counted, and the seconds are in the log: the
// machine may be busy, so they are told and not asked for.
func TestFromTheCommandToTheFirstBell(t *testing.T) {
	b := browser(t)
	p := build(t)
	typed := time.Now()
	p.start()
	answers := time.Since(typed)
	guest := tablet(t, b, "a guest", fmt.Sprintf("http://%s:%d", shed, p.port), 390, 844)
	presses := 0
	press := func(selector string) {
		guest.until(`document.querySelector('` + selector + `') && !document.querySelector('` + selector + `').hidden`)
		guest.press(selector)
		presses++
	}
	press(`button.take[data-box="OS"]`)
	guest.until(`document.querySelector(".try") && !document.querySelector(".try").hidden && /This is the bell from/.test(document.querySelector(".ask").textContent)`)
	press(".try .yes")
	heard := time.Since(typed)
	require.LessOrEqual(t, presses, 6)
	t.Logf("the program answers after %.1f s; the guest has heard his first bell after %.1f s and %d presses", answers.Seconds(), heard.Seconds(), presses)
}
