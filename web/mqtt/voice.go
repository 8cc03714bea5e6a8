package mqtt

import (
	"context"
	"errors"
	"sync"
	"time"

	"taillamp/block"
	"taillamp/web/sitting"
)

// voice tells the instruments of one box what its signaller may know.
type voice struct {
	w    *Wires
	box  block.Box
	last map[block.SectionID]block.LineView // as last told
	rung map[block.CircuitID]*sitting.Rope
	beat map[block.CircuitID]time.Time // when the last beat was tapped

	mu    sync.Mutex
	watch *sitting.Watch
}

// struck is one beat for a bell.
type struck struct {
	Circuit block.CircuitID `json:"circuit"`
	Gap     int64           `json:"gap"`
	Wait    int64           `json:"wait"`
	Pressed sitting.Millis  `json:"pressed"`
}

// needleShows and tokenShows are what an indicator shows.
type (
	needleShows struct {
		Section block.SectionID `json:"section"`
		Shows   block.Aspect    `json:"shows"`
		Here    bool            `json:"here"`
		Signal  string          `json:"signal,omitempty"`
		Count   int             `json:"count,omitempty"`
	}
	tokenShows struct {
		Section block.SectionID `json:"section"`
		Shows   block.TokenWord `json:"shows"`
		Tokens  int             `json:"tokens"`
		Release bool            `json:"release"`
	}
)

// codeOver is the gap after which a beat begins a code of its own.
const codeOver = 1500 * time.Millisecond

func newVoice(ctx context.Context, w *Wires, b block.Box) (*voice, error) {
	v := &voice{w: w, box: b, last: make(map[block.SectionID]block.LineView), rung: make(map[block.CircuitID]*sitting.Rope),
		beat: make(map[block.CircuitID]time.Time)}
	return v, v.follow(ctx)
}

// follow begins to watch the box.
func (v *voice) follow(ctx context.Context) error {
	watch, err := v.w.live.Watch(ctx, sitting.Seat{Box: v.box.ID, As: sitting.Fitted}, sitting.Position{})
	if err != nil {
		return err
	}
	v.mu.Lock()
	defer v.mu.Unlock()
	v.watch = watch
	return nil
}

func (v *voice) watching() *sitting.Watch {
	v.mu.Lock()
	defer v.mu.Unlock()
	return v.watch
}

func (v *voice) close() {
	if w := v.watching(); w != nil {
		w.Close()
	}
}

// anew has everything that is retained told once more, in its place between the news.
func (v *voice) anew(ctx context.Context) {
	_ = v.watching().Sync(ctx, sitting.Position{}) // or the sitting has ended
}

// speak tells what comes until the watching ends.
func (v *voice) speak(ctx context.Context) {
	for {
		watch := v.watching()
		for n := range watch.News {
			v.tell(*n)
		}
		watch.Close()
		if !errors.Is(watch.Why(), sitting.ErrSlow) || ctx.Err() != nil || v.follow(ctx) != nil {
			return
		}
	}
}

func (v *voice) tell(n sitting.News) {
	switch {
	case n.Present != nil:
		clear(v.last)
		v.shows(*n.Present.View)
	case n.Ring != nil && n.Ring.To == v.box.ID:
		v.strike(*n.Ring)
	case n.View != nil:
		v.shows(*n.View)
	}
}

// shows tells the whole view and the indicators that changed.
func (v *voice) shows(now block.View) {
	v.w.say(v.w.topic(v.box.ID, view), true, now)
	for _, i := range now.Shelf {
		for _, l := range i.Lines {
			before, known := v.last[l.Section]
			v.last[l.Section] = l
			if known && alike(before, l) {
				continue
			}
			if t := l.Token; t != nil {
				v.w.say(v.w.topic(v.box.ID, token, slug(string(l.Section))), true, tokenShows{l.Section, t.Shows, t.Here, t.Release})
			} else {
				v.w.say(v.w.topic(v.box.ID, needle, slug(string(l.Section))), true, needleShows{l.Section, l.Shows, l.ToMe, l.Signal, l.Count})
			}
			v.w.sayPlain(v.w.homie(slug(string(v.box.ID)), slug(string(l.Section))), true, homieWord(l))
		}
	}
}

func alike(a, b block.LineView) bool {
	if a.Token != nil && b.Token != nil {
		return *a.Token == *b.Token
	}
	return a.Shows == b.Shows && a.Signal == b.Signal && a.Count == b.Count
}

// strike tells one beat.
func (v *voice) strike(r block.Ring) {
	from := v.otherEnd(r.Circuit)
	if v.rung[r.Circuit] == nil {
		v.rung[r.Circuit] = new(sitting.Rope)
	}
	gap := r.Pressed.Sub(v.beat[r.Circuit])
	if v.beat[r.Circuit] = r.Pressed; gap < 0 || gap > codeOver {
		gap = 0
	}
	wait := v.rung[r.Circuit].Pull(r.Pressed, v.w.live.Now())
	v.w.say(v.w.topic(v.box.ID, bell, string(from)), false, struck{r.Circuit, gap.Milliseconds(), wait.Milliseconds(), sitting.MillisOf(r.Pressed)})
	v.w.sayPlain(v.w.homie(slug(string(v.box.ID)), "bell-"+slug(string(from))), false, "true")
}

func (v *voice) otherEnd(c block.CircuitID) block.BoxID {
	for _, k := range v.w.live.Rules().Circuits() {
		if k.ID == c && k.Boxes[0] == v.box.ID {
			return k.Boxes[1]
		}
		if k.ID == c {
			return k.Boxes[0]
		}
	}
	return ""
}
