package web_test

import (
	"fmt"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web"
)

// L1, L3: a signaller at home, 150 ms there and back, shows the key of his box, and works a train through the whole cycle
// with one in the shed, at whom every gap of his codes is as long as under his finger, and longer by 30 ms at most. His
// tablet says how the line is; a link with the key does not keep it.
func TestABoxIsWorkedFromHome(t *testing.T) {
	e := open(t, "lathermoor", nil)
	server := httptest.NewServer(web.New(web.Config{Live: e.live, Keys: map[block.BoxID]string{"UL": keyOfUL}}))
	t.Cleanup(server.Close)
	at := onShed(t, server.URL)
	network, far := badNetwork(t, at, 0)
	network.always = 75 * time.Millisecond
	b := browser(t)
	os := tablet(t, b, "Ossenwaite", at, 1024, 768)
	os.takeDuty("OS")
	os.until(`document.querySelector(".reach").textContent === "line good"`)

	ul := tablet(t, b, "Ullathwick", far, 1024, 768)
	ul.press(`button.take[data-box="UL"]`)
	ul.until(`location.pathname === "/s/demo/key/UL" && document.querySelector("form.key input") && document.readyState === "complete"`)
	shots(ul, "boxkey")(t)
	eval[int](ul, `(document.querySelector("form.key input").value = "AAAAA-BBBBB", 0)`)
	ul.press("form.key button")
	ul.until(`document.querySelector(".says.on") && document.querySelector(".says").textContent.includes("not the key")`)
	ul.open("about:blank")
	ul.open(far + "/s/demo/key/UL#" + keyOfUL)
	ul.until(`document.querySelector("form.key input") && document.querySelector("form.key input").value === ` + quote(keyOfUL) + ` && location.hash === ""`)
	ul.press("form.key button")
	ul.until(`location.pathname === "/s/demo/box/UL" && document.querySelector("tl-bell")`)
	ul.hear()
	ul.until(`document.querySelector(".reach").textContent === "line slow"`)
	shots(ul, "far")(t)
	pause(time.Second) // eight clock exchanges, 100 ms apart

	eval[int](ul, `(() => { window.fingers = []; addEventListener("pointerdown", (e) => window.fingers.push(e.timeStamp), true); return 0; })()`)
	for _, code := range []string{"3-1", "1-3-1"} {
		beats, err := block.ParseBeats(code)
		require.NoError(t, err)
		eval[int](ul, "window.fingers.length = 0")
		eval[int](os, "window.taillampPlayed.length = 0")
		ul.hand(pair, code, 300*time.Millisecond)
		os.until(fmt.Sprintf("window.taillampPlayed.length >= %d", beats.Total()))
		fingers, played := eval[[]float64](ul, "window.fingers"), eval[[]stroke](os, "window.taillampPlayed")
		measured := 0
		for i := 1; i < beats.Total(); i++ {
			finger, ear := fingers[i]-fingers[i-1], 1000*(played[i].When-played[i-1].When)
			require.GreaterOrEqual(t, ear, finger-2, "%s: gap %d was squeezed", code, i)
			if !played[i].Late {
				measured++
				require.LessOrEqual(t, ear, finger+30, "%s: gap %d was stretched", code, i)
			}
		}
		t.Logf("%s from 150 ms away: %d of %d gaps came in time, each within 30 ms", code, measured, beats.Total()-1)
		require.GreaterOrEqual(t, 2*measured, beats.Total()-1)
		pause(4 * time.Second) // two codes, not one
	}
	accept(ul, os, "3-1")
	send(ul, os)
	clear(ul, os)
}

// L3: a line that takes over 400 ms for half a minute says what to do, and lost time is counted.
func TestAPoorLineSaysSo(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	p := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	p.takeDuty("OS")
	p.until(`taillampShelf.far`)
	eval[int](p, `(taillampShelf.far.took(500), 0)`)
	require.Equal(t, "line poor", eval[string](p, `document.querySelector(".reach").textContent`))
	require.True(t, eval[bool](p, `document.querySelector(".strip.poor").hidden`), "not at once")
	eval[int](p, `(taillampShelf.far.poor -= 30000, taillampShelf.far.took(500), 0)`)
	require.False(t, eval[bool](p, `document.querySelector(".strip.poor").hidden`))
	shots(p, "poor")(t)
	eval[int](p, `(taillampShelf.far.took(50), 0)`)
	require.True(t, eval[bool](p, `document.querySelector(".strip.poor").hidden`))
	eval[int](p, `(taillampShelf.wire.drop(), 0)`)
	p.until(`document.querySelector(".reach").textContent === "line lost" || taillampShelf.far.lost > 0`)
	p.until(`taillampShelf.far.lost > 0 && document.querySelector(".reach").textContent === "line good"`)
}
