package main

import (
	"context"
	"strings"

	"taillamp/block"
)

// nobody is what --people says where every box is simulated.
const nobody = "none"

// employ has simulated signallers work the boxes that people do not, if --people was given.
func (e *worked) employ(ctx context.Context, people string, seed uint64) error {
	if people == "" {
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
	if err := e.live.Employ(ctx, seed, boxes); err != nil {
		return could("", "the simulated signallers cannot work this sitting: %s", lastWords(err))
	}
	return nil
}
