package web_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// Q3: a tablet is laid out with its plungers on the other side, for the other hand, and in plain black and white, by a touch among its bells; it keeps that, and the
// bell is rung as before.
func TestTabletSuitsItsSignaller(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	ul, osT := tablet(t, b, "Ullathwick", e.at, 1024, 768), tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	ul.takeDuty("UL")
	osT.takeDuty("OS")
	side := `(() => { const b = document.querySelector('tl-bell[data-circuit="UL-OS"]'); return b.querySelector(".plunger").getBoundingClientRect().left < b.querySelector(".reading").getBoundingClientRect().left; })()`
	require.True(t, eval[bool](osT, side))
	colour := `getComputedStyle(document.querySelector(".dial")).backgroundColor`
	require.NotEqual(t, "rgb(255, 255, 255)", eval[string](osT, colour))
	for _, choice := range []string{"mirrored", "contrast"} {
		osT.press("nav .bells")
		osT.until(`!document.querySelector(".strip.bells").hidden`)
		osT.press(`.strip.bells a[href^="?` + choice + `="]`)
		osT.until(`document.body && document.body.classList.contains("` + choice + `") && window.taillampShelf && taillampShelf.shown`)
	}
	require.False(t, eval[bool](osT, side), "the plunger, on the left before, stands on the right")
	require.Equal(t, "rgb(255, 255, 255)", eval[string](osT, colour))
	require.Equal(t, "/s/demo/box/OS", eval[string](osT, "location.pathname + location.search"))
	ul.ring(osT, "UL-OS", "1")
	osT.ring(ul, "UL-OS", "1")
	if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
		osT.shoot(folder, "left")
	}
}
