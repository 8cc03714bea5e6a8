package web_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// A15: one command, one owner's tab, one guest's tab. The first bell that a guest hears is his own tablet's, as his ears are tried. The program is really started; what a person must press from then to
// the guest's first heard bell is counted, six at most, and the seconds stand in the log. Seconds fail nothing here: the
// limit is the presses, and a minute holds them many times over.
func TestGuestHearsABellInAMinute(t *testing.T) {
	p := build(t)
	b := browser(t)
	began := time.Now()
	p.start()
	at := onShed(t, fmt.Sprintf("http://127.0.0.1:%d/", p.port))
	presses := 0
	owner := tablet(t, b, "the owner", at+"/", 1024, 768)
	owner.press(`button.take[data-box="UL"]`)
	presses++
	guest := tablet(t, b, "a guest", at+"/", 390, 844)
	guest.tap(`button.take[data-box="OS"]`, 0) // the same press wakes the sound and rings the first bell
	presses++
	guest.until(`document.querySelector(".try") && !document.querySelector(".try").hidden && window.taillampShelf.bells.awake()`)
	guest.until(`document.querySelector(".ask").textContent.includes("This is the bell from Ullathwick")`)
	guest.press(".try .yes") // and he says that he heard it
	presses++
	t.Logf("from the command until the guest has heard his first bell and said so: %d presses, %.1f seconds", presses, time.Since(began).Seconds())
	require.LessOrEqual(t, presses, 6)
}
