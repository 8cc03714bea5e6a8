package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"taillamp/block"
	"taillamp/sounds"
	"taillamp/sounds/speaker"
	"taillamp/web"
	"taillamp/web/sitting"
)

// buildWithSpeaker is what to do about a program that has no loudspeaker in it.
const buildWithSpeaker = "build one that has: apt install gcc pkg-config libasound2-dev, then go build -tags speaker ./cmd/taillamp " +
	"(Windows needs only the go build, macOS a C compiler first)"

// wall is where bells of some boxes hang: on the loudspeaker of this machine. A sitting goes on whatever becomes of it.
type wall struct {
	boxes   string          // as the command line names them, divided by commas
	speaker speaker.Speaker // nil: nothing rings here
	live    *sitting.Live
	voices  func(block.BoxID, block.CircuitID) string
	say     func(string) // one sentence for the owner

	mu      sync.Mutex
	silent  bool // the owner was told so
	watches []*sitting.Watch
	ended   sync.WaitGroup
}

// openSpeaker opens the loudspeaker of this machine.
func openSpeaker() (speaker.Speaker, error) { return speaker.Open(sounds.Rate) }

// openWall opens the loudspeaker for the bells of some boxes, if any is named. A program built without one is a fault;
// that this machine has none is said, and the wall is bare.
func openWall(boxes string, std stdio, open func() (speaker.Speaker, error)) (*wall, error) {
	w := &wall{boxes: boxes, say: func(sentence string) { fmt.Fprintln(std.Err, "taillamp: "+sentence) }}
	if boxes == "" {
		return w, nil
	}
	s, err := open()
	switch {
	case errors.Is(err, speaker.ErrNotBuilt):
		return nil, fault{code: exitUsage, what: "this taillamp was built without a loudspeaker, so --speaker can do nothing", hint: buildWithSpeaker}
	case err != nil:
		w.say("no loudspeaker of this machine answers, so no bells ring here; the tablets ring all the same")
		return w, nil
	}
	w.speaker = s
	return w, nil
}

// hang lets the bells of its boxes ring from now on.
func (w *wall) hang(ctx context.Context, live *sitting.Live) error {
	if w.boxes == "" {
		return nil
	}
	boxes, err := boxesNamed("--speaker", live.Rules().Layout(), w.boxes)
	if err != nil || w.speaker == nil {
		return err
	}
	w.live, w.voices = live, web.Voices(live.Rules())
	for _, box := range boxes {
		watch, err := live.Watch(ctx, sitting.Seat{Box: box, As: sitting.LooksOn}, sitting.Position{})
		if err != nil {
			return could("", "the bells of %s cannot be hung up: %s", box, lastWords(err))
		}
		w.watches = append(w.watches, watch)
		w.ended.Go(func() { w.listen(box, watch) })
	}
	return nil
}

// boxesNamed are the boxes of a layout by their ids.
func boxesNamed(flag string, l *block.Layout, names string) ([]block.BoxID, error) {
	var known []string
	for _, b := range l.Boxes {
		known = append(known, string(b.ID))
	}
	var boxes []block.BoxID
	for name := range strings.SplitSeq(names, ",") {
		name = strings.ToUpper(strings.TrimSpace(name))
		if !slices.Contains(known, name) {
			return nil, misuse("write "+flag+" "+known[0]+", or some of "+list(known)+" divided by commas",
				"serve: %s: %s has no box %q", flag, l.Title, name)
		}
		if !slices.Contains(boxes, block.BoxID(name)) {
			boxes = append(boxes, block.BoxID(name))
		}
	}
	return boxes, nil
}

// listen rings what comes for one box until the watching ends.
func (w *wall) listen(box block.BoxID, watch *sitting.Watch) {
	defer watch.Close()
	ropes := make(map[block.CircuitID]*sitting.Rope)
	for n := range watch.News {
		for _, c := range n.Changes {
			if s := c.Signal; s != nil && s.By != box && s.Sense == block.Own && s.Key == obstructionDanger {
				w.roll(box, s.Circuit)
			}
		}
		if n.Ring == nil || n.Ring.To != box {
			continue
		}
		if ropes[n.Ring.Circuit] == nil {
			ropes[n.Ring.Circuit] = &sitting.Rope{}
		}
		w.ring(*n.Ring, ropes[n.Ring.Circuit])
	}
	if errors.Is(watch.Why(), sitting.ErrSlow) {
		w.say(fmt.Sprintf("the bells of %s have fallen silent here: this machine is too busy", box))
	}
}

// ring strikes one beat. It waits for nothing.
func (w *wall) ring(r block.Ring, rope *sitting.Rope) {
	v, ok := sounds.FindVoice(w.voices(r.To, r.Circuit))
	if !ok {
		return
	}
	w.speaker.Strike(v, rope.Pull(r.Pressed, w.live.Now()))
	w.watchOver()
}

// obstructionDanger is six beats.
const obstructionDanger block.CodeKey = "obstruction-danger"

// roll follows six beats, as it does on a tablet: the same bell struck so fast, as by a trembler, that nobody counts
// it for a code and nobody misses it.
func (w *wall) roll(box block.BoxID, circuit block.CircuitID) {
	v, ok := sounds.FindVoice(w.voices(box, circuit))
	if !ok {
		return
	}
	for n := range rollStrokes {
		w.speaker.Strike(v, rollAfter+time.Duration(n)*rollApart)
	}
}

// The roll, as web/static/bells.mjs has it.
const (
	rollStrokes = 16
	rollApart   = 70 * time.Millisecond
	rollAfter   = 350 * time.Millisecond // when the last beat has been heard
)

// watchOver says once that the loudspeaker has gone, and once that it is back.
func (w *wall) watchOver() {
	lost := w.speaker.Lost() != nil
	w.mu.Lock()
	defer w.mu.Unlock()
	if lost == w.silent {
		return
	}
	w.silent = lost
	if lost {
		w.say("the loudspeaker of this machine has gone, so no bells ring here; the tablets ring all the same")
		return
	}
	w.say("the loudspeaker of this machine is back, and bells ring here again")
}

// Close takes the bells down and gives the loudspeaker back.
func (w *wall) Close() error {
	for _, watch := range w.watches {
		watch.Close()
	}
	w.ended.Wait()
	if w.speaker == nil {
		return nil
	}
	return w.speaker.Close()
}
