package web_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/web/sitting"
)

// J1, J4: visitors see the line, what each signal says in words a second at most after it, and a train where the bells
// put it, "believed" until it has passed complete. There is nothing to press.
func TestVisitorsSeeWhatTheBellsMean(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	screen := tablet(t, b, "a visitor", e.at+"/visitors", 1920, 1080)
	screen.until(`document.querySelector(".last").textContent === "The bells are quiet."`)
	require.Zero(t, eval[int](screen, `document.querySelectorAll("button, a, input, form").length`), "nothing can be pressed")
	require.True(t, eval[bool](screen, `document.body.textContent.includes("must never be the only protection")`))
	ul := tablet(t, b, "Ullathwick", e.at, 1024, 768)
	oss := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	ul.takeDuty("UL")
	oss.takeDuty("OS")
	last := func(words string) { screen.until(`document.querySelector(".last").textContent === ` + quote(words)) }

	ul.ring(oss, pair, "1")
	last("Ullathwick calls Ossenwaite: are you listening?")
	oss.ring(ul, pair, "1")
	last("Ossenwaite answers Ullathwick: I am listening.")
	ul.ring(oss, pair, "4")
	last("Ullathwick asks Ossenwaite: may I send you the express passenger train?")
	screen.until(`document.querySelector(".tag.asked").textContent === "express passenger trainasked for"`)
	oss.ring(ul, pair, "4")
	last("Ossenwaite answers Ullathwick: yes, send the express passenger train.")
	screen.until(`document.querySelector(".tag.promised").textContent === "express passenger trainmay come"`)
	oss.turn(down, "clear")
	ul.ring(oss, pair, "2")
	last("Ullathwick tells Ossenwaite: the train is on its way to you.")
	screen.until(`document.querySelector(".tag.train").textContent === "express passenger trainbelieved here"`)
	oss.ring(ul, pair, "2")
	oss.turn(down, "occupied")
	if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
		screen.shoot(folder, "visitors")
		screen.do(chromedp.EmulateViewport(1920, 1080))
		pause(300 * time.Millisecond)
		png, err := chromedp.Run(screen.ctx, chromedp.CaptureScreenshot())
		require.NoError(t, err)
		require.NoError(t, writeFile(filepath.Join(folder, "visitors-1920x1080.png"), png))
	}
	clear(ul, oss)
	screen.until(`!document.querySelector(".way.train")`)

	// J5: the day grows, and one who comes later has all of it.
	lines := eval[int](screen, `document.querySelectorAll(".day li").length`)
	require.GreaterOrEqual(t, lines, 10)
	late := tablet(t, b, "a late visitor", e.at+"/visitors", 1920, 1080)
	require.Equal(t, eval[string](screen, `document.querySelector(".day").textContent`), eval[string](late, `document.querySelector(".day").textContent`))
}

// J3's half: who looks on from the visitors' screen can do nothing, whatever he sends.
func TestVisitorsCanDoNothing(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	s.duty(ullathwick)
	c := dial(t, s.wire())
	c.say(map[string]any{"kind": "hello", "proto": 1, "sitting": "evening", "box": "", "as": "visitor"})
	require.Equal(t, "welcome", c.next().Kind)
	before, _ := s.live.Snapshot()
	for n, do := range []string{"beat", "turn", "lever", "collar", "train", "remark", "slip", "token", "switch", "duty", "hold"} {
		c.say(map[string]any{"kind": "act", "act": n + 1, "do": do, "circuit": bells, "section": downMain, "show": "clear", "off": true})
		require.Equal(t, "impossible", string(c.until("answer").Ending), do)
	}
	after, _ := s.live.Snapshot()
	require.Equal(t, before, after)
}

func writeFile(path string, text []byte) error { return os.WriteFile(path, text, 0o600) }
