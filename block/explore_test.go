package block_test

import (
	"fmt"
	"hash/maphash"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// dawn is the moment of every state of an exploration: clock times do not count in it, only recent and long ago.
var dawn = time.Date(1961, 10, 17, 6, 0, 0, 0, time.UTC)

// stroke is the time before every act of an exploration but the wait, which makes everything long ago.
const (
	stroke = 2 * time.Second
	wait   = 5 * time.Minute
)

// move is what can be done in one go: an act, or a few that belong together. Acts that cannot be end it; where the
// apparatus refuses one, the rest is not done.
type move struct {
	name   string
	events []block.Event
	may    func(n node) bool // trains move as trains can; nil: always
	comes  func(n *node)     // a train has come through a section
}

// singleWay is a line of boxes with one Down line between neighbours, everything to be seen, at one level of apparatus.
func singleWay(t *testing.T, level block.Level, ids ...block.BoxID) *block.Rules {
	t.Helper()
	l := block.BareLayout()
	l.Settings.Lamps, l.Settings.Levers = true, true
	for i, id := range ids {
		b := block.BareBox(id, block.Yards(i)*1760, 440)
		b.Staffed = true
		if i > 0 {
			b.Authorise = []string{"warning from " + string(ids[i-1]) + " for goods"}
			d := block.DoubleLine(ids[i-1], id, 1760)
			d.Level, d.Lines = level, d.Lines[:1]
			l.Between = append(l.Between, d)
		}
		l.Boxes = append(l.Boxes, b)
	}
	r, err := block.NewRules(l, nil, nil)
	require.NoError(t, err)
	return r
}

// working is a part of the regulations that an exploration takes in: signals of the box in rear and of the box in
// advance, with = after those that need the call answered first and ? after those that are rung only as an answer, and
// what else can happen there.
type working struct {
	name        string
	rear, ahead string
	lampless    bool
}

// The ordinary working with what goes wrong in it, and each abnormal working added to it in turn.
var (
	ordinary = working{name: "ordinary", rear: "4= 2 3-5= 2-1?", ahead: "4? 2? 3-5? 2-1="}
	added    = []working{
		{name: "two classes", rear: "3-1=", ahead: "3-1?"},
		{name: "warning", rear: "1-4= 3-5-5?", ahead: "3-5-5 1-4?"},
		{name: "blocking back", rear: "2-4?", ahead: "2-4="},
		{name: "danger", rear: "6", ahead: "6"},
		{name: "lamp", rear: "4-5?", ahead: "4-5=", lampless: true},
	}
)

// and is both workings.
func (w working) and(x working) working {
	return working{name: w.name + " and " + x.name, rear: w.rear + " " + x.rear, ahead: w.ahead + " " + x.ahead, lampless: w.lampless || x.lampless}
}

// moves are all that can be done on one circuit, with those trains.
func (w working) moves(t *testing.T, r *block.Rules, n int, trains ...block.TrainID) []move {
	t.Helper()
	c := r.Circuits()[n]
	sec := c.Sections[0]
	var all []move
	for i, codes := range []string{w.rear, w.ahead} {
		by, other := c.Boxes[i], c.Boxes[1-i]
		for _, code := range strings.Fields(codes) {
			beats, err := block.ParseBeats(strings.TrimRight(code, "=?"))
			require.NoError(t, err)
			m := move{name: fmt.Sprintf("%s %s", by, code)}
			if strings.HasSuffix(code, "?") {
				m.may = func(x node) bool { return block.Waits(x.state, n, 1-i, beats) }
			}
			if strings.HasSuffix(code, "=") {
				m.events = append(m.events, block.Event{Do: block.Rung, By: by, Circuit: c.ID, Beats: block.Beats{1}},
					block.Event{Do: block.Rung, By: other, Circuit: c.ID, Beats: block.Beats{1}})
			}
			m.events = append(m.events, block.Event{Do: block.Rung, By: by, Circuit: c.ID, Beats: beats})
			all = append(all, m)
		}
	}
	for _, show := range []block.Aspect{block.Blocked, block.Clear, block.Occupied} {
		all = append(all, move{name: fmt.Sprintf("%s %s", sec.Advance, show),
			events: []block.Event{{Do: block.Turn, By: sec.Advance, Section: sec.ID, Show: show}}})
	}
	for no := range trains {
		all = append(all, w.trainMoves(r, n, no, trains)...)
	}
	return all
}

// trainMoves are the ways of one train, the no-th. Where the signal is locked by the block a train goes only if it comes
// off. Of two boxes a train that has come through may come again; of three it goes on.
func (w working) trainMoves(r *block.Rules, n, no int, trains []block.TrainID) []move {
	id := trains[no]
	circuits := r.Circuits()
	sec := circuits[n].Sections[0]
	act := func(name string, by block.BoxID, where block.Place, lamp block.Lamp, from ...block.Place) move {
		return move{name: fmt.Sprintf("train %s %s on %s", id, name, sec.ID),
			may: func(x node) bool {
				return int(x.come[no]) == n && slices.Contains(from, block.Truth(x.state, n, id))
			},
			events: []block.Event{{Do: block.Train, By: by, Section: sec.ID, Train: id, Where: where, Lamp: lamp}}}
	}
	through := func(m move) move {
		if len(circuits) > 1 {
			m.comes = func(x *node) { x.come[no] = uint8(n + 1) }
		}
		return m
	}
	leaves := act("leaves", sec.Rear, block.Leaves, "", "")
	if no > 0 { // of two trains that have not set out, either may be the first: one way is enough
		from := leaves.may
		leaves.may = func(x node) bool {
			return from(x) && (x.come[0] > 0 || block.Truth(x.state, 0, trains[0]) != "")
		}
	}
	if r.Layout().Between[n].Level != block.Free {
		pull := block.Event{Do: block.Lever, By: sec.Rear, Section: sec.ID}
		back := pull
		back.Off = true
		leaves.events = []block.Event{pull, leaves.events[0], back}
	}
	all := []move{
		leaves,
		act("stands", sec.Advance, block.Stands, "", block.Leaves),
		through(act("passes", sec.Advance, block.Passes, block.LampSeen, block.Leaves, block.Stands)),
		act("returns", sec.Rear, block.Returns, "", block.Leaves, block.Stands),
	}
	if w.lampless {
		whole := act("is whole", "", block.IsWhole, "", block.Passes)
		whole.may = func(x node) bool { return block.Truth(x.state, n, id) == block.Passes }
		all = append(all, through(act("passes without lamp", sec.Advance, block.Passes, block.LampMissing, block.Leaves, block.Stands)), whole)
	}
	return all
}

// node is a state and what must be known of the way to it.
type node struct {
	state block.State
	come  [2]uint8 // by train: how many sections it has come through, on its way from the first box
	told  uint8    // by circuit: something dangerous was recorded since the section was last empty, and nothing accepted
}

// atlas is what an exploration has seen.
type atlas struct {
	states, transitions int
	whole               bool // every state has been followed in every way
	took                time.Duration
	way                 []step // by state: how it was first come to
}

// step is the move by which a state was first come to, and from where; -1 is the wait.
type step struct{ from, move int32 }

// explorer goes through states breadth first.
type explorer struct {
	t        *testing.T
	r        *block.Rules
	circuits []block.Circuit
	trains   []block.TrainID
	moves    []move
	most     int  // states; more are not looked at
	now      step // the move being made
	seed     maphash.Seed
	seen     map[uint64]bool
	home     map[uint64]bool // circuits from which the way home has been shown
	queue    []node
	atlas    atlas
}

func explore(t *testing.T, r *block.Rules, moves []move, most int, trains ...block.TrainID) *atlas {
	t.Helper()
	x := &explorer{t: t, r: r, trains: trains, moves: moves, most: most, seed: maphash.MakeSeed(), seen: make(map[uint64]bool), home: make(map[uint64]bool)}
	began := time.Now()
	x.circuits = r.Circuits()
	x.now = step{-1, -1}
	x.meet(x.now, node{state: block.Compact(r.Opening(dawn), dawn)})
	x.atlas.whole = true
	for at := 0; at < len(x.queue); at++ {
		if at >= most {
			x.atlas.whole = false
			break
		}
		n := x.queue[at]
		x.queue[at] = node{} // followed: only its number is needed
		x.follow(int32(at), n)
		x.atlas.states++
	}
	x.atlas.took = time.Since(began)
	return &x.atlas
}

// meet notes a state that a move has led to, and that there is a way home from it.
func (x *explorer) meet(by step, n node) {
	var h maphash.Hash
	h.SetSeed(x.seed)
	for c := range x.circuits {
		text := block.Text(n.state, c)
		h.WriteString(text)
		if key := maphash.String(x.seed, text); !x.home[key] {
			x.home[key] = true // the two circuits of a line do not hang on one another
			x.goHome(n.state, c)
		}
	}
	h.Write([]byte{n.told, n.come[0], n.come[1]})
	key := h.Sum64()
	if x.seen[key] {
		return
	}
	x.seen[key] = true
	x.queue = append(x.queue, n)
	x.atlas.way = append(x.atlas.way, by)
}

// follow does everything that can be done in a state.
func (x *explorer) follow(at int32, n node) {
	for i := range x.moves {
		m := &x.moves[i]
		if m.may != nil && !m.may(n) {
			continue
		}
		x.now = step{at, int32(i)}
		if next, ok := x.do(n, m); ok {
			x.atlas.transitions++
			x.meet(x.now, next)
		}
	}
	x.now = step{at, -1}
	late, _, err := x.r.Step(n.state, block.Event{Do: block.Tick, At: dawn.Add(wait)})
	require.NoError(x.t, err)
	x.timeAlone(n.state, late)
	x.atlas.transitions++
	n.state = block.Compact(late, dawn)
	x.meet(x.now, n)
}

// fail says what is wrong and how it came about.
func (x *explorer) fail(format string, args ...any) {
	x.t.Helper()
	x.t.Fatalf("%s, after: %s", fmt.Sprintf(format, args...), x.atlas.path(x.moves, x.now))
}

// path is the moves by which a step was come to.
func (a *atlas) path(moves []move, s step) string {
	var names []string
	for ; s.from >= 0; s = a.way[s.from] {
		if s.move < 0 {
			names = append(names, "wait")
			continue
		}
		names = append(names, moves[s.move].name)
	}
	slices.Reverse(names)
	return strings.Join(names, "; ")
}

// do makes a move and holds what must hold of every act. ok is false where the first act cannot be.
func (x *explorer) do(n node, m *move) (next node, ok bool) {
	next = n
	s, now := n.state, dawn
	for i, e := range m.events {
		now = now.Add(stroke)
		e.At = now
		after, out, err := x.r.Step(s, e)
		if err != nil {
			require.Zero(x.t, i, "%s: %s cannot be in the middle: %v", m.name, e.Do, err)
			return n, false
		}
		x.needles(s, after, e, out)
		x.bellIsKept(e, out)
		next.told = x.tells(next.told, s, after, e, out)
		s = after
		if out.Ending == block.Refused {
			break
		}
	}
	next.state = block.Compact(s, dawn)
	if m.comes != nil {
		m.comes(&next)
	}
	return next, true
}

// needles: nothing but the handle of the box in advance moves a needle (4.2, 1).
func (x *explorer) needles(before, after block.State, e block.Event, o block.Outcome) {
	for _, l := range x.r.Lines(after) {
		was, _ := x.r.Line(before, l.Section.ID)
		if was.Shows != l.Shows && (e.Do != block.Turn || e.By != l.Section.Advance || o.Ending != block.Done) {
			x.fail("the needle of %s moved from %s to %s by %s of %s", l.Section.ID, was.Shows, l.Shows, e.Do, e.By)
		}
	}
}

// timeAlone: no lapse of time accepts, cancels or clears (4.2, 2).
func (x *explorer) timeAlone(before, after block.State) {
	for _, l := range x.r.Lines(after) {
		was, _ := x.r.Line(before, l.Section.ID)
		if was.Standing != l.Standing || was.Shows != l.Shows || was.Signal != l.Signal || was.Seen != l.Seen {
			x.fail("time alone made %s with the needle at %s of %s at %s", l.Standing, l.Shows, was.Standing, was.Shows)
		}
	}
}

// bellIsKept: a group of beats is kept as it was rung, whatever it means (4.2, 5).
func (x *explorer) bellIsKept(e block.Event, o block.Outcome) {
	if e.Do != block.Rung {
		return
	}
	if !slices.ContainsFunc(o.Changes, func(c block.Change) bool { return c.Code != nil && c.Code.Beats.Equal(e.Beats) }) {
		x.fail("%s rang %s and nothing was kept of it", e.By, e.Beats)
	}
}

// tells: two trains are never in one section but something dangerous has been recorded of it (4.2, 3). It gives what is
// recorded so far of each section with a train in it.
func (x *explorer) tells(told uint8, before, after block.State, e block.Event, o block.Outcome) uint8 {
	for c := range x.circuits {
		sec := x.circuits[c].Sections[0].ID
		for _, i := range o.Irregular {
			rule, _ := block.FindRule(i.Rule)
			if i.Section == sec && (i.Severity == block.Dangerous || i.Severity == "" && rule.Severity == block.Dangerous) {
				told |= 1 << c
			}
		}
		in := x.inside(after, c)
		now, _ := x.r.Line(after, sec)
		switch {
		case in == 0 && !now.Accepted && !now.InSection:
			told &^= 1 << c // what was wrong is over with it
		case in > 1 && told&(1<<c) == 0 && !block.Held(after, c):
			was, _ := x.r.Line(before, sec)
			x.fail("two trains are in %s and nothing dangerous is recorded: %s %s, the line at %s", sec, e.Do, e.Where, was.Standing)
		}
	}
	return told
}

// inside is how many trains are in a section, in truth.
func (x *explorer) inside(s block.State, c int) int {
	in := 0
	for _, id := range x.trains {
		if p := block.Truth(s, c, id); p != "" && p != block.Passes && p != block.IsClear {
			in++
		}
	}
	return in
}

// goHome holds that regular acts alone lead a circuit back to normal (4.2, 6): the trains run out whole, what waits is
// answered, what was offered is cancelled, what lies over the line is taken off, and the needle put back.
func (x *explorer) goHome(s block.State, n int) {
	c := x.circuits[n]
	sec := c.Sections[0]
	now := dawn
	do := func(e block.Event) {
		now = now.Add(stroke)
		e.At = now
		next, out, err := x.r.Step(s, e)
		if err != nil || len(out.Irregular) > 0 || out.Ending != block.Done {
			l, _ := x.r.Line(s, sec.ID)
			x.fail("on the way home from %s, %s %s %s of %s: %v, %v %v %s", l.Standing, e.Do, e.Beats, e.Where, e.By, err, out.Irregular, out.Ending, out.Why)
		}
		s = next
	}
	rings := func(end int, beats block.Beats) {
		do(block.Event{Do: block.Rung, By: c.Boxes[end], Circuit: c.ID, Beats: beats})
	}
	signals := func(end int, beats ...uint8) {
		rings(end, block.Beats{1})
		rings(1-end, block.Beats{1})
		rings(end, beats)
		rings(1-end, beats)
	}
	for range 24 {
		l, _ := x.r.Line(s, sec.ID)
		if x.comesOut(s, n, do) {
			continue
		}
		switch rear, ahead := block.Waiting(s, n, 0), block.Waiting(s, n, 1); {
		case rear != nil:
			rings(1, rear)
		case ahead != nil:
			rings(0, ahead)
		case block.Endangered(s, n, 0):
			signals(0, 2, 1)
		case block.Endangered(s, n, 1) || l.Inside || l.Outside || l.InSection && block.OldestOut(s, n):
			signals(1, 2, 1)
		case l.Standing != "IDLE":
			signals(0, 3, 5)
		case l.Shows != block.Blocked:
			do(block.Event{Do: block.Turn, By: sec.Advance, Section: sec.ID, Show: block.Blocked})
		default:
			return
		}
	}
	l, _ := x.r.Line(s, sec.ID)
	x.fail("the line stays at %s on the way home", l.Standing)
}

// comesOut has a train come out of a section whole, or be found so.
func (x *explorer) comesOut(s block.State, n int, do func(block.Event)) bool {
	sec := x.circuits[n].Sections[0]
	for _, id := range x.trains {
		if p := block.Truth(s, n, id); p == block.Leaves || p == block.Stands {
			do(block.Event{Do: block.Train, By: sec.Advance, Section: sec.ID, Train: id, Where: block.Passes, Lamp: block.LampSeen})
			return true
		}
	}
	l, _ := x.r.Line(s, sec.ID)
	for _, doubtful := range []bool{true, false} { // those that went by without a lamp, then whichever 4-5 was rung for
		for _, id := range x.trains {
			if doubtful && block.Doubtful(s, n, id) || !doubtful && l.Doubt && block.Truth(s, n, id) != "" {
				do(block.Event{Do: block.Train, Section: sec.ID, Train: id, Where: block.IsWhole})
				return true
			}
		}
	}
	return false
}

// bound is how many states an exploration follows: fewer in the ordinary test, and with TAILLAMP_EXPLORE=ci all that
// two cores can follow in two minutes.
func bound() int {
	if os.Getenv("TAILLAMP_EXPLORE") == "ci" {
		return 12_000
	}
	return 500
}

func (a *atlas) String() string {
	s := fmt.Sprintf("%d states followed of %d met, %d transitions, %s", a.states, len(a.way), a.transitions, a.took.Round(time.Millisecond))
	if a.whole {
		return s + "; these are all"
	}
	return s + "; there are more"
}

// The states that two boxes with one line and two trains can come to, breadth first, in ordinary working and with each
// abnormal working added to it, at each level of apparatus: no act fails, the invariants of the reference, 4.2, hold, and
// regular acts lead home from every state that was met.
func TestStatesOfTwoBoxes(t *testing.T) {
	for _, level := range levels {
		for _, w := range append([]working{ordinary}, added...) {
			if w.name != ordinary.name {
				w = ordinary.and(w)
			}
			t.Run(fmt.Sprintf("%s/%s", level, w.name), func(t *testing.T) {
				t.Parallel()
				r := singleWay(t, level, "A", "B")
				t.Log(explore(t, r, w.moves(t, r, 0, "1", "2"), bound(), "1", "2"))
			})
		}
	}
}

// The same of three boxes and two trains, which go on from one section to the next.
func TestStatesOfThreeBoxes(t *testing.T) {
	for _, level := range levels {
		t.Run(string(level), func(t *testing.T) {
			t.Parallel()
			r := singleWay(t, level, "A", "B", "C")
			moves := append(ordinary.moves(t, r, 0, "1", "2"), ordinary.moves(t, r, 1, "1", "2")...)
			t.Log(explore(t, r, moves, bound(), "1", "2"))
		})
	}
}
