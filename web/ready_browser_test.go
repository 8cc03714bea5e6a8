package web_test

import (
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// Q6: how long a box page takes from the press to instruments that can be worked, on a processor slowed four times and
// with nothing kept from an earlier visit. The figure is printed, for machines differ: the story asks for a second. What
// is required is that the page works at that pace at all.
func TestPageIsReadyOnASlowTablet(t *testing.T) {
	e := open(t, "lathermoor", fourNeighbours)
	p := tablet(t, browser(t), "an old tablet", e.at, 1024, 768)
	p.takeDuty("OS")
	for _, rate := range []float64{1, 4} {
		_, err := chromedp.Call(p.ctx, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: rate})
		require.NoError(t, err)
		p.open(e.at + "/s/demo/box/OS")
		p.until(`window.taillampShelf && taillampShelf.shown && document.querySelectorAll("tl-needle[shows]").length === 5`)
		painted := eval[float64](p, `(performance.getEntriesByName("first-contentful-paint")[0] || {startTime: 0}).startTime`)
		ready := eval[float64](p, `performance.getEntriesByType("navigation")[0].domContentLoadedEventEnd`)
		t.Logf("processor slowed %g times: first drawn after %.0f ms, its script at work after %.0f ms", rate, painted, ready)
		require.Positive(t, ready)
	}
}
