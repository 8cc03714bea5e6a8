package web_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// A6: the box page leads to the printed card of the codes of that box's bells: each with its beats, its meaning and
// whether attention is called first, and nothing that could ring them. The codes are those of the regulations reference,
// bell-codes.md; those checked here stand in absolute-block.md 4.2 too.
func TestCodeCard(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	os := tablet(t, b, "Ossenwaite", e.at+"/s/demo/box/OS", 1024, 768)
	address := eval[string](os, `Array.from(document.querySelectorAll("nav a")).find((a) => a.textContent === "Codes").href`)
	card := tablet(t, b, "the card", address, 1024, 768)
	lines := eval[[][]string](card, `Array.from(document.querySelectorAll(".sheet tbody tr")).map((r) => Array.from(r.children).map((c) => c.textContent.trim()))`)
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	require.Len(t, lines, len(r.Circuits()[0].Book.Codes), "one card: all its bells share a book")
	want := map[string][]string{
		"4": {"A express passenger", "ahead", "first"}, "3-1": {"B ordinary passenger", "ahead", "first"},
		"1": {"call attention", "either way", "not called"}, "2": {"train entering section", "ahead", "not called"},
		"6": {"obstruction danger", "either way", "not called"},
	}
	for _, line := range lines {
		if w, ok := want[line[0]]; ok {
			require.True(t, strings.HasPrefix(line[1], w[0]), "%v", line)
			require.Equal(t, w[1:], line[2:], "%v", line)
			delete(want, line[0])
		}
	}
	require.Empty(t, want)
	require.Zero(t, eval[int](card, `document.querySelectorAll("button, form, script, input").length`), "nothing on it sends anything")
	for _, s := range sizes() {
		card.do(chromedp.EmulateViewport(s.width, s.height, chromedp.EmulateTouch))
		require.LessOrEqual(t, eval[float64](card, "document.scrollingElement.scrollWidth"), float64(s.width), s.name)
		require.Empty(t, eval[[]string](card, smallTargets), s.name)
	}
}
