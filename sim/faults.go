package sim

import (
	"fmt"
	"slices"
	"time"

	"taillamp/block"
)

// Faults put in for a person to notice (G10): now and then a neighbour makes a mistake by order, a train comes without its
// lamp, or a needle sticks. Each is recorded as put in, so that the review blames nobody for it and can tell afterwards
// whether it was noticed.

// The time between two faults: as the world's luck has it, no source.
const (
	faultsLeast = 4 * 60 // seconds
	faultsMost  = 9 * 60
	sticks      = 3 * time.Minute // how long a needle does not follow its handle
	lampLooked  = 4 * time.Minute // until a train without its lamp has been found whole
)

// putIn has faults come as long as the sitting lasts.
func (w *world) putIn() {
	if !w.o.Faults {
		return
	}
	c := newChance(w.o.Seed, "faults")
	var next func()
	next = func() {
		w.fault1(c)
		w.at(w.now.Add(c.seconds(faultsLeast, faultsMost)), next)
	}
	w.at(w.now.Add(c.seconds(faultsLeast, faultsMost)), next)
}

// seconds draws a time between two, in seconds.
func (c chance) seconds(least, most int) time.Duration {
	return time.Duration(least+c.r.IntN(most-least)) * time.Second
}

// fault1 puts in one fault at some box that a person works, if the moment is fit for it.
func (w *world) fault1(c chance) {
	var with []*person
	for _, p := range w.people {
		if v := w.r.View(w.state, p.Box); p.absent && v.OnDuty && w.hands[p.Box] == nil {
			with = append(with, p)
		}
	}
	if len(with) == 0 {
		return
	}
	p := with[c.r.IntN(len(with))]
	switch c.r.IntN(4) {
	case 0:
		w.bends = append(w.bends, w.ordered(p, "R10"))
	case 1:
		w.bends = append(w.bends, w.ordered(p, "R38"))
	case 2:
		if id, ok := w.needleSticks(p); ok {
			l, _ := w.r.Line(w.state, id)
			w.at(w.now.Add(sticks), func() {
				w.record(block.Event{Do: block.Fault, Circuit: l.Section.Circuit, Section: id, Where: block.AtNeedle, Off: true})
			})
		}
	default:
		w.lampLost(p)
	}
	w.everyBody()
}

// ordered is a mistake by whoever of the person's neighbours comes to the moment first.
func (w *world) ordered(p *person, rule block.RuleID) Bend {
	b, _ := Mistake(rule)
	b.From = w.now
	if with := w.neighbours(p); len(with) > 0 {
		b.Box = with[len(w.bends)%len(with)]
	}
	b.Made = func(by block.BoxID, _ time.Time) { w.records(p, string(rule)+" by "+string(by)) }
	return b
}

// neighbours are the simulated signallers at the other ends of a person's absolute lines.
func (w *world) neighbours(p *person) []block.BoxID {
	var with []block.BoxID
	for _, c := range w.circuits {
		i := slices.Index(c.Boxes[:], p.Box)
		if i >= 0 && w.r.Works(w.state, c.ID) && c.Method == "absolute" && !w.of[c.Boxes[1-i]].absent {
			with = append(with, c.Boxes[1-i])
		}
	}
	return with
}

// needleSticks has a needle of the person's not follow its handle, and tells which; false if none can be.
func (w *world) needleSticks(p *person) (block.SectionID, bool) {
	for _, id := range p.toMe {
		l, ok := w.r.Line(w.state, id)
		if !ok || l.NeedleDead || l.Section.Method != "absolute" {
			continue
		}
		w.record(block.Event{Do: block.Fault, Circuit: l.Section.Circuit, Section: id, Where: block.AtNeedle})
		w.records(p, "needle of "+string(id))
		return id, true
	}
	return "", false
}

// lampLost has the next train that comes to the person's box go by without its tail lamp.
func (w *world) lampLost(p *person) {
	for _, v := range p.calls {
		t := v.t
		if v.k == 0 || t.at != v.k-1 || !t.running || t.lost != 0 || t.way[v.k-1].Method != "absolute" {
			continue
		}
		t.lost = v.k
		sec := t.way[v.k-1].ID
		w.records(p, "no tail lamp on train "+string(t.Train))
		w.at(w.now.Add(lampLooked+w.span(t.due.Sub(w.now))), func() {
			if l, ok := w.r.Line(w.state, sec); ok && l.Doubt {
				w.record(block.Event{Do: block.Told, By: p.Box, Section: sec, Train: t.Train})
			}
		})
		return
	}
}

// records says in the record what was put in, and for whom.
func (w *world) records(p *person, what string) {
	w.record(block.Event{Do: block.Remark, Words: fmt.Sprintf("%s%s: %s", block.PutInFor, p.Box, what)})
}
