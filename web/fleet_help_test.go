//go:build fleet && linux

package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"net/url"
	osfile "os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
	"taillamp/web/sitting/fleet"
)

// engineNode names what a process that is a node of the engine is told.
const engineNode = "TAILLAMP_ENGINE_NODE"

// TestEngineNode is a node of an engine, as a process of its own that can be killed.
func TestEngineNode(t *testing.T) {
	told := osfile.Getenv(engineNode)
	if told == "" {
		t.Skip("run by the tests of several processes")
	}
	var n fleet.Node
	require.NoError(t, json.Unmarshal([]byte(told), &n))
	_, err := n.Start()
	require.NoError(t, err)
	select {} // until it is killed
}

// cluster is an engine of several nodes, and processes that share their sittings over it.
type cluster struct {
	t         *testing.T
	nodes     []fleet.Node
	running   []*exec.Cmd // nodes; nil: killed
	engine    *fleet.Engine
	keeper    *fleet.Keeper
	directory *fleet.Directory
	binary    string
	procs     []*process
}

// process is one taillamp of a fleet.
type process struct {
	name string // as the directory has it
	at   string // HOST:PORT
	cmd  *exec.Cmd
	log  *strings.Builder
}

func freeAddress(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	return l.Addr().String()
}

// inFleet asks how many sittings a test is to have: usual, or as many as TAILLAMP_FLEET says.
func inFleet(usual int) int {
	if n, err := strconv.Atoi(osfile.Getenv("TAILLAMP_FLEET")); err == nil {
		return n
	}
	return usual
}

// newCluster starts nodes and connects to them.
func newCluster(t *testing.T, nodes int) *cluster {
	t.Helper()
	c := &cluster{t: t, binary: filepath.Join(t.TempDir(), "taillamp"), running: make([]*exec.Cmd, nodes)}
	out, err := exec.Command("go", "build", "-tags", "fleet", "-o", c.binary, "taillamp/cmd/taillamp").CombinedOutput()
	require.NoError(t, err, "%s", out)
	var peers []string
	for range nodes {
		peers = append(peers, freeAddress(t))
	}
	t.Cleanup(func() {
		for _, p := range c.procs {
			p.kill()
		}
		if c.engine != nil {
			c.engine.Close()
		}
		for n := range c.running {
			c.killNode(n)
		}
	})
	for n := range nodes {
		node := fleet.Node{Dir: t.TempDir(), Listen: freeAddress(t)}
		if nodes > 1 {
			node.Peers = append(node.Peers, peers[n])
			for m, p := range peers {
				if m != n {
					node.Peers = append(node.Peers, p)
				}
			}
		}
		c.nodes = append(c.nodes, node)
		c.startNode(n)
	}
	if nodes > 0 {
		c.connect()
	}
	return c
}

// connect has the test join the fleet as one to whom no sitting falls.
func (c *cluster) connect() {
	c.t.Helper()
	within, done := context.WithTimeout(c.t.Context(), fleetWait)
	defer done()
	var err error
	c.until("the engine answers", func() bool {
		c.engine, err = fleet.Connect(c.addresses())
		return err == nil
	})
	require.NoError(c.t, c.engine.Ready(within))
	c.keeper = fleet.NewKeeper(c.engine)
	c.directory, err = fleet.Visit(within, c.engine, "the-test")
	require.NoError(c.t, err)
}

// fleetWait is how long a test waits for what must come; it decides nothing but when to give up.
const fleetWait = 2 * time.Minute

func (c *cluster) until(what string, is func() bool) {
	c.t.Helper()
	for end := time.Now().Add(fleetWait); !is(); pause(20 * time.Millisecond) {
		if time.Now().Before(end) {
			continue
		}
		for _, p := range c.procs {
			c.t.Logf("%s said: %s", p.name, p.log)
		}
		require.Fail(c.t, "never: "+what)
	}
}

func (c *cluster) addresses() string {
	var all []string
	for _, n := range c.nodes {
		at := url.URL{Scheme: "nats", Host: n.Listen}
		if n.Secret != "" {
			at.User = url.UserPassword("taillamp", n.Secret)
		}
		all = append(all, at.String())
	}
	return strings.Join(all, ",")
}

func (c *cluster) startNode(n int) {
	c.t.Helper()
	text, err := json.Marshal(c.nodes[n])
	require.NoError(c.t, err)
	cmd := exec.Command(osfile.Args[0], "-test.run=^TestEngineNode$")
	cmd.Env = append(osfile.Environ(), engineNode+"="+string(text))
	cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL} // it outlives no test
	require.NoError(c.t, cmd.Start())
	c.running[n] = cmd
}

// killNode ends a node as a power cut would.
func (c *cluster) killNode(n int) {
	if cmd := c.running[n]; cmd != nil {
		_ = cmd.Process.Kill() // Wait tells
		_ = cmd.Wait()
		c.running[n] = nil
	}
}

// launch starts a taillamp and waits until it may be given tablets.
func (c *cluster) launch() *process {
	c.t.Helper()
	before := c.directory.Living()
	p := c.spawn("--fleet", c.addresses())
	c.until(p.at+" is ready", func() bool { return c.ready(p) })
	c.until(p.at+" is known", func() bool {
		for _, name := range c.directory.Living() {
			if !slices.Contains(before, name) {
				p.name = name
			}
		}
		return p.name != ""
	})
	return p
}

// spawn starts a taillamp.
func (c *cluster) spawn(args ...string) *process {
	c.t.Helper()
	p := &process{at: freeAddress(c.t), log: &strings.Builder{}}
	p.cmd = exec.Command(c.binary, append([]string{"serve", "--listen", p.at}, args...)...)
	p.cmd.Stderr = p.log
	p.cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
	require.NoError(c.t, p.cmd.Start())
	c.procs = append(c.procs, p)
	return p
}

func (c *cluster) ready(p *process) bool {
	r, err := http.Get("http://" + p.at + "/ready")
	if err != nil {
		return false
	}
	_ = r.Body.Close() // only the status counts
	return r.StatusCode == http.StatusOK
}

// still tells whether every thread of a process that was stopped has come to a stand: proc(5), state T.
func (p *process) still() bool {
	threads, err := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/stat", p.cmd.Process.Pid))
	if err != nil || len(threads) == 0 {
		return false
	}
	for _, file := range threads {
		text, err := osfile.ReadFile(file)
		_, state, _ := strings.Cut(string(text), ") ")
		if err != nil || !strings.HasPrefix(state, "T") {
			return false
		}
	}
	return true
}

// kill ends a process as a power cut would.
func (p *process) kill() {
	if p.cmd.ProcessState != nil {
		return
	}
	_ = p.cmd.Process.Signal(syscall.SIGCONT) // it may have been stopped
	_ = p.cmd.Process.Kill()                  // Wait tells
	_ = p.cmd.Wait()
}

// begin has so many sittings on the tiny layout under way, and waits until each is worked.
func (c *cluster) begin(sittings int) []string {
	c.t.Helper()
	return c.beginFrom(0, sittings)
}

// beginFrom is begin beside others.
func (c *cluster) beginFrom(first, sittings int) []string {
	c.t.Helper()
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(c.t, err)
	host := sitting.NewHost(c.keeper, sitting.NewRealClock(), "taillamp test").Under(c.directory)
	var all []string
	for n := range sittings {
		name := loadName(first + n)
		live, err := host.Open(c.t.Context(), name, h)
		require.NoError(c.t, err)
		require.NoError(c.t, live.Close(c.t.Context()))
		all = append(all, name)
	}
	for _, name := range all {
		require.NoError(c.t, c.directory.Announce(c.t.Context(), name, fleet.Evening{Owner: sitting.NewKey()}))
	}
	for _, name := range all {
		c.until(name+" is worked", func() bool { return c.worked(name) })
	}
	return all
}

// worked tells whether every living process can lead to a sitting.
func (c *cluster) worked(name string) bool {
	for _, p := range c.procs {
		if p.cmd.ProcessState == nil && !c.leads(p, name) {
			return false
		}
	}
	return true
}

// leads tells whether one process can lead to a sitting.
func (c *cluster) leads(p *process, name string) bool {
	r, err := http.Get("http://" + p.at + "/s/" + name + "/findings")
	if err != nil {
		return false
	}
	_ = r.Body.Close() // only the status counts
	return r.StatusCode == http.StatusOK
}

// counted is what a process says of itself under a name.
func (c *cluster) counted(p *process, name string) string {
	c.t.Helper()
	r, err := http.Get("http://" + p.at + "/metrics")
	require.NoError(c.t, err)
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	require.NoError(c.t, err)
	m := regexp.MustCompile(`(?m)^` + name + ` (\S+)`).FindSubmatch(text)
	require.NotNil(c.t, m, name)
	return string(m[1])
}

// kept is a sitting's record, read past every process.
func (c *cluster) kept(name string) []block.Entry {
	c.t.Helper()
	_, entries, err := c.keeper.Read(c.t.Context(), name)
	require.NoError(c.t, err)
	var all []block.Entry
	for e, err := range entries {
		require.NoError(c.t, err)
		all = append(all, e)
	}
	return all
}

// crew are the tablets of a fleet: two hands at every sitting, each at another process if it can be.
type crew struct {
	c     *cluster
	hands map[string][]*roving
	done  sync.WaitGroup
	over  chan struct{}
}

// roving is a hand that comes back by itself, at whatever process takes it.
type roving struct {
	hand
	sitting string
	at      int          // of the processes, which it tries next
	gone    atomic.Int32 // times that its wire came to an end: a page says then that it is dead

	mu   sync.Mutex
	done []deed // beats left out
}

// deed is an act that was done.
type deed struct {
	at     time.Time
	socket int
}

// deeds are those of a hand so far.
func (r *roving) deeds() []deed {
	r.mu.Lock()
	defer r.mu.Unlock()
	return slices.Clone(r.done)
}

// crewOf puts hands at sittings and has them work until stop.
func (c *cluster) crewOf(sittings []string) *crew {
	c.t.Helper()
	w := &crew{c: c, hands: make(map[string][]*roving), over: make(chan struct{})}
	for n, name := range sittings {
		for m, box := range []block.BoxID{ullathwick, ossenwaite} {
			at := (n + m) % len(c.procs)
			r := &roving{sitting: name, at: at}
			r.hand = hand{box: box, waiting: make(map[uint64]map[string]any), patient: 4500 * time.Millisecond,
				ticket: takeDuty(c.t, "http://"+c.procs[at].at+"/s/"+name+"/duty/"+string(box))}
			w.hands[name] = append(w.hands[name], r)
			chance := rand.New(rand.NewPCG(uint64(n), uint64(m)))
			w.done.Go(func() { r.rove(w, chance) })
		}
	}
	return w
}

// rove works until the crew is stopped, coming back as often as it must.
func (r *roving) rove(w *crew, chance *rand.Rand) {
	for {
		select {
		case <-w.over:
			return
		default:
		}
		p := w.c.procs[r.at%len(w.c.procs)]
		r.at++
		conn, err := r.connect(r.sitting, "ws://"+p.at+"/s/"+r.sitting+"/wire")
		if err != nil {
			pause(time.Duration(100+chance.IntN(200)) * time.Millisecond)
			continue
		}
		r.pace(w, conn, chance)
		r.gone.Add(1)
	}
}

// pace works at one socket, a few acts a second, until it breaks.
func (r *roving) pace(w *crew, conn *websocket.Conn, chance *rand.Rand) {
	defer func() { _ = conn.Close() }()
	for {
		select {
		case <-w.over:
			return
		default:
		}
		for len(r.waiting) < 2 {
			r.next++
			act := map[string]any{"kind": "act", "act": r.next, "pressed": sitting.MillisOf(time.Now())}
			if chance.IntN(3) == 0 {
				act["do"], act["circuit"] = "beat", bells
			} else {
				act["do"], act["words"] = "remark", fmt.Sprintf("remark %d", r.next)
			}
			r.waiting[r.next] = act
			r.heard = append(r.heard, told{conn: r.socket, kind: "sent", act: r.next, beat: act["do"] == "beat"})
			if conn.WriteJSON(act) != nil {
				return
			}
		}
		kind, err := r.hear(conn)
		if err != nil {
			return
		}
		if last := r.heard[max(len(r.heard)-1, 0)]; kind == "answer" && last.ending == block.Done && !last.beat {
			r.mu.Lock()
			r.done = append(r.done, deed{time.Now(), r.socket})
			r.mu.Unlock()
			pause(time.Duration(50+chance.IntN(150)) * time.Millisecond)
		}
	}
}

// all are the hands.
func (w *crew) all() []*roving {
	var all []*roving
	for _, two := range w.hands {
		all = append(all, two...)
	}
	return all
}

// back waits until hands have an act done at another socket than the last before a moment, and tells how long after it
// the slowest of them had.
func (w *crew) back(hands []*roving, since time.Time) time.Duration {
	w.c.t.Helper()
	var slowest time.Duration
	for _, r := range hands {
		w.c.until(fmt.Sprintf("%s of %s is back at work", r.box, r.sitting), func() bool {
			was := 0
			for _, d := range r.deeds() {
				if d.at.Before(since) {
					was = d.socket
				} else if d.socket > was {
					slowest = max(slowest, d.at.Sub(since))
					return true
				}
			}
			return false
		})
	}
	return slowest
}

// longest waits until every hand has an act done later than a moment, and tells the longest time without one that any
// of them had from another moment on.
func (w *crew) longest(from, until time.Time) time.Duration {
	w.c.t.Helper()
	var longest time.Duration
	for _, r := range w.all() {
		w.c.until(fmt.Sprintf("%s of %s is at work", r.box, r.sitting), func() bool {
			all := r.deeds()
			return len(all) > 0 && all[len(all)-1].at.After(until)
		})
		last := from
		for _, d := range r.deeds() {
			if d.at.After(from) {
				longest, last = max(longest, d.at.Sub(last)), d.at
			}
		}
	}
	return longest
}

// stop ends the work and compares everything that was told with everything that is kept. It gives the numbers of acts
// that were sent and of entries kept.
func (w *crew) stop() (acts, entries int) {
	w.c.t.Helper()
	close(w.over)
	w.done.Wait()
	for name, two := range w.hands {
		kept := w.c.kept(name)
		histories := make(map[block.BoxID][]told)
		for _, r := range two {
			histories[r.box] = r.heard
			acts += int(r.next)
		}
		require.Empty(w.c.t, disagreements(kept, histories), name)
		entries += len(kept)
	}
	return acts, entries
}

// of are the hands of sittings that a process has.
func (w *crew) of(p *process) []*roving {
	var all []*roving
	for name, two := range w.hands {
		if w.c.directory.Owner(name) == p.name {
			all = append(all, two...)
		}
	}
	return all
}
