package web_test

import (
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// beatsOf waits until the sitting has recorded so many beats from a tablet and has answered each.
func (p *tab) beatsOf(e evening, want int) {
	p.t.Helper()
	p.until("taillampShelf.wire.kept.length === 0")
	for end := time.Now().Add(patience); len(acts(p.t, e, block.Beat)) < want && time.Now().Before(end); {
		pause(20 * time.Millisecond)
	}
	require.Len(p.t, acts(p.t, e, block.Beat), want)
}

// B2, Q4: the plunger answers within the very event of the press, with the network dead: it goes down and clacks. A
// second finger, a pen, the space bar and the bell's letter act the same; a palm rings nothing.
func TestPlungerIsFeltAtOnce(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	net, at := badNetwork(t, e.at, 0)
	p := tablet(t, b, "Ossenwaite", at, 1024, 768)
	p.takeDuty("OS")
	p.until(`taillampShelf.bells.buffers.clack.ready`)
	eval[int](p, `(() => {
		const start = AudioBufferSourceNode.prototype.start;
		window.clacks = 0;
		AudioBufferSourceNode.prototype.start = function (...a) { window.clacks++; return start.apply(this, a); };
		const plunger = document.querySelector('`+bell(pair)+`');
		window.felt = [];
		addEventListener("pointerdown", () => { window.before = window.clacks; }, true);
		addEventListener("pointerdown", () => window.felt.push(plunger.classList.contains("down") && window.clacks > window.before));
		return 0;
	})()`)
	middle := p.middle(bell(pair))
	one, other := finger{point{middle.X - 20, middle.Y}, 8}, finger{point{middle.X + 20, middle.Y}, 8}

	p.touch(one)
	p.touch(one, other) // a second finger while the first is still down
	p.touch()
	p.pen(middle)
	p.do(chromedp.Focus(chromedp.CSS(bell(pair))), chromedp.KeyEvent(" "))
	p.do(chromedp.Evaluate[chromedp.Void]("document.activeElement.blur()"), chromedp.KeyEvent("u"))
	p.beatsOf(e, 5)
	p.touch(finger{middle, 120}) // a palm: 240 pixels across
	p.touch()
	require.Equal(t, []bool{true, true, true, false}, eval[[]bool](p, "window.felt"))
	p.beatsOf(e, 5)

	net.die()
	p.touch(one)
	p.touch()
	felt := eval[[]bool](p, "window.felt")
	require.True(t, felt[len(felt)-1], "felt at once, whatever the network does")
}

// pen presses with a stylus.
func (p *tab) pen(at point) {
	p.t.Helper()
	for _, typ := range []input.DispatchMouseEventType{chromedp.MousePressed, chromedp.MouseReleased} {
		_, err := chromedp.Call(p.ctx, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: typ, X: at.X, Y: at.Y,
			Button: input.MouseButtonLeft, ClickCount: 1, PointerType: input.DispatchMouseEventPointerTypePen})
		require.NoError(p.t, err)
	}
}

// B10: one touch puts a collar on an instrument; while it is there no touch turns the needle; a second, separate act
// takes it off. Both are in the record, and the collar is 24 mm of a ten-inch page or more.
func TestCollarReminds(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	p := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	p.takeDuty("OS")
	collar := `.reminder[data-section="` + down + `"]`
	p.tap(collar, 30*time.Millisecond)
	p.until(`document.querySelector('` + needle(down) + `').hasAttribute("collar")`)
	require.GreaterOrEqual(t, eval[float64](p, `document.querySelector('`+needle(down)+` g.collar').getBoundingClientRect().width`), 24*perMillimetre(1024, 768))
	p.tap(needle(down), 30*time.Millisecond)
	at := p.middle(needle(down) + " .face")
	p.touch(finger{point{at.X - 70, at.Y}, 8})
	p.touch()
	p.tap(collar, 30*time.Millisecond)
	p.until(`!document.querySelector('` + needle(down) + `').hasAttribute("collar")`)
	require.Empty(t, acts(t, e, block.Turn), "nothing was turned while the collar was on")
	worked := acts(t, e, block.Collar)
	require.Len(t, worked, 2)
	require.False(t, worked[0].Off)
	require.True(t, worked[1].Off)
}

// A refused or impossible act: the handle springs back and one sentence says why (B15, Q9: at most 25 words).
func TestRefusedActSaysWhy(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	p := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	p.takeDuty("OS")
	p.tap(`tl-lamp[data-section="`+down+`"] button`, 750*time.Millisecond)
	p.until(`document.querySelector('tl-bell[data-circuit="UL-OS"] .says.on')`)
	require.Equal(t, "By the book that train is not there.", eval[string](p, `document.querySelector('tl-bell[data-circuit="UL-OS"] .says').textContent`))
	require.Empty(t, acts(t, e, block.Train))
}

// B6: the needle may be dragged too, and points at what is wanted until the record has it.
func TestNeedleIsDragged(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	p := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	p.takeDuty("OS")
	box := eval[[]float64](p, `(() => { const r = document.querySelector('`+needle(down)+` svg').getBoundingClientRect(); return [r.left, r.top, r.width, r.height]; })()`)
	pivot := point{box[0] + box[2]/2, box[1] + box[3] - 4}
	from, to := point{pivot.X, pivot.Y - 60}, point{pivot.X + 70, pivot.Y - 30}
	p.do(chromedp.MouseEvent(chromedp.MousePressed, from.X, from.Y, chromedp.ButtonLeft),
		chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, to.X, to.Y, chromedp.ButtonLeft))
	require.Equal(t, "occupied", eval[string](p, `document.querySelector('`+needle(down)+`').getAttribute("wants")`))
	require.Equal(t, "blocked", eval[string](p, `document.querySelector('`+needle(down)+`').getAttribute("shows")`), "it moves only on news")
	p.do(chromedp.MouseEvent(chromedp.MouseReleased, to.X, to.Y, chromedp.ButtonLeft))
	p.shows(down, "occupied")
	require.Len(t, acts(t, e, block.Turn), 1)
}
