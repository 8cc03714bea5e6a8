package web_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// signs is everything on a box page that tells a state and is no colour: words, where the needle points, what a screen
// reader is told, what is hidden.
const signs = `(() => {
	const line = document.querySelector('tl-needle[data-section="UL-OS Down Main"]');
	const collar = line.querySelector(".collar");
	const danger = document.querySelector(".emergency");
	return [line.querySelector(".word").textContent, getComputedStyle(line.querySelector(".needle")).transform,
		getComputedStyle(collar).display + collar.textContent, danger.hidden ? "" : danger.textContent].join("|");
})()`

// Q2: no state of the shelf is told by colour alone. With all colour taken from the page the needle's three positions,
// the collar and six beats each change a word or a place.
func TestNothingIsToldByColourAlone(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	_ = eval[int](os, `(document.documentElement.style.filter = "grayscale(1)", 0)`)
	seen := make(map[string]string)
	look := func(state string) {
		t.Helper()
		pause(400 * time.Millisecond) // a needle takes a moment to swing
		s := eval[string](os, signs)
		if was, again := seen[s]; again {
			t.Errorf("%s looks like %s without colour: %s", state, was, s)
		}
		seen[s] = state
	}
	look("line blocked")
	for _, show := range []string{"clear", "occupied"} {
		os.turn(down, show)
		os.shows(down, show)
		look(show)
	}
	os.turn(down, "blocked")
	os.shows(down, "blocked")
	os.tap(`.reminder[data-section="`+down+`"]`, 30*time.Millisecond)
	os.until(`document.querySelector('.reminder[data-section="` + down + `"]').getAttribute("aria-pressed") === "true"`)
	look("collar on")
	ul.ring(os, pair, "6")
	look("six beats")
	require.Len(t, seen, 5)
}
