package sim

import (
	"iter"
	"slices"
	"time"

	"taillamp/block"
)

// script is a mistake being made, and what goes with it: told one act after another, waiting as long as it takes for
// the other boxes to answer in their own time. Once a wait has been in vain nothing more is done but what must be put
// right again.
type script struct {
	moment
	b      *Bend
	c      chance
	me     block.BoxID // whose moment it was
	other  block.BoxID // the box at the other end of the line
	fault  block.BoxID // who makes the mistake
	done   bool        // it has been made
	vain   bool        // it has not come to pass
	yield  func(time.Time) bool
	stop   func()
	on     block.SectionID // by which a train without its lamp went on
	leave  []omission
	blind  []blindness
	mute   []block.SectionID // lines into which no driver is told anything
	warned []block.SectionID // lines into which every driver is cautioned
	bars   []block.SectionID // lines into which no train is sent
}

// omission is what a signaller leaves undone.
type omission struct {
	box block.BoxID
	of  func(a *block.Advice) bool
}

// blindness is what a signaller does not see.
type blindness struct {
	box block.BoxID
	to  func(v *block.View)
}

// play begins a script.
func (w *world) play(b *Bend, m moment) {
	s := &script{moment: m, b: b, c: newChance(w.o.Seed, "bend "+string(b.Rule)), me: m.p.Box, fault: m.p.Box}
	if m.i != nil {
		i := *m.i // the view is a passing one
		s.moment.i, s.other = &i, i.To
	}
	if m.l != nil {
		l := *m.l
		s.moment.l = &l
	}
	next, stop := iter.Pull(func(yield func(time.Time) bool) {
		s.yield = yield
		b.err.plays(s)
	})
	s.stop = stop
	w.scripts = append(w.scripts, s)
	w.goOn(s, next)
}

// goOn has a script run until it waits again.
func (w *world) goOn(s *script, next func() (time.Time, bool)) {
	at, ok := next()
	if ok {
		w.at(at, func() { w.goOn(s, next) })
		return
	}
	w.scripts = slices.DeleteFunc(w.scripts, func(o *script) bool { return o == s })
	w.everyBody()
}

// everyBody has all signallers look again.
func (w *world) everyBody() {
	for _, p := range w.people {
		w.at(w.now, func() { w.wake(p) })
	}
}

// endScripts ends what is still being played when the day ends.
func (w *world) endScripts() {
	for _, s := range slices.Clone(w.scripts) {
		s.stop()
	}
}

// omits tells whether some script has the box leave that undone.
func (w *world) omits(box block.BoxID, a block.Advice) bool {
	for _, s := range w.scripts {
		for _, o := range s.leave {
			if o.box == box && o.of(&a) {
				return true
			}
		}
	}
	return false
}

// tellsDriver has the driver of a train that is about to leave cautioned, where a script says so.
func (w *world) tellsDriver(t *train, sec block.SectionID) {
	for _, s := range w.scripts {
		if slices.Contains(s.warned, sec) && !w.of[t.Calls[t.at].Box].absent {
			w.record(block.Event{Do: block.Driver, By: t.Calls[t.at].Box, Section: sec, Where: block.Warned, Train: t.Train})
		}
	}
}

// tellsNobody tells whether some script has no driver told that the line is occupied.
func (w *world) tellsNobody(sec block.SectionID) bool {
	return slices.ContainsFunc(w.scripts, func(s *script) bool { return slices.Contains(s.mute, sec) })
}

// overlooks takes out of a view what its signaller does not see.
func (w *world) overlooks(v *block.View) {
	for _, s := range w.scripts {
		for _, b := range s.blind {
			if b.box == v.Box {
				b.to(v)
			}
		}
	}
}

// pause lets time pass.
func (s *script) pause(d time.Duration) {
	if !s.vain && !s.yield(s.w.now.Add(d)) {
		s.vain = true
	}
}

// between is a time drawn between two, in seconds.
func (s *script) between(least, most int) time.Duration {
	return time.Duration(least*1000+s.c.r.IntN((most-least)*1000)) * time.Millisecond
}

// until waits for something to come true, but not for ever.
func (s *script) until(limit time.Duration, so func() bool) {
	for end := s.w.now.Add(limit); !s.vain && !so(); s.pause(time.Second / 2) {
		if s.w.now.After(end) {
			s.vain = true
		}
	}
}

// only goes on only if something is so.
func (s *script) only(so bool) {
	if !so {
		s.vain = true
	}
}

// made notes that the mistake has been made.
func (s *script) made() {
	if !s.vain && !s.done {
		s.done = true
		if s.b.Made != nil {
			s.b.Made(s.fault, s.w.now)
		}
	}
}

// does has something happen, if the script has come so far.
func (s *script) does(e block.Event) {
	p := s.w.of[e.By]
	if p != nil && p.absent {
		s.vain = true // a person works that box, and does what he likes
	}
	if p == nil {
		s.record(e)
		return
	}
	if e.Do == block.Rung {
		s.until(time.Minute, func() bool { return !s.w.now.Before(p.free) })
	}
	if !s.vain {
		s.w.does(p, e)
	}
}

// record has something happen that nobody does.
func (s *script) record(e block.Event) {
	if !s.vain {
		s.w.record(e)
	}
}

// mends has something happen that puts an end to what was done, however far the script has come.
func (s *script) mends(e block.Event) { s.w.record(e) }

// omit has a box leave something undone from now on.
func (s *script) omit(box block.BoxID, of func(a *block.Advice) bool) {
	if !s.vain {
		s.leave = append(s.leave, omission{box, of})
	}
}

// overlook has a box not see something from now on.
func (s *script) overlook(box block.BoxID, to func(v *block.View)) {
	if !s.vain {
		s.blind = append(s.blind, blindness{box, to})
	}
}

// minds ends what is left undone and not seen.
func (s *script) minds() {
	s.leave, s.blind = nil, nil
	s.w.everyBody()
}

// busy has a box say nothing else of its own accord to its neighbour, but take what he says.
func (s *script) busy(box block.BoxID) {
	c := s.i.Circuit
	s.omit(box, func(a *block.Advice) bool { return a.Circuit == c && a.Pressing() == 3 })
}

// turnsNot has a box leave the needle of the line as it is; with a show given, not turn it to that alone.
func (s *script) turnsNot(box block.BoxID, show block.Aspect) {
	sec := s.l.Section
	s.omit(box, func(a *block.Advice) bool {
		return a.Do == block.Turn && a.Section == sec && (show == "" || a.Show == show)
	})
}

// acceptsNot has a box accept nothing on the line.
func (s *script) acceptsNot(box block.BoxID) {
	sec := s.l.Section
	s.omit(box, func(a *block.Advice) bool { return a.Answers && a.Section == sec && s.isClass(a.Key) })
}

func (s *script) isClass(k block.CodeKey) bool {
	c, ok := s.book().Key(k)
	return ok && c.Train
}

func (s *script) book() *block.CodeBook {
	c, _ := s.w.circuit(s.i.Circuit)
	return c.Book
}

// beats is the code of that key in the circuit's book.
func (s *script) beats(k block.CodeKey) block.Beats {
	c, _ := s.book().Key(k)
	return c.Beats
}

// sees is the instrument as a box has it now.
func (s *script) sees(box block.BoxID) block.Instrument {
	for _, i := range s.w.r.View(s.w.state, box).Shelf {
		if i.Circuit == s.i.Circuit {
			return i
		}
	}
	return block.Instrument{}
}

// line is the line as it stands now.
func (s *script) line() block.LineState {
	l, _ := s.w.r.Line(s.w.state, s.l.Section)
	return l
}

// stands waits until the line stands so.
func (s *script) stands(limit time.Duration, so func(l block.LineState) bool) {
	s.until(limit, func() bool { return so(s.line()) })
}

// calls has a box call attention, when nothing else is being said, and wait for the answer.
func (s *script) calls(box block.BoxID) {
	s.busy(box)
	for wait := true; wait && !s.vain; wait = !s.free(box) {
		s.until(3*time.Minute, func() bool { return s.free(box) })
		s.pause(s.between(2, 4))
	}
	if s.sees(box).Has == box {
		return
	}
	s.rings(box, "call-attention", "")
	s.until(2*time.Minute, func() bool { return s.sees(box).Has == box && s.hushed() })
	s.pause(s.between(2, 4))
}

// free tells whether a box may speak: nobody is speaking, and nothing waits for an answer.
func (s *script) free(box block.BoxID) bool {
	i := s.sees(box)
	return i.Called == "" && (i.Has == "" || i.Has == box) && len(i.Waiting) == 0 && s.hushed()
}

// hushed tells whether no code is being rung.
func (s *script) hushed() bool { return !s.w.ringing[s.i.Circuit].After(s.w.now) }

// rings has a box ring a code.
func (s *script) rings(box block.BoxID, k block.CodeKey, t block.TrainID) {
	s.ring(box, s.beats(k), t)
}

func (s *script) ring(box block.BoxID, b block.Beats, t block.TrainID) {
	s.until(time.Minute, s.hushed)
	s.does(block.Event{Do: block.Rung, By: box, Circuit: s.i.Circuit, Beats: b, Train: t})
}

// answered waits until nothing that the box has rung, offers aside, waits for its answer.
func (s *script) answered(box block.BoxID) {
	s.until(2*time.Minute, func() bool {
		return !slices.ContainsFunc(s.sees(box).Waiting, func(w block.Pending) bool { return w.By == box }) && s.hushed()
	})
	s.pause(s.between(2, 4))
}

// says has a box call attention, ring a code and wait for its answer.
func (s *script) says(box block.BoxID, k block.CodeKey) {
	s.calls(box)
	s.rings(box, k, "")
	s.answered(box)
}

// offers has a box call attention and offer a train.
func (s *script) offers(box block.BoxID, t *train) {
	s.calls(box)
	s.ring(box, t.Code, t.Train)
}

// turns has the box in advance turn the needle.
func (s *script) turns(box block.BoxID, show block.Aspect) {
	s.does(block.Event{Do: block.Turn, By: box, Section: s.l.Section, Show: show})
}

// fouls has something stand in the line's way.
func (s *script) fouls(box block.BoxID, where block.Place) {
	s.does(block.Event{Do: block.Foul, By: box, Section: s.l.Section, Where: where})
}

// frees takes it away.
func (s *script) frees(box block.BoxID) {
	if s.line().Foul != "" {
		s.mends(block.Event{Do: block.Foul, By: box, Section: s.l.Section, Off: true})
	}
}

// holds keeps a train that waits from going for so long.
func (s *script) holds(t *train, d time.Duration) {
	if from := s.w.now.Add(d); !s.vain && t.from.Before(from) {
		t.from = from
		s.w.at(from, func() { s.w.go1(t) })
	}
}

// releases lets a train go again that was held: it keeps its place before others.
func (s *script) releases(t *train) {
	if t.from.After(s.w.now) {
		t.from = s.w.now
		s.w.at(s.w.now, func() { s.w.go1(t) })
	}
}

// sends has a train go, whatever its signals say.
func (s *script) sends(t *train) {
	if s.vain || !t.waits {
		s.vain = true
		return
	}
	t.going = true
	if t.passing {
		s.w.sees(t, block.Heads, block.LampUnseen)
	}
	s.w.leaves(t, s.w.now.Add(-toSignal), tailBy-toSignal)
}
