package web_test

import (
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// D13, B13: the signaller of a box writes across the page of his own book, fog above all, and it stands there with its
// time; nobody writes in a book that he does not work.
func TestRemarkIsWrittenAcrossThePage(t *testing.T) {
	e := open(t, "lathermoor", nil)
	ul, os := working(t, e)
	book := tablet(t, os.ctx, "the book", e.at+"/s/demo/book/OS", 1024, 768)
	book.press(".pen input")
	for _, letter := range "Fog & snow." {
		book.do(chromedp.KeyEvent(string(letter)))
	}
	require.Empty(t, eval[[]string](book, smallTargets))
	book.do(chromedp.KeyEvent("\r"))
	book.until(`Array.from(document.querySelectorAll("td.across")).some((c) => /^\d+\.\d\d½? Fog & snow\.$/.test(c.textContent))`)
	book.until(`document.querySelector(".pen input").value === ""`)
	remarks := acts(t, e, block.Remark)
	require.Len(t, remarks, 1)
	require.Equal(t, block.BoxID("OS"), remarks[0].By)
	require.Equal(t, "Fog & snow.", remarks[0].Words)

	look := tablet(t, ul.ctx, "the book of another box", e.at+"/s/demo/book/SK", 1024, 768)
	look.until(`document.body.classList.contains("looking")`)
	require.Equal(t, "none", eval[string](look, `getComputedStyle(document.querySelector(".pen")).display`))
	post := func(box, words string) int {
		return eval[int](look, `(() => { const x = new XMLHttpRequest(); x.open("POST", "/s/demo/remark/`+box+`", false);
			x.setRequestHeader("Content-Type", "application/x-www-form-urlencoded"); x.send("words=" + `+quote(words)+`); return x.status; })()`)
	}
	require.Equal(t, 403, post("SK", "fog"))
	require.Equal(t, 400, post("SK", " "))
	require.Len(t, acts(t, e, block.Remark), 1)
}
