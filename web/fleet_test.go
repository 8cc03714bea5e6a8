//go:build fleet && linux

package web_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
	"taillamp/web/sitting/fleet"
)

// Three processes share their sittings over an engine of three nodes, two hands at each sitting; one process is killed
// with SIGKILL. What it had goes on elsewhere, its tablets come back by themselves, nothing that was told is lost and no
// fact is doubled. Six sittings, or as many as TAILLAMP_FLEET says; the full run is 30.
func TestFleetGoesOnWhenAProcessIsKilled(t *testing.T) {
	c := newCluster(t, 3)
	for range 3 {
		c.launch()
	}
	sittings := c.begin(inFleet(6))
	w := c.crewOf(sittings)
	pause(3 * time.Second)
	victim := c.procs[0]
	orphans := w.of(victim)
	for _, p := range c.procs { // with few sittings chance may give one process none
		if these := w.of(p); len(these) > len(orphans) {
			victim, orphans = p, these
		}
	}
	require.NotEmpty(t, orphans)
	killed := time.Now()
	victim.kill()
	slowest := w.back(orphans, killed)
	pause(3 * time.Second)
	acts, entries := w.stop()
	t.Logf("%d sittings, 3 processes, 3 nodes: one process killed that had %d sittings; every one of their tablets had its next fact done within %.1fs (asked for: 10s); %d acts sent, %d entries kept, nothing lost, doubled or reordered",
		len(sittings), len(orphans)/2, slowest.Seconds(), acts, entries)
}

// A process is stopped in the middle of its work and continued after another has taken its sitting. What a tablet sent
// to it meanwhile it cannot write: not one entry of its epoch follows the opening of the next.
func TestFleetOwnerWhoSleptWritesNothing(t *testing.T) {
	c := newCluster(t, 1)
	c.launch()
	c.launch()
	name := c.begin(1)[0]
	owner, other := c.procs[0], c.procs[1]
	if c.directory.Owner(name) != owner.name {
		owner, other = other, owner
	}
	wire := func(p *process) string { return "ws://" + p.at + "/s/" + name + "/wire" }
	ticket := takeDuty(t, "http://"+owner.at+"/s/"+name+"/duty/OS")
	hello := map[string]any{"kind": "hello", "proto": 1, "sitting": name, "box": "OS", "as": "work", "ticket": ticket}
	asleep := dial(t, wire(owner))
	asleep.say(hello)
	asleep.until("welcome")
	asleep.say(remarkAct(1))
	require.Equal(t, block.Done, asleep.until("answer").Ending)
	asleep.say(map[string]any{"kind": "act", "act": 2, "do": "beat", "circuit": bells, "pressed": sitting.MillisOf(time.Now())})
	require.Equal(t, block.Done, asleep.until("answer").Ending) // rung, and to be written with what its quiet will make of it
	require.NoError(t, owner.cmd.Process.Signal(syscall.SIGSTOP))
	c.until("it stands still", owner.still)
	asleep.say(remarkAct(3)) // it lies in the socket until the process wakes
	c.until("the other has it", func() bool { return c.directory.Owner(name) == other.name && c.leads(other, name) })
	awake := dial(t, wire(other))
	awake.say(hello)
	awake.until("welcome")
	awake.say(map[string]any{"kind": "act", "act": 4, "do": "remark", "words": "by the other"})
	require.Equal(t, block.Done, awake.until("answer").Ending)
	require.NoError(t, owner.cmd.Process.Signal(syscall.SIGCONT))
	for {
		f, err := asleep.read()
		if err != nil {
			break // cut off, or closed
		}
		require.NotEqual(t, "answer", f.Kind, "nobody knows what came of it")
		if f.Kind == "close" {
			require.True(t, f.Again, "the tablet is to come again")
		}
	}
	c.until("the one that slept is ready again", func() bool { return c.ready(owner) })
	awake.say(map[string]any{"kind": "act", "act": 5, "do": "remark", "words": "by the other"})
	require.Equal(t, block.Done, awake.until("answer").Ending)
	opened, said := 0, []string{}
	for _, e := range c.kept(name) {
		if e.Mark == block.Open {
			opened++
			said = nil
		}
		said = append(said, fmt.Sprint(e.Act, e.Event.Do))
	}
	require.Equal(t, 3, opened, "begun, taken by the one, taken by the other")
	require.Equal(t, []string{"0", "4remark", "5remark"}, slices.DeleteFunc(said, func(s string) bool { return s == "0tick" }),
		"what follows the opening by the other is the other's alone")
	t.Logf("the one that slept was refused %s batches by the fence", c.counted(owner, "taillamp_appends_failed_total"))
}

// Of three nodes of the engine one is killed: the work goes on. Then all are: the tablets are told so and no act is
// accepted that is not recorded. They are started again, and on it goes by itself.
func TestFleetThroughTheEnginesFailures(t *testing.T) {
	c := newCluster(t, 3)
	c.launch()
	c.launch()
	sittings := c.begin(inFleet(4))
	w := c.crewOf(sittings)
	pause(2 * time.Second)
	killed := time.Now()
	c.killNode(0)
	const elections = 10 * time.Second // within which the others choose who leads what the killed one led
	one := w.longest(killed, killed.Add(elections))
	c.startNode(0)
	pause(2 * time.Second)
	before := make(map[*roving]int32)
	for _, r := range w.all() {
		before[r] = r.gone.Load()
	}
	for n := range c.running {
		c.killNode(n)
	}
	began := time.Now()
	c.until("no process is ready", func() bool { return !c.ready(c.procs[0]) && !c.ready(c.procs[1]) })
	for _, r := range w.all() {
		c.until(fmt.Sprintf("%s of %s is told", r.box, r.sitting), func() bool { return r.gone.Load() > before[r] })
	}
	told := time.Since(began)
	facts := make(map[*roving]int)
	for _, r := range w.all() {
		facts[r] = len(r.deeds())
	}
	pause(2 * time.Second)
	for _, r := range w.all() {
		require.Len(t, r.deeds(), facts[r], "no fact is told without an engine")
	}
	started := time.Now()
	for n := range c.running {
		c.startNode(n)
	}
	again := w.back(w.all(), started)
	pause(time.Second)
	acts, entries := w.stop()
	t.Logf("%d sittings: one node of three killed, the longest wait for a fact %.1fs; all killed, every tablet told within %.1fs and no fact done; started again, every tablet at work after %.1fs; %d acts sent, %d entries kept, nothing lost, doubled or reordered",
		len(sittings), one.Seconds(), told.Seconds(), again.Seconds(), acts, entries)
}

// A process that is told to stop hands everything over, and its tablets are at work elsewhere.
func TestFleetHandsOver(t *testing.T) {
	c := newCluster(t, 1)
	c.launch()
	c.launch()
	sittings := c.begin(inFleet(4))
	w := c.crewOf(sittings)
	pause(time.Second)
	leaver := c.procs[0]
	if len(w.of(leaver)) == 0 {
		leaver = c.procs[1]
	}
	moved := w.of(leaver)
	told := time.Now()
	require.NoError(t, leaver.cmd.Process.Signal(syscall.SIGTERM))
	c.until("it is no longer ready", func() bool { return !c.ready(leaver) })
	slowest := w.back(moved, told)
	require.NoError(t, leaver.cmd.Wait(), "%s", leaver.log)
	pause(time.Second)
	acts, entries := w.stop()
	t.Logf("%d of %d sittings handed over; every one of their tablets had its next fact done within %.1fs; %d acts sent, %d entries kept, nothing lost, doubled or reordered",
		len(moved)/2, len(sittings), slowest.Seconds(), acts, entries)
}

// Three processes bring an engine of three nodes along, one each; one process is killed with SIGKILL and its node with
// it. Whatever it led, of the engine as of the sittings, goes on with the others.
func TestFleetOfItsOwnEngine(t *testing.T) {
	c := newCluster(t, 0)
	secret := filepath.Join(t.TempDir(), "secret")
	require.NoError(t, os.WriteFile(secret, []byte("drawn-by-lot\n"), 0o600))
	var peers []string
	for range 3 {
		peers = append(peers, freeAddress(t))
	}
	c.nodes = []fleet.Node{{Listen: freeAddress(t), Secret: "drawn-by-lot"}}
	for n := range 3 {
		args := []string{"--fleet", "embedded", "--dir", t.TempDir(), "--peers-key", secret,
			"--peers", strings.Join(slices.Concat(peers[n:n+1], peers[:n], peers[n+1:]), ",")}
		if n == 2 {
			args = append(args, "--engine", c.nodes[0].Listen) // where the test looks in
		}
		c.spawn(args...)
	}
	c.connect()
	for _, p := range c.procs {
		c.until(p.at+" is ready", func() bool { return c.ready(p) })
	}
	sittings := c.begin(inFleet(4))
	w := c.crewOf(sittings)
	pause(2 * time.Second)
	killed := time.Now()
	c.procs[0].kill()
	const elections = 12 * time.Second
	longest := w.longest(killed, killed.Add(elections))
	acts, entries := w.stop()
	t.Logf("%d sittings, 3 processes with a node each: one killed with its node, the longest wait for a fact %.1fs; %d acts sent, %d entries kept, nothing lost, doubled or reordered",
		len(sittings), longest.Seconds(), acts, entries)
}
