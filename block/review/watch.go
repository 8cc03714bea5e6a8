package review

import (
	"container/heap"
	"time"

	"taillamp/block"
)

// line is what the reviewer keeps of one line between two boxes.
type line struct {
	block.Section
	pair     *pair
	atOnce   bool      // it has no needle, and what can be found the acts prove
	turned   []turning // the needle's moves, newest last; only the last few are kept
	offered  signal    // the first offer of the exchange in hand
	accepted signal    // the acceptance that stands or stood last; its beats are the class
	second   signal    // a second acceptance beside it, of another class
	taken    bool      // a train has gone on that acceptance
	given    time.Time // the 2-1 last rung
	gaveAway time.Time // the 3-5 last answered
	entered  time.Time // the 2 last rung
	entered2 time.Time // the 2 last answered
	repeated time.Time // an offer last repeated
	early    signal    // a 2 rung for a train that has not been seen to go yet
	asked    time.Time // the 6-2 last rung
	eased    time.Time // when something in force on the line was last over
	let      signal    // the train last sent
	blocked  signal    // the blocking back in force: when it was answered
	fouled   obstruction
	anyFoul  bool // something was marked since the line was blocked back
	free     freedom
	trains   []*train
	doubt    signal // 4-5 or 9 that is in force for the train on this line
	divided  signal // 5-5 or a runaway acknowledged, and not yet over
	examine  signal // 7 acknowledged
	lever    leverage
	refused  time.Time       // B's handle was last held by the apparatus
	ran      []time.Duration // how long trains took, for what is unusual
	tokens   *tokens         // of a line worked by token, which has rules of its own
	goods    *goods          // of a permissive line
}

// signal is a bell signal and the entry that holds it.
type signal struct {
	at    time.Time
	seq   uint64
	beats block.Beats
	key   block.CodeKey
	by    block.BoxID
	sense block.Effect
}

func (s signal) is() bool { return !s.at.IsZero() }

// turning is a needle moved.
type turning struct {
	at       time.Time
	seq      uint64
	from, to block.Aspect
}

// obstruction is something that was marked as fouling the line.
type obstruction struct {
	at    time.Time
	seq   uint64
	place block.Place
}

// leverage is the section signal.
type leverage struct {
	off bool
	at  time.Time
	seq uint64
}

// train is a train in the section, as it was seen to go and to come.
type train struct {
	id      block.TrainID
	left    signal
	two     signal
	offer   signal // the offer it went on
	class   block.Beats
	headed  time.Time
	stood   time.Time
	out     signal
	outKnow bool // 2-1 given
	shunt   bool
	lamp    block.Lamp
	mended  bool
	warned  bool
	judged  bool // its missing 2 has been found, or none is due
}

// pair is what the reviewer keeps of the bells between two boxes.
type pair struct {
	block.Circuit
	lines    []*line
	calls    map[block.BoxID]signal // last call of each, and when it was answered
	answer   map[block.BoxID]time.Time
	groups   map[block.BoxID]time.Time // when each last rang anything
	noise    map[block.BoxID][]signal
	talk     freedom                   // when the bells were in use
	mend     signal                    // 5-3 answered
	danger   time.Time                 // 6 last rung
	spent    map[block.BoxID]time.Time // when each last rang a signal that needs the word
	collared map[block.BoxID]span      // a collar: when it was put on and taken off
	putBack  []back
	tested   time.Time
	broke    signal // the bell failed
	used     bool   // somebody rang or turned while it was dead
	mute     bool   // the telephone failed
}

func (p *pair) other(b block.BoxID) block.BoxID {
	if p.Boxes[0] == b {
		return p.Boxes[1]
	}
	return p.Boxes[0]
}

// box is what the reviewer keeps of a signal box.
type box struct {
	id     block.BoxID
	rang   time.Time // anything, on any circuit
	saw    time.Time // a train
	wrote  time.Time // a remark, or spoke by telephone
	called time.Time // spoke by telephone
	signs  bool      // signs on at all
	fog    bool      // by its own book, with no fogsignalmen out
	warned map[block.TrainID]time.Time
	halted map[block.TrainID]time.Time
	lamps  []told
}

// check is something that is wrong if it still is when its time has come.
type check struct {
	due time.Time
	no  int
	run func()
}

// waiting holds the checks in order of their time.
type waiting struct {
	list []check
	no   int
}

func (w *waiting) Len() int { return len(w.list) }
func (w *waiting) Less(i, j int) bool {
	a, b := &w.list[i], &w.list[j]
	return a.due.Before(b.due) || a.due.Equal(b.due) && a.no < b.no
}
func (w *waiting) Swap(i, j int) { w.list[i], w.list[j] = w.list[j], w.list[i] }
func (w *waiting) Push(x any)    { w.list = append(w.list, x.(check)) }
func (w *waiting) Pop() any {
	last := w.list[len(w.list)-1]
	w.list = w.list[:len(w.list)-1]
	return last
}

// after has something looked at once more than limit has gone since a moment. Longer than means longer.
func (v *reviewer) after(since time.Time, limit time.Duration, run func()) {
	v.wait.no++
	heap.Push(&v.wait, check{due: since.Add(limit), no: v.wait.no, run: run})
}

// ripen looks at everything whose time was over before this moment.
func (v *reviewer) ripen(now time.Time) {
	for v.wait.Len() > 0 && v.wait.list[0].due.Before(now) {
		heap.Pop(&v.wait).(check).run()
	}
}

// stands is the line as it stands.
func (v *reviewer) stands(l *line) block.LineState {
	s, _ := v.r.Line(v.state, l.ID)
	return s
}

func (v *reviewer) settle() time.Duration { return time.Duration(v.r.Layout().Settings.Settle) }

// near tells whether two moments lie within the settling time of each other.
func (v *reviewer) near(a, b time.Time) bool {
	if a.IsZero() || b.IsZero() {
		return false
	}
	d := a.Sub(b)
	return d <= v.settle() && d >= -v.settle()
}

// since tells whether something happened after a moment, that moment included.
func since(what, moment time.Time) bool { return !what.IsZero() && !what.Before(moment) }
