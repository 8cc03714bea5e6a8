package web_test

import (
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// E8: the signaller of a box answers a finding that is laid to it. The answer stands under the finding and in his book, and
// the finding stands as before; nobody else may answer for him.
func TestFindingIsAnswered(t *testing.T) {
	e := open(t, "tiny", nil)
	_, os := working(t, e)
	os.turn(down, "clear") // R18: line clear for nobody, once it has stood half a minute
	os.shows(down, "clear")
	pause(31 * time.Second)
	os.turn(down, "blocked")
	os.shows(down, "blocked")
	findings := tablet(t, os.ctx, "the findings", e.at+"/s/demo/findings", 1024, 768)
	findings.until(`document.querySelectorAll(".finding .pen").length > 0`)
	before := eval[int](findings, `document.querySelectorAll(".finding").length`)
	require.Empty(t, eval[[]string](findings, smallTargets))
	findings.press(".finding .pen input")
	for _, letter := range "not so" {
		findings.do(chromedp.KeyEvent(string(letter)))
	}
	findings.do(chromedp.KeyEvent("\r"))
	findings.until(`document.querySelector(".answer") && document.querySelector(".answer").textContent === "The signaller says: not so"`)
	require.Equal(t, before, eval[int](findings, `document.querySelectorAll(".finding").length`), "the finding stands")
	remarks := acts(t, e, block.Remark)
	require.Len(t, remarks, 1)
	require.Equal(t, block.BoxID("OS"), remarks[0].By)
	require.Regexp(t, `^Of R\d\d at \d+\.\d\d½?: not so$`, remarks[0].Words)

	answer, err := http.Get(strings.Replace(e.at, shed, "127.0.0.1", 1) + "/s/demo/findings") // by a browser that works no box
	require.NoError(t, err)
	text, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	require.NoError(t, answer.Body.Close())
	require.Contains(t, string(text), "not so")
	require.NotContains(t, string(text), `class="pen"`)
}
