package main

import (
	"context"
	"strings"

	"taillamp/block"
	"taillamp/sim"
)

// nobody is what --people says where every box is simulated.
const nobody = "none"

// employ has simulated signallers work the boxes that people do not, if --people was given, and one box by a hand of an
// earlier sitting, if --plays was.
func (e *worked) employ(ctx context.Context, people, played string, faults bool, seed uint64) error {
	if people == "" {
		if faults {
			return misuse("--people OS --faults", "serve: --faults needs --people, the boxes that people work")
		}
		if played != "" {
			return misuse("--people UL --plays OS=club.jsonl", "serve: --plays needs --people, the boxes that people work")
		}
		return nil
	}
	var boxes []block.BoxID
	var names []string
	for _, id := range strings.Split(people, ",") {
		if id = strings.ToUpper(strings.TrimSpace(id)); strings.EqualFold(id, nobody) {
			continue
		}
		if err := knownBox(e.live.Rules(), id); err != nil {
			return err
		}
		boxes = append(boxes, block.BoxID(id))
		names = append(names, id)
	}
	e.people = strings.Join(names, ", ")
	if len(names) == 0 {
		e.people = nobody
	}
	if played != "" {
		return e.playBack(ctx, played, sim.Options{Seed: seed, Faults: faults}, boxes)
	}
	if err := e.live.Teach(ctx, sim.Options{Seed: seed, Faults: faults}, boxes); err != nil {
		return could("", "the simulated signallers cannot work this sitting: %s", lastWords(err))
	}
	return nil
}

// playBack has one box worked by the hand of a kept sitting: "OS=club.jsonl".
func (e *worked) playBack(ctx context.Context, played string, o sim.Options, people []block.BoxID) error {
	id, file, both := strings.Cut(played, "=")
	if !both || file == "" {
		return misuse("--plays OS=club.jsonl", "serve: --plays cannot be %q", played)
	}
	box := strings.ToUpper(id)
	if err := knownBox(e.live.Rules(), box); err != nil {
		return err
	}
	s, err := openSitting(file)
	if err != nil {
		return err
	}
	if s.header.Layout != e.live.Header().Layout {
		return bad("%s is a sitting of another layout than this one: a hand can be played back on its own line only", file)
	}
	if e.how != "begins" {
		return could("--fresh begins another sitting", "a hand is played back from the beginning of a sitting, and %s goes on", e.live.Name())
	}
	hand := sim.Played{Began: s.header.Began}
	for x, broken := range s.entries() {
		if broken != nil {
			return s.broken(broken)
		}
		hand.Entries = append(hand.Entries, x)
	}
	o.Plays = map[block.BoxID]sim.Played{block.BoxID(box): hand}
	if err := e.live.Teach(ctx, o, people); err != nil {
		return could("", "that hand cannot be played back: %s", lastWords(err))
	}
	return nil
}
