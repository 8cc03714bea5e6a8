package web_test

import (
	"encoding/json"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	paho "github.com/eclipse/paho.mqtt.golang"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/block/review"
	"taillamp/web/sitting"
)

// An evening of the demo with everybody in it, in one shed: the owner at his page, signallers at Ullathwick, Ossenwaite and
// Tolverbeck who do what their tablets advise, a relief who takes over Ossenwaite with a train in section, the visitors'
// screen, and the two ends of the bell between Ullathwick and Ossenwaite as real instruments on the wire, by which both ring
// and hear. The owner deals two cards. The program is the real one, and so are six tabs, the broker and the clock, which goes
// six times as fast as the railway's. Afterwards nothing is found against anybody, and every stroke in the record was heard by
// the instrument that it was meant for. TAILLAMP_MINUTES says how many minutes of the railway the relief works, if not eight.
//
// A9, A15, C5, J1, K1, Q3: each of them at work among the others.
func TestOwnersEvening(t *testing.T) {
	const speed = 6
	minutes := 8
	if n, err := strconv.Atoi(os.Getenv("TAILLAMP_MINUTES")); err == nil {
		minutes = n
	}
	b := besides(t)
	p := build(t)
	wires := freePort(t)
	began := time.Now()
	p.start("--layout", quicker(t, speed), "--people", "UL,OS,TO", "--instruments", wires, "--seed", "1")
	at := fmt.Sprintf("http://%s:%d/", shed, p.port)
	printed, err := os.ReadFile(p.said())
	require.NoError(t, err)
	key := regexp.MustCompile(`owner#(\S+)`).FindSubmatch(printed)
	require.NotNil(t, key, "%s", printed)

	owner := tablet(t, b, "the owner", at+"owner#"+string(key[1]), 1024, 768)
	owner.until(`document.querySelector(".rows")`)
	visitors := tablet(t, b, "a visitor", at+"visitors", 1920, 1080)
	boards := map[block.BoxID]*fittedBell{"UL": fit(t, wires, "UL", "OS"), "OS": fit(t, wires, "OS", "UL")}
	sits := func(box block.BoxID) *guide {
		g := &guide{tab: tablet(t, b, string(box), at, 1024, 768, chromedp.WithNewBrowserContext()), did: map[string]int{}, tail: 55 * time.Second / speed}
		if board := boards[box]; board != nil {
			g.wired = map[string]func(string){pair: board.ring}
		}
		heard := g.takeDuty(string(box))
		t.Logf("%s: from the command until the guest has heard his first bell: %d presses, %.1f seconds", box, 1+len(heard), time.Since(began).Seconds())
		g.press("nav .advice")
		return g
	}
	ul, oss, to := sits("UL"), sits("OS"), sits("TO")

	railway := func(minutes int) time.Time { return time.Now().Add(time.Duration(minutes) * time.Minute / speed) }
	over := make(chan struct{})
	var hands sync.WaitGroup
	works := func(g *guide, until func() bool) {
		hands.Add(1)
		go func() {
			defer hands.Done()
			since := map[string]time.Time{}
			defer g.let()
			for !until() && !t.Failed() {
				select {
				case <-over:
					return
				case <-time.After(150 * time.Millisecond):
				}
				g.act()
				g.lamps(since)
			}
		}()
	}
	never := func() bool { return false }
	works(ul, never)
	works(to, never)

	// Ossenwaite is worked until there is a train in a section of his and nothing for him to do, and then relieved.
	relieved := make(chan struct{})
	late := railway(60)
	works(oss, func() bool {
		advised := oss.advised()
		idle := strings.HasPrefix(advised, "Nothing") || strings.HasPrefix(advised, "Watch")
		if time.Now().After(late) || idle && eval[bool](oss.tab, `!!document.querySelector('tl-needle[shows="occupied"]')`) {
			close(relieved)
			return true
		}
		return false
	})
	deals := func(card string) {
		form := `.card-deal:has(input[value="` + card + `"]) button`
		owner.press(form)
		owner.press(form)
	}
	deals("0")
	owner.until(`document.querySelector(".did").textContent.includes("Late running")`)
	<-relieved
	require.True(t, time.Now().Before(late), "no train came into a section of Ossenwaite: %v", oss.did)
	t.Logf("relieved at Ossenwaite after %.0f minutes of the railway", time.Since(began).Minutes()*speed)
	next := tablet(t, b, "the relief", at+"s/"+eval[string](oss.tab, `window.taillampShelf.seat.sitting`)+"/box/OS", 1024, 768, chromedp.WithNewBrowserContext())
	next.until(`window.taillampShelf && document.querySelector(".strip.looking").textContent.includes("has its signaller")`)
	next.press(".wants-box")
	next.until(`!document.querySelector(".take-over").hidden`)
	require.Contains(t, eval[string](next, `document.querySelector(".standing").textContent`), "train")
	next.press(`.take-over button[value="ask"]`)
	oss.until(`!document.querySelector(".strip.asked").hidden`)
	oss.press(`.strip.asked button[value="allow"]`)
	next.until(`!document.querySelector(".take-over .sign").hidden`)
	next.press(".take-over .sign")
	next.until(`document.querySelector("button.off-duty")`)
	oss.until(`document.querySelector(".strip.away").textContent.includes("You are relieved")`)
	next.hear()
	next.press("nav .advice")
	relief := &guide{tab: next, did: map[string]int{}, tail: oss.tail, wired: oss.wired}
	works(relief, never)
	deals("1")
	select {
	case <-time.After(time.Until(railway(minutes))):
		close(over)
	case <-t.Context().Done():
	}
	hands.Wait()
	require.False(t, t.Failed())

	told := eval[string](owner, `document.querySelector(".did").textContent`)
	require.Contains(t, told, "To UL: Hot box")
	require.Zero(t, eval[int](visitors, `document.querySelectorAll("button, a, input, form").length`))
	require.Greater(t, eval[int](visitors, `document.querySelectorAll(".day li").length`), 10)
	for _, g := range []*guide{ul, oss, relief, to} {
		t.Logf("%s: %v", g.who, g.did)
	}
	if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
		owner.shoot(folder, "evening-owner")
		visitors.shoot(folder, "evening-visitors")
		ul.shoot(folder, "evening-ul")
		next.shoot(folder, "evening-os")
	}
	pause(4 * time.Second) // what is in the air is at its end
	reviewed(t, p.dir, boards)
}

// reviewed reads the record that the evening left.
func reviewed(t *testing.T, dir string, boards map[block.BoxID]*fittedBell) {
	t.Helper()
	kept, err := sitting.NewFiles(dir)
	require.NoError(t, err)
	names, err := kept.Names(t.Context())
	require.NoError(t, err)
	require.Len(t, names, 1)
	header, entries, err := kept.Read(t.Context(), names[0])
	require.NoError(t, err)
	if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
		text, err := os.ReadFile(kept.Path(names[0]))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(folder, "evening.jsonl"), text, 0o600))
	}
	rules, err := header.Rules()
	require.NoError(t, err)
	var all []block.Entry
	meant := map[block.BoxID]int{}
	did := map[block.Do]int{}
	away := false // the record says that an instrument was off the wire for a while
	for x, err := range entries {
		require.NoError(t, err)
		all = append(all, x)
		did[x.Event.Do]++
		away = away || x.Seat == "program" && strings.Contains(x.Event.Words, "gone off the wire")
		for _, ring := range x.Outcome.Rings {
			if ring.Circuit == pair {
				meant[ring.To]++
			}
		}
	}
	for box, board := range boards {
		require.Positive(t, meant[box])
		if !away { // while it was off the wire it heard nothing, and the tablet rang
			require.Equal(t, meant[box], board.strokes(), "the bell at %s", box)
		}
	}
	t.Logf("%d entries %v; strokes between UL and OS: %v", len(all), did, meant)
	for f, err := range review.Of(rules, register.InOrder(all)) {
		require.NoError(t, err)
		t.Errorf("%s at %s %s: %s %v", f.Rule, f.Box, f.At.Format("15:04:05"), f.Says, f.Evidence)
	}
}

// quicker is the demo as a file whose clock goes so many times as fast.
func quicker(t *testing.T, speed int) string {
	t.Helper()
	folder := t.TempDir()
	for _, name := range []string{"layout.toml", "trains.csv", "timetable.csv"} {
		text, err := os.ReadFile(filepath.Join("../block/layouts/lathermoor", name))
		require.NoError(t, err)
		if name == "layout.toml" {
			quick := regexp.MustCompile(`(?m)^speed\s*=\s*1$`).ReplaceAll(text, fmt.Appendf(nil, "speed = %d", speed))
			require.NotEqual(t, text, quick)
			text = quick
		}
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), text, 0o600))
	}
	return filepath.Join(folder, "layout.toml")
}

// freePort is an address on the loopback that nobody has.
func freePort(t *testing.T) string {
	t.Helper()
	free, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer free.Close()
	return free.Addr().String()
}

// fittedBell is one end of a bell as a small computer on the layout, a client of a general library that knows the published
// topics (web/mqtt/topics.md) and nothing else: a plunger and a bell.
type fittedBell struct {
	t       *testing.T
	client  paho.Client
	box, to string
	on      time.Time
	mu      sync.Mutex
	heard   int
	act     int
}

// fit puts one on the wire.
func fit(t *testing.T, broker, box, to string) *fittedBell {
	t.Helper()
	f := &fittedBell{t: t, box: box, to: to, on: time.Now()}
	ready := make(chan bool, 1)
	o := paho.NewClientOptions().AddBroker("tcp://"+broker).SetClientID(box+"-bell").SetKeepAlive(5*time.Second).
		SetWill("taillamp/"+box+"/at/bell", `{"on":false}`, 1, true)
	o.SetOnConnectHandler(func(c paho.Client) { // each time: a machine that stalls may lose it its place at the broker
		c.Subscribe("taillamp/"+box+"/bell/"+to, 0, func(paho.Client, paho.Message) {
			f.mu.Lock()
			defer f.mu.Unlock()
			f.heard++
		}).Wait()
		c.Subscribe("homie/taillamp/$state", 0, func(_ paho.Client, m paho.Message) {
			if string(m.Payload()) == "ready" {
				select {
				case ready <- true:
				default:
				}
			}
		}).Wait()
		c.Publish("taillamp/"+box+"/at/bell", 1, true, `{"on":true,"bells":["`+to+`"]}`).Wait()
	})
	f.client = paho.NewClient(o)
	require.True(t, f.client.Connect().WaitTimeout(patience))
	t.Cleanup(func() { f.client.Disconnect(0) })
	select {
	case <-ready:
	case <-time.After(patience):
		t.Fatal("the program did not come to the broker")
	}
	return f
}

// ring rings a code as a hand at the plunger does.
func (f *fittedBell) ring(code string) {
	for n, group := range strings.Split(code, "-") {
		if n > 0 {
			pause(450 * time.Millisecond)
		}
		for range group[0] - '0' {
			f.act++
			text, err := json.Marshal(map[string]any{"do": "beat", "to": f.to, "run": "a", "act": f.act, "ms": time.Since(f.on).Milliseconds()})
			require.NoError(f.t, err)
			f.client.Publish("taillamp/"+f.box+"/do/bell", 1, false, text).Wait()
			pause(300 * time.Millisecond)
		}
	}
}

// strokes are those that it heard.
func (f *fittedBell) strokes() int {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.heard
}
