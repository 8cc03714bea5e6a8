package web_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/web"
)

// axeCore is the text of the accessibility checker, which .ci/run fetches and TAILLAMP_AXE may name.
func axeCore(t *testing.T) string {
	t.Helper()
	path := os.Getenv("TAILLAMP_AXE")
	if path == "" {
		path = filepath.Join("..", ".ci", "cache", "axe.min.js")
	}
	text, err := os.ReadFile(path)
	if os.Getenv("TAILLAMP_AXE") == "" && os.IsNotExist(err) {
		t.Skip("axe-core has not been fetched: .ci/run does it")
	}
	require.NoError(t, err)
	return string(text)
}

// Q3: axe-core (npm package axe-core, a check of the published guidelines WCAG 2) finds nothing serious or critical on any
// page, at a tablet's size and at a phone's. What it finds that is less is printed.
func TestAxeFindsNothingSerious(t *testing.T) {
	b := besides(t)
	axe := axeCore(t)
	e := open(t, "lathermoor", nil)
	at, key := owned(t, web.Config{Live: e.live})
	p := tablet(t, b, "axe", at+"/owner#"+key, 1024, 768)
	p.until(`document.querySelector(".rows")`)
	os := tablet(t, b, "Ossenwaite", at, 1024, 768)
	os.takeDuty("OS")
	for _, path := range []string{"/", "/owner", "/words", "/lessons", "/s/demo/owner", "/s/demo/owner/learners", "/s/demo/box/OS", "/s/demo/box/UL", "/s/demo/book/OS", "/s/demo/forms/OS", "/s/demo/codes/OS",
		"/s/demo/findings", "/s/demo/evening", "/s/demo/graph", "/s/demo/moment?entry=1", "/s/demo/practice/OS", "/s/demo/visitors", "/s/demo/two",
		"/s/demo/two?a=OS&b=UL", "/s/demo/hand/OS", "/s/demo/hand/OS?laid"} {
		for _, wrote := range map[string][]string{"/s/demo/hand/OS": {"do=take+up", "begins=down&train=3-1"}, "/s/demo/hand/OS?laid": {"do=lay+down"}}[path] {
			require.Equal(t, 200, eval[int](os, `(() => { const x = new XMLHttpRequest(); x.open("POST", "/s/demo/hand/OS", false);
				x.setRequestHeader("Content-Type", "application/x-www-form-urlencoded"); x.send("`+wrote+`"); return x.status; })()`))
		}
		for _, s := range []size{{"1024x768", 1024, 768}, {"390x844", 390, 844}} {
			p.do(chromedp.EmulateViewport(s.width, s.height, chromedp.EmulateTouch))
			p.open(at + path)
			p.until(`document.readyState === "complete"`)
			eval[int](p, `(() => { `+axe+`; window.axeSaid = null;
				axe.run(document, {iframes: false}).then((r) => { window.axeSaid = r; }, (why) => { window.axeSaid = {broken: String(why), violations: [], passes: []}; }); return 0; })()`)
			p.until(`window.axeSaid`)
			require.Empty(t, eval[string](p, `window.axeSaid.broken || ""`))
			t.Logf("%s at %s: %d checks passed", path, s.name, eval[int](p, `axeSaid.passes.length`))
			require.Positive(t, eval[int](p, `axeSaid.passes.length`), path)
			const told = `.map((v) => v.impact + " " + v.id + ": " + v.help + " | " + v.nodes.slice(0, 3).map((n) => n.target + " " + (n.any.concat(n.all)[0] || {message: ""}).message).join(" ; "))`
			for _, less := range eval[[]string](p, `axeSaid.violations.filter((v) => v.impact !== "serious" && v.impact !== "critical")`+told) {
				t.Logf("  less: %s", less)
			}
			for _, bad := range eval[[]string](p, `axeSaid.violations.filter((v) => v.impact === "serious" || v.impact === "critical")`+told) {
				t.Errorf("%s at %s: %s", path, s.name, bad)
			}
		}
	}
}
