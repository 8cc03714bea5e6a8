package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web"
	"taillamp/web/sitting"
)

// evening is a sitting served on the loopback, kept in memory.
type evening struct {
	live *sitting.Live
	at   string // its address as a tablet types it
}

// open begins a sitting of a district that comes with the program. change, if given, alters the header first.
func open(t *testing.T, layout string, change func(*block.Header)) evening {
	t.Helper()
	h, err := block.EmbeddedHeader(layout)
	require.NoError(t, err)
	h.Zone = "Europe/London"
	if change != nil {
		change(&h)
	}
	host := sitting.NewHost(sitting.NewMemory(), sitting.NewRealClock(), "taillamp test")
	live, err := host.Open(t.Context(), "demo", h)
	require.NoError(t, err)
	server := httptest.NewServer(web.New(web.Config{Live: live}))
	t.Cleanup(server.Close)
	t.Cleanup(func() { _ = host.Close(context.WithoutCancel(t.Context())) }) // first: it sends the tablets home
	return evening{live, onShed(t, server.URL)}
}

// onShed is an address of this machine under the name that is no secure context.
func onShed(t *testing.T, address string) string {
	t.Helper()
	u, err := url.Parse(address)
	require.NoError(t, err)
	return "http://" + shed + ":" + u.Port()
}

// tab is one tablet.
type tab struct {
	t   *testing.T
	ctx context.Context
	who string
}

// tablet opens a page in a tab of its own, of that many CSS pixels. Tabs keep their likes and tickets in one place unless a
// way is given to part them, as tablets are.
func tablet(t *testing.T, browser context.Context, who, address string, width, height int64, apart ...chromedp.ContextOption) *tab {
	t.Helper()
	ctx, done := chromedp.NewContext(browser, apart...)
	t.Cleanup(done)
	p := &tab{t, ctx, who}
	require.NoError(t, chromedp.Listen(ctx, func(ev any) {
		if thrown, ok := ev.(*runtime.EventExceptionThrown); ok {
			t.Errorf("%s: the page's script failed: %s", who, thrownWords(thrown.ExceptionDetails))
		}
	}))
	p.do(chromedp.EmulateViewport(width, height, chromedp.EmulateTouch), chromedp.Navigate(address))
	return p
}

func (p *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	require.NoError(p.t, chromedp.Do(p.ctx, steps...), p.who)
}

// open leads the tablet to another page.
func (p *tab) open(address string) {
	p.t.Helper()
	p.do(chromedp.Navigate(address))
}

// eval asks the page for the value of an expression.
func eval[T any](p *tab, expression string) T {
	p.t.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](expression))
	require.NoError(p.t, err, "%s: %s", p.who, expression)
	return v
}

// until waits until an expression is true on the page, also on one that takes its place while it is asked.
func (p *tab) until(expression string) {
	p.t.Helper()
	for end := time.Now().Add(patience); ; {
		is, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool]("!!("+expression+")"))
		if err != nil && !strings.Contains(err.Error(), "navigated or closed") {
			require.NoError(p.t, err, "%s: %s", p.who, expression)
		}
		if is && err == nil {
			return
		}
		if time.Now().After(end) {
			p.t.Fatalf("%s: it never came true that %s; the page says: %s", p.who, expression, eval[string](p, "document.body.innerText"))
		}
		pause(20 * time.Millisecond)
	}
}

// pause lets real time pass: a hand has its rhythm, and a browser cannot be given another clock.
func pause(d time.Duration) { <-time.After(d) }

// point is a place on the page, in CSS pixels.
type point struct{ X, Y float64 }

// middle finds what a selector means and brings it into view.
func (p *tab) middle(selector string) point {
	p.t.Helper()
	js := fmt.Sprintf(`(() => { const e = document.querySelector(%s); if (!e) return null;
		e.scrollIntoView({block: "nearest"}); const r = e.getBoundingClientRect();
		return {X: r.left + r.width / 2, Y: r.top + r.height / 2}; })()`, quote(selector))
	at := eval[*point](p, js)
	require.NotNil(p.t, at, "%s: nothing on the page is %s", p.who, selector)
	return *at
}

func quote(s string) string {
	text, err := json.Marshal(s)
	if err != nil {
		panic(err) // a string can always be written
	}
	return string(text)
}

// press puts the mouse button down on something and lifts it again, once the page has its scripts: a busy machine is slow with
// them, and a hand is not so quick.
func (p *tab) press(selector string) {
	p.t.Helper()
	p.until(`document.readyState === "complete"`)
	at := p.middle(selector)
	p.do(chromedp.MouseClickXY(at.X, at.Y))
}

// finger is one finger on the glass, with the radius of its touch in CSS pixels.
type finger struct {
	at     point
	radius float64
}

// touch puts fingers on the glass; none lifts them all.
func (p *tab) touch(fingers ...finger) {
	p.t.Helper()
	p.touchAt(0, fingers...)
}

// touchAt says when the fingers moved, for a machine too busy to say so at once; 0 is now.
func (p *tab) touchAt(when input.TimeSinceEpoch, fingers ...finger) {
	p.t.Helper()
	what := input.DispatchTouchEventParams{Type: input.DispatchTouchEventTypeTouchStart, TouchPoints: []*input.TouchPoint{}}
	for n, f := range fingers {
		id, radius, force := float64(n), f.radius, 1.0
		what.TouchPoints = append(what.TouchPoints, &input.TouchPoint{X: f.at.X, Y: f.at.Y, RadiusX: &radius, RadiusY: &radius, Force: &force, ID: &id})
	}
	if len(fingers) == 0 {
		what.Type = input.DispatchTouchEventTypeTouchEnd
	}
	what.Timestamp = when
	_, err := chromedp.Call(p.ctx, input.DispatchTouchEvent, what)
	require.NoError(p.t, err, p.who)
}

// tap touches something with one finger for as long as given.
func (p *tab) tap(selector string, held time.Duration) {
	p.t.Helper()
	p.touch(finger{p.middle(selector), 8})
	pause(held)
	p.touch()
}

// takeDuty takes a box at the door and says of every bell that it was heard. It gives back the bells' names.
func (p *tab) takeDuty(box string) []string {
	p.t.Helper()
	p.press(`button.take[data-box="` + box + `"]`)
	return p.hear()
}

// hear answers "did you hear it?" until nothing more is asked.
func (p *tab) hear() []string {
	p.t.Helper()
	p.until(`document.querySelector(".try") && !document.querySelector(".try").hidden`)
	var names []string
	for eval[bool](p, `!document.querySelector(".try").hidden`) {
		asked := eval[string](p, `document.querySelector(".ask").textContent`)
		names = append(names, strings.TrimSuffix(strings.TrimPrefix(asked, "This is the bell from "), ". Did you hear it?"))
		p.press(".try .yes")
		p.until(`document.querySelector(".try").hidden || document.querySelector(".ask").textContent !== ` + quote(asked))
	}
	return names
}

// bell is the selector of a plunger.
func bell(circuit string) string { return `tl-bell[data-circuit="` + circuit + `"] .plunger` }

// hand rings a code by real touches, its beats so far apart and the pause between groups two and a half times as long.
func (p *tab) hand(circuit, code string, beat time.Duration) {
	p.t.Helper()
	at := finger{p.middle(bell(circuit)), 8}
	beats, err := block.ParseBeats(code)
	require.NoError(p.t, err)
	next := time.Now()
	for _, group := range beats {
		for range group {
			pause(time.Until(next))
			p.touchAt(stampOf(next), at)
			p.touch()
			next = next.Add(beat)
		}
		next = next.Add(beat * 3 / 2)
	}
}

// stampOf is a moment as the browser's events have it: seconds since 1970.
func stampOf(t time.Time) input.TimeSinceEpoch {
	return input.TimeSinceEpoch(float64(t.UnixMicro()) / 1e6)
}

// ring rings a code and waits until the other end has heard it as that, and not for the time before.
func (p *tab) ring(to *tab, circuit, code string) {
	p.t.Helper()
	before := to.firstHeard(circuit)
	p.hand(circuit, code, 220*time.Millisecond)
	to.until(firstHeardJS(circuit) + " !== " + quote(before) + " && " + heardJS(circuit) + `.indexOf("heard ` + code + ` at ") === 0`)
}

// firstHeardJS is when the first beat of the last code heard was pressed, as the page has it.
func firstHeardJS(circuit string) string {
	return `(((window.taillampShelf.shown || {shelf: []}).shelf.find((i) => i.circuit === ` + quote(circuit) + `) || {}).heard || {first: ""}).first`
}

func (p *tab) firstHeard(circuit string) string { return eval[string](p, firstHeardJS(circuit)) }

func heardJS(circuit string) string {
	return `document.querySelector('tl-bell[data-circuit="` + circuit + `"] .heard').textContent`
}

// turn touches a word of an indicator.
func (p *tab) turn(section, show string) {
	p.t.Helper()
	p.tap(needle(section)+` [data-show="`+show+`"]`, 30*time.Millisecond)
}

func needle(section string) string { return `tl-needle[data-section="` + section + `"]` }

// shows waits until an indicator stands on a word, on its card and in writing beside it.
func (p *tab) shows(section, show string) {
	p.t.Helper()
	words := map[string]string{"clear": "Line clear", "blocked": "Line blocked", "occupied": "Train on line"}
	p.until(`document.querySelector('` + needle(section) + `').getAttribute("shows") === ` + quote(show) +
		` && document.querySelector('` + needle(section) + ` .word').textContent === ` + quote(words[show]))
}

func thrownWords(d *runtime.ExceptionDetails) string {
	words := fmt.Sprintf("%s at %s:%d", d.Text, d.URL, d.LineNumber+1)
	if d.Exception != nil {
		words += ": " + d.Exception.Description
	}
	return words
}

// owned serves a sitting that has an owner, and gives its address in the shed and his key.
func owned(t *testing.T, c web.Config) (at, key string) {
	t.Helper()
	c.Owner = sitting.NewKey()
	server := httptest.NewServer(web.New(c))
	t.Cleanup(server.Close)
	return onShed(t, server.URL), c.Owner
}
