package web_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// size is a tablet or a phone, in CSS pixels.
type size struct {
	name          string
	width, height int64
}

func sizes() []size {
	return []size{{"1024x768", 1024, 768}, {"800x1280", 800, 1280}, {"390x844", 390, 844}}
}

// TestScreens writes a picture of every page at every size into the folder TAILLAMP_SHOTS, for people to look at.
func TestScreens(t *testing.T) {
	folder := os.Getenv("TAILLAMP_SHOTS")
	if folder == "" {
		t.Skip("TAILLAMP_SHOTS names no folder")
	}
	four := open(t, "lathermoor", fourNeighbours)
	e := open(t, "lathermoor", nil)
	b := browser(t)
	os := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	ul := tablet(t, b, "Ullathwick", e.at, 1024, 768)
	ul.takeDuty("UL")
	os.press(`button.take[data-box="OS"]`)
	os.until(`document.querySelector(".try") && !document.querySelector(".try").hidden`)
	os.shoot(folder, "trial")
	os.hear()
	accept(ul, os, "3-1")
	send(ul, os)
	clear(ul, os)
	accept(ul, os, "4")
	os.shoot(folder, "box")
	os.asks(`tr:last-child td[data-column="accepted"]`)
	os.shoot(folder, "ruling")
	os.press(".ruling .yes")
	os.until(`document.querySelector("tl-book s")`)
	os.press(`.reminder[data-section="OS-HX Up Main"]`)
	os.press(`tl-lamp[data-section="OS-HX Up Main"] button`)
	os.tap(`tl-lamp[data-section="OS-HX Up Main"] button`, 750*time.Millisecond)
	os.until(`document.querySelector(".says.on")`)
	os.shoot(folder, "collar")
	os.press("nav .advice")
	ul.ring(os, "UL-OS", "1")
	os.until(`document.querySelector(".advised")`)
	os.shoot(folder, "advice")
	os.press("nav .advice")
	os.hand("UL-OS", "6", 300*time.Millisecond)
	os.until(`document.body.classList.contains("alarm")`)
	os.shoot(folder, "danger")
	for _, page := range []struct{ name, path string }{{"door", "/"}, {"book", "/s/demo/book/OS"}, {"findings", "/s/demo/findings"}, {"look", "/s/demo/box/TO"}, {"codes", "/s/demo/codes/OS"}, {"words", "/words"}} {
		tablet(t, b, page.name, e.at+page.path, 1024, 768).shoot(folder, page.name)
	}
	learner := tablet(t, b, "a learner", e.at+"/lessons", 1024, 768)
	learner.shoot(folder, "lessons")
	learner.press(`button[data-lesson="10"]`)
	learner.hear()
	learner.until(`document.querySelector(".lesson .goals li")`)
	learner.shoot(folder, "lesson")
	framed := open(t, "lathermoor", levers("free", "tablet"))
	f := tablet(t, b, "a box with levers", framed.at, 1024, 768)
	f.takeDuty("OS")
	f.press(lever("UL-OS Up Main") + " .pulls")
	f.until(over("UL-OS Up Main"))
	f.press(lever("UL-OS Down Main") + " .pulls")
	f.until(over("UL-OS Down Main"))
	f.press(lever("OS-HX Down Main") + " .reminder")
	f.until(`document.querySelector("tl-lever[collar]")`)
	f.shoot(folder, "levers")
	busy := tablet(t, b, "four neighbours", four.at, 1024, 768)
	busy.takeDuty("OS")
	busy.shoot(folder, "four")
	closing := tablet(t, b, "a box with a closing switch", four.at, 1024, 768)
	closing.takeDuty("QU")
	closing.shoot(folder, "closing")
	alone := open(t, "lathermoor", nil)
	require.NoError(t, alone.live.Employ(t.Context(), 1, []block.BoxID{"OS"}))
	tablet(t, b, "a guest", alone.at, 1024, 768).shoot(folder, "alone")
	tablet(t, b, "a visitor", alone.at+"/s/demo/box/UL", 1024, 768).shoot(folder, "visit")
}

// shoot takes a picture of the page at every size.
func (p *tab) shoot(folder, name string) {
	p.t.Helper()
	for _, s := range sizes() {
		p.do(chromedp.EmulateViewport(s.width, s.height, chromedp.EmulateTouch))
		pause(150 * time.Millisecond)
		png, err := chromedp.Run(p.ctx, chromedp.CaptureScreenshot())
		require.NoError(p.t, err)
		require.NoError(p.t, os.WriteFile(filepath.Join(folder, name+"-"+s.name+".png"), png, 0o644))
	}
	p.do(chromedp.EmulateViewport(1024, 768, chromedp.EmulateTouch))
}
