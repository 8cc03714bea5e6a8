package web_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// Q14, H6, J5: whatever page is printed by the browser is ink on white, has nothing on it that is only there to be touched,
// loses nothing at its edge and says what the tool is not. The graph lies on its side, A4 (ISO 216).
func TestPagesAreSheetsWhenPrinted(t *testing.T) {
	b := besides(t)
	e := open(t, "tiny", nil)
	yes := true
	for name, path := range map[string]string{
		"findings": "/s/demo/findings", "forms": "/s/demo/forms/OS", "graph": "/s/demo/graph", "evening": "/s/demo/evening", "codes": "/s/demo/codes/OS",
		"beside": "/s/demo/beside", "lessons": "/lessons", "words": "/words", "question": "/question", "strip": "/s/demo/visitors",
	} {
		t.Run(name, func(t *testing.T) {
			p := tablet(t, b, name, e.at+path, 718, 1000) // 190 mm by 265 mm at 96 to the inch: A4 less its margins
			p.until(`document.readyState === "complete"`)
			_, err := chromedp.Call(p.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
			require.NoError(t, err)
			require.Equal(t, "none", eval[string](p, `[document.documentElement, document.body, document.querySelector("main")].map((e) => getComputedStyle(e))
				.filter((s) => s.backgroundImage !== "none" || !/^rgba?\(0, 0, 0, 0\)|255, 255, 255|transparent/.test(s.backgroundColor)).map((s) => s.backgroundColor).join() || "none"`))
			require.Equal(t, "", eval[string](p, `Array.from(document.querySelectorAll("nav, button, a.button, input, textarea"))
				.filter((e) => e.getClientRects().length).map((e) => e.outerHTML.slice(0, 60)).join()`))
			foot := eval[string](p, `(() => { const f = document.querySelector(".safety"), s = getComputedStyle(f); return f.getClientRects().length + " " + s.color + " " + f.textContent; })()`)
			require.True(t, strings.HasPrefix(foot, "1 rgb(0, 0, 0) For hobby and training only"), foot)
			require.Equal(t, "", eval[string](p, `Array.from(document.querySelectorAll("h1, h2, h3, p, li, th, td, dd, dt"))
				.filter((e) => e.getClientRects().length && e.getBoundingClientRect().right > innerWidth + 1).map((e) => e.textContent.slice(0, 40)).join()`))
			sheet, err := chromedp.Call(p.ctx, page.PrintToPDF, page.PrintToPDFParams{PreferCSSPageSize: &yes, PrintBackground: &yes})
			require.NoError(t, err)
			if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
				require.NoError(t, os.WriteFile(filepath.Join(folder, "sheet-"+name+".pdf"), sheet.Data, 0o644))
			}
			if name == "graph" {
				require.Regexp(t, `/MediaBox\s*\[\s*0 0 841\.\d+ 59[45]`, string(sheet.Data))
			}
		})
	}
}
