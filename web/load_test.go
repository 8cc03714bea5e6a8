package web_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"runtime"
	"runtime/metrics"
	"runtime/pprof"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/HdrHistogram/hdrhistogram-go"
	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web"
	"taillamp/web/sitting"
)

// loadTablets names what TestManySittings tells the process of its tablets.
const loadTablets = "TAILLAMP_LOAD_TABLETS"

// loadOrder is what the tablets are to do.
type loadOrder struct {
	Address, Echo   string
	Sittings, Beats int // beats: how many each sitting's signals have together
}

// loadTold is what the tablets noticed, in milliseconds.
type loadTold struct {
	Rings, News, Echoes       int64
	RingP50, RingP99, RingMax float64 // from the press to the ring at the far tablet
	NewsP50, NewsP99          float64 // from a fact's own time to its news, with its sync
	EchoP50, EchoP99          float64 // of a bare echo
}

// H5: sittings with four tablets each, two at work and two that look on, each kept in a file with every sync. In every
// sitting 3-1 is rung every five seconds. Ten sittings, then forty, or as many one after another as TAILLAMP_SITTINGS
// says ("10,100,1000"). Every ring was heard; no tablet takes more than 64 kB; and growth is linear: a tablet of many
// sittings takes no more memory than one of few, and a sitting no more of the processor, but for what is said below. The
// times are printed and nothing passes or fails by them.
//
// The tablets are a process of their own, so memory and processor are the server's. The time from press to far bell is
// not: it holds the tablets' own work and waits for one of the two processors that all share. So two more are printed
// beside it. The server's share is counted in the server, from frame read to frame handed to the socket of the far tablet.
// The machine's is what a bare echo takes at the same moments, from the tablets' process to one that does nothing else.
func TestManySittings(t *testing.T) {
	sizes := []int{10, 40}
	if text := os.Getenv("TAILLAMP_SITTINGS"); text != "" {
		sizes = nil
		for one := range strings.SplitSeq(text, ",") {
			n, err := strconv.Atoi(one)
			require.NoError(t, err, "TAILLAMP_SITTINGS is a list of numbers such as 10,100,1000")
			sizes = append(sizes, n)
		}
	}
	var few loaded
	for i, n := range sizes {
		got := load(t, n)
		t.Log(got)
		if n >= 40 { // of few, what a process takes once falls on each
			require.Less(t, got.tablet, 64e3, "bytes a tablet")
		}
		if i == 0 {
			few = got
			continue
		}
		require.Less(t, got.tablet, 1.25*few.tablet, "bytes a tablet at %d sittings and at %d", got.sittings, few.sittings)
		if few.sitting == 0 {
			continue // this system does not tell
		}
		require.Less(t, got.sitting, grows*few.sitting, "processor a sitting at %d sittings and at %d", got.sittings, few.sittings)
		t.Logf("from %d sittings to %d: memory a tablet %.2f times, processor a sitting %.2f times", few.sittings, got.sittings,
			got.tablet/few.tablet, got.sitting/few.sitting)
	}
}

// grows is how much more of the processor a sitting may take among many than among few. It takes less, as a rule, because
// what a process does once falls on more of them; but caches are the less its own the more others use the machine.
const grows = 1.5

// loaded is what came of one load.
type loaded struct {
	sittings int
	tablet   float64 // bytes
	sitting  float64 // seconds of the processor, of all that it rang
	share    float64 // processors
	told     loadTold
	rings    *hdrhistogram.Histogram // µs, the server's share
	news     *hdrhistogram.Histogram
	waits    float64 // seconds: p99 of what is ready to run in the server until it runs
}

func (l loaded) String() string {
	of := func(h *hdrhistogram.Histogram) string {
		return fmt.Sprintf("p50 %.2f ms, p99 %.2f ms (%d)", float64(h.ValueAtQuantile(50))/1e3, float64(h.ValueAtQuantile(99))/1e3, h.TotalCount())
	}
	return fmt.Sprintf(`%d sittings of 4 tablets: %.1f kB a tablet; %.2f processors, %.0f µs of one for each ring
	press to far bell, tablets and machine included: p50 %.2f ms, p99 %.2f ms, longest %.2f ms (%d)
	the server's share, frame read to far frame handed over: %s
	a bare echo beside it at the same moments: p50 %.2f ms, p99 %.2f ms (%d)
	fact to news with its sync, tablets and machine included: p50 %.2f ms, p99 %.2f ms (%d)
	the server's share: %s
	in the server, ready to run until it runs: p99 %.2f ms`,
		l.sittings, l.tablet/1e3, l.share, 1e6*l.sitting*float64(l.sittings)/float64(l.told.Rings),
		l.told.RingP50, l.told.RingP99, l.told.RingMax, l.told.Rings, of(l.rings), l.told.EchoP50, l.told.EchoP99, l.told.Echoes,
		l.told.NewsP50, l.told.NewsP99, l.told.News, of(l.news), 1e3*l.waits)
}

// load works so many sittings at once. With TAILLAMP_PROFILE the processor's profile of it is written to that file.
func load(t *testing.T, sittings int) loaded {
	t.Helper()
	files, err := sitting.NewFiles(t.TempDir())
	require.NoError(t, err)
	host := sitting.NewHost(files, sitting.NewRealClock(), "taillamp test")
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	got := loaded{sittings: sittings, rings: microseconds(), news: microseconds()}
	var mu sync.Mutex
	carried := func(ring bool, took time.Duration) {
		mu.Lock()
		defer mu.Unlock()
		of := got.news
		if ring {
			of = got.rings
		}
		_ = of.RecordValue(max(1, took.Microseconds())) // a value beyond a minute would be a lost one
	}
	doors := make(map[string]http.Handler)
	for n := range sittings {
		live, err := host.Open(t.Context(), loadName(n), h)
		require.NoError(t, err)
		doors[loadName(n)] = web.New(web.Config{Live: live, Carried: carried})
	}
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		name, _, _ := strings.Cut(strings.TrimPrefix(r.URL.Path, "/s/"), "/")
		doors[name].ServeHTTP(w, r)
	}))
	defer func() {
		require.NoError(t, host.Close(context.Background()))
		server.Close()
	}()
	echo := other(t, "^TestLoadEcho$", loadEcho, "")
	defer echo.end()
	order := loadOrder{Address: strings.TrimPrefix(server.URL, "http://"), Echo: echo.next(), Sittings: sittings, Beats: 12}
	text, err := json.Marshal(order)
	require.NoError(t, err)
	before := held()
	tablets := other(t, "^TestLoadTablets$", loadTablets, string(text))
	defer tablets.end()
	require.Equal(t, "ready", tablets.next())
	got.tablet = (held() - before) / float64(4*sittings)
	mu.Lock()
	got.rings.Reset() // those of taking duty
	got.news.Reset()
	mu.Unlock()
	stop := profiled(t)
	cpu, began, ran := worked(), time.Now(), readyWaits()
	tablets.say("go")
	require.NoError(t, json.Unmarshal([]byte(tablets.next()), &got.told))
	got.share = (worked() - cpu).Seconds() / time.Since(began).Seconds()
	got.sitting, got.waits = (worked()-cpu).Seconds()/float64(sittings), ran.since(99)
	stop()
	require.Equal(t, int64(sittings*order.Beats), got.told.Rings, "every beat was heard")
	mu.Lock()
	defer mu.Unlock()
	require.LessOrEqual(t, got.told.Rings, got.rings.TotalCount(), "the server counted every ring")
	got.rings, got.news = hdrhistogram.Import(got.rings.Export()), hdrhistogram.Import(got.news.Export())
	return got
}

// microseconds is an empty histogram up to a minute.
func microseconds() *hdrhistogram.Histogram {
	return hdrhistogram.New(1, int64(time.Minute/time.Microsecond), 3)
}

// profiled writes a profile of what is done until its end, if one is asked for.
func profiled(t *testing.T) (stop func()) {
	t.Helper()
	name := os.Getenv("TAILLAMP_PROFILE")
	if name == "" {
		return func() {}
	}
	f, err := os.Create(name)
	require.NoError(t, err)
	require.NoError(t, pprof.StartCPUProfile(f))
	return func() {
		pprof.StopCPUProfile()
		require.NoError(t, f.Close())
	}
}

// waited is how long what was ready to run in this process has waited for its turn until now, as the runtime counts it.
type waited []uint64

const waitsOf = "/sched/latencies:seconds"

func readyWaits() waited {
	sample := []metrics.Sample{{Name: waitsOf}}
	metrics.Read(sample)
	return slices.Clone(sample[0].Value.Float64Histogram().Counts)
}

// since is the upper bound, in seconds, of so many hundredths of what has waited since.
func (w waited) since(hundredths uint64) float64 {
	sample := []metrics.Sample{{Name: waitsOf}}
	metrics.Read(sample)
	h := sample[0].Value.Float64Histogram()
	all, below := uint64(0), uint64(0)
	for i, n := range h.Counts {
		all += n - w[i]
	}
	for i, n := range h.Counts {
		if below += n - w[i]; 100*below >= hundredths*all {
			return h.Buckets[i+1]
		}
	}
	return 0
}

// another is a process of this very program that runs one test, the other half of the one that started it.
type another struct {
	t     *testing.T
	name  string
	run   *exec.Cmd
	in    io.WriteCloser
	lines *bufio.Scanner
}

// other starts one. The text goes to it by the variable of that name; what it tells begins a line with that name.
func other(t *testing.T, test, name, text string) *another {
	t.Helper()
	a := &another{t: t, name: name, run: exec.Command(os.Args[0], "-test.run="+test, "-test.v")}
	a.run.Env = append(os.Environ(), name+"="+text+" ")
	a.run.Stderr = os.Stderr
	var err error
	a.in, err = a.run.StdinPipe()
	require.NoError(t, err)
	out, err := a.run.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, a.run.Start())
	a.lines = bufio.NewScanner(out)
	return a
}

// next is the next thing that it tells.
func (a *another) next() string {
	a.t.Helper()
	for a.lines.Scan() {
		if _, after, is := strings.Cut(a.lines.Text(), a.name+" "); is {
			return after
		}
		if strings.Contains(a.lines.Text(), "rror") {
			a.t.Log(a.lines.Text())
		}
	}
	require.Fail(a.t, "the other process ended", a.name)
	return ""
}

func (a *another) say(text string) {
	a.t.Helper()
	_, err := fmt.Fprintln(a.in, text)
	require.NoError(a.t, err)
}

// end lets it come to its end, which it does when nobody speaks to it any more.
func (a *another) end() {
	a.t.Helper()
	_ = a.in.Close() // it may have ended
	for a.lines.Scan() {
	}
	require.NoError(a.t, a.run.Wait())
}

// loadEcho names the process that does nothing but echo.
const loadEcho = "TAILLAMP_LOAD_ECHO"

// TestLoadEcho is the bare echo beside TestManySittings, in a process of its own.
func TestLoadEcho(t *testing.T) {
	if os.Getenv(loadEcho) == "" {
		t.Skip("run by TestManySittings")
	}
	fmt.Println(loadEcho, serveEcho(t))
	_, err := io.Copy(io.Discard, os.Stdin) // until nobody listens any more
	require.NoError(t, err)
}

func loadName(n int) string { return fmt.Sprintf("s%04d", n) }

// held is how many bytes of heap and stacks are in use after a collection.
func held() float64 {
	runtime.GC()
	runtime.GC() // what the first one's finalizers let go
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return float64(m.HeapAlloc + m.StackInuse)
}

// TestLoadTablets is the other half of TestManySittings.
func TestLoadTablets(t *testing.T) {
	var order loadOrder
	if told := os.Getenv(loadTablets); told == "" {
		t.Skip("run by TestManySittings")
	} else {
		require.NoError(t, json.Unmarshal([]byte(told), &order))
	}
	var mu sync.Mutex
	rings, news, echoes := microseconds(), microseconds(), microseconds()
	var listening, playing sync.WaitGroup
	rung := make(chan struct{}, order.Sittings*order.Beats)
	listen := func(c *client, far bool) {
		defer listening.Done()
		for {
			f, err := c.read()
			if err != nil {
				return
			}
			now := sitting.MillisOf(time.Now())
			mu.Lock()
			switch {
			case f.Kind == "ring" && f.Circuit != "" && far:
				_ = rings.RecordValue(int64((now - f.Pressed) * 1000)) // a value beyond a minute would be a lost one
				rung <- struct{}{}
			case f.Kind == "news" && f.At != 0 && f.Away == nil:
				_ = news.RecordValue(max(1, int64((now-f.At)*1000)))
			}
			mu.Unlock()
		}
	}
	var near, others, all []*client
	stop := make(chan struct{})
	quiet := false // those at work give their own signs of life from now on
	playing.Go(func() {
		for {
			select {
			case <-stop:
				return
			case <-time.After(time.Second):
			}
			mu.Lock()
			here := all
			if quiet {
				here = others
			}
			here = slices.Clone(here)
			mu.Unlock()
			alive(here)
		}
	})
	var coming sync.WaitGroup
	door := make(chan struct{}, 32) // so many come at once
	for n := range order.Sittings {
		door <- struct{}{}
		coming.Go(func() {
			defer func() { <-door }()
			name := loadName(n)
			for i, box := range []block.BoxID{ullathwick, ossenwaite, ossenwaite, ossenwaite} {
				c := dial(t, "ws://"+order.Address+"/s/"+name+"/wire")
				hello := map[string]any{"kind": "hello", "proto": 1, "sitting": name, "box": box, "as": "watch"}
				if i < 2 {
					hello["as"], hello["ticket"] = "work", takeDuty(t, "http://"+order.Address+"/s/"+name+"/duty/"+string(box))
				}
				c.say(hello)
				c.until("welcome")
				mu.Lock()
				if all = append(all, c); i == 0 {
					near = append(near, c)
				} else {
					others = append(others, c)
				}
				mu.Unlock()
				listening.Add(1)
				go listen(c, i == 1)
			}
		})
	}
	coming.Wait()
	fmt.Println(loadTablets, "ready")
	_, err := bufio.NewReader(os.Stdin).ReadString('\n')
	require.NoError(t, err)
	mu.Lock()
	news.Reset() // those of taking duty
	quiet = true
	mu.Unlock()
	pause(100 * time.Millisecond) // the signs of life under way
	var hands, echoing sync.WaitGroup
	enough := make(chan struct{})
	for range 20 {
		c := dial(t, order.Echo)
		echoing.Go(func() {
			for c.echoes(enough, func(took time.Duration) {
				mu.Lock()
				_ = echoes.RecordValue(took.Microseconds()) // a value beyond a minute would be a lost one
				mu.Unlock()
			}) {
			}
		})
	}
	for _, c := range near {
		hands.Go(func() { c.rings31(order.Beats) })
	}
	hands.Wait()
	close(enough)
	echoing.Wait()
	for range order.Sittings * order.Beats {
		select {
		case <-rung:
		case <-time.After(frameWait):
		}
	}
	close(stop)
	playing.Wait()
	mu.Lock()
	at := func(h *hdrhistogram.Histogram, q float64) float64 { return float64(h.ValueAtQuantile(q)) / 1000 }
	told, err := json.Marshal(loadTold{Rings: rings.TotalCount(), News: news.TotalCount(), Echoes: echoes.TotalCount(), EchoP50: at(echoes, 50), EchoP99: at(echoes, 99), RingP50: at(rings, 50), RingP99: at(rings, 99),
		RingMax: float64(rings.Max()) / 1000, NewsP50: at(news, 50), NewsP99: at(news, 99)})
	mu.Unlock()
	require.NoError(t, err)
	fmt.Println(loadTablets, string(told))
	for _, c := range all {
		_ = c.conn.Close()
	}
	listening.Wait()
}

// echoes sends a beat's frame to an echo and waits for it, and then for some of a quarter of a second. It is false when
// that is enough.
func (c *client) echoes(enough <-chan struct{}, took func(time.Duration)) bool {
	select {
	case <-enough:
		return false
	case <-time.After(time.Duration(rand.IntN(250)) * time.Millisecond):
	}
	frame := c.beatFrame(c.t)
	began := time.Now()
	if c.conn.WriteMessage(websocket.TextMessage, frame) != nil {
		return false
	}
	if _, _, err := c.conn.ReadMessage(); err != nil {
		return false
	}
	took(time.Since(began))
	return true
}

// alive gives a sign of life of each.
func alive(all []*client) {
	for _, c := range all {
		_ = c.conn.WriteMessage(websocket.TextMessage, []byte(`{"kind":"alive"}`)) // a broken one is missed later
	}
}

// rings31 rings 3-1 every five seconds, beginning at some moment of the first five, and gives signs of life between.
func (c *client) rings31(beats int) {
	pause(time.Duration(rand.IntN(1500)) * time.Millisecond)
	for n := range beats {
		c.act++
		act := map[string]any{"kind": "act", "act": c.act, "do": "beat", "circuit": bells, "pressed": sitting.MillisOf(time.Now())}
		if c.conn.WriteJSON(act) != nil {
			return
		}
		switch n % 4 {
		case 2:
			pause(600 * time.Millisecond)
		case 3:
			for range 3 {
				pause(1150 * time.Millisecond)
				if c.conn.WriteMessage(websocket.TextMessage, []byte(`{"kind":"alive"}`)) != nil {
					return
				}
			}
		default:
			pause(250 * time.Millisecond)
		}
	}
}
