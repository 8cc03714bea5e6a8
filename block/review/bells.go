package review

import (
	"slices"
	"time"

	"taillamp/block"
)

// Limits of the rules about bells.
const (
	calledLimit   = 120 * time.Second // R02
	answerLimit   = 60 * time.Second  // R03
	sureLimit     = 90 * time.Second  // R06
	noiseLimit    = 60 * time.Second  // R07
	noiseGroups   = 3
	correctedSoon = 15 * time.Second // R04: put right at once
)

// heard is a group of beats at its end, whatever it means.
func (v *reviewer) heard(h *block.Heard) {
	p := v.pairs[h.Circuit]
	if p.groups == nil {
		p.groups = make(map[block.BoxID]time.Time)
	}
	p.groups[h.By] = h.First
	p.talk.talked(h.First)
	v.boxes[h.By].rang = h.First
	v.rung[rung{h.By, h.First.UnixNano()}] = v.seq
	if p.broke.is() {
		p.used = true
	}
	if h.Joined { // what had no sense was the half of a code
		v.found = slices.DeleteFunc(v.found, func(f Finding) bool {
			return f.Rule == "R04" && f.Box == h.By && f.At.Equal(h.First)
		})
	}
}

// signal follows a bell signal as it was understood.
func (v *reviewer) signal(s *block.Signal) {
	p := v.pairs[s.Circuit]
	sig := signal{at: s.First, seq: v.rung[rung{s.By, s.First.UnixNano()}], beats: s.Beats, key: s.Key, by: s.By, sense: s.Did}
	l := v.lines[s.Section]
	switch {
	case s.Key == "call-attention":
		v.callAttention(p, s, sig)
	case s.Sense == block.Own:
		v.unanswered(p, l, s, sig)
		v.ownSignal(p, l, s, sig)
	case s.Sense == block.Answer:
		v.answered(p, l, s, sig)
	}
}

// ownSignal passes a signal on to the rules it can concern.
func (v *reviewer) ownSignal(p *pair, l *line, s *block.Signal, sig signal) {
	if s.Key == "testing" {
		p.tested = s.First
	}
	if s.Did != block.Entering {
		if p.spent == nil {
			p.spent = make(map[block.BoxID]time.Time)
		}
		p.spent[s.By] = s.First
	}
	switch {
	case l == nil || l.atOnce:
		return
	case l.tokens != nil:
		l.tokens.own(v, l, s, sig)
		return
	case l.goods != nil:
		l.goods.own(v, l, s, sig)
		return
	}
	switch s.Did {
	case block.Offered:
		v.offers(l, sig)
	case block.Warning:
		v.warns(l, sig)
	case block.Entering:
		v.rings2(l, sig)
	case block.OutOf:
		v.givesOut(l, sig)
	case block.Cancelled:
		v.cancels(l, sig)
	case block.Removed:
		l.blocked, l.divided = signal{}, signal{}
	case block.Across:
		v.ringsAcross(p, l, sig)
	}
}

// answered passes the repetition of a signal on to the rules it can concern.
func (v *reviewer) answered(p *pair, l *line, s *block.Signal, sig signal) {
	own := signal{at: s.To, seq: v.rung[rung{p.other(s.By), s.To.UnixNano()}], beats: s.Beats, key: s.Key, by: p.other(s.By)}
	switch {
	case s.Key == "wrong-description":
		v.describesWrongly(p, l, own, sig)
	case l == nil || l.atOnce:
	case l.tokens != nil:
		l.tokens.answered(v, l, s, own, sig)
	case l.goods != nil:
		l.goods.answered(v, l, s, own, sig)
	case s.Did == block.Mended:
		l.mended(sig)
	case s.Did == block.Accepted || s.Did == block.AcceptedW:
		v.accepts(l, sig, own, s.Did == block.AcceptedW)
	case s.Did == block.Entering:
		v.entering(l, sig)
	case s.Did == block.OutOf:
		v.isOut(l, own, sig)
	case s.Did == block.Cancelled:
		v.isCancelled(l, own, sig)
	case s.Did == block.Removed:
		l.blocked, l.divided = signal{}, signal{}
	default:
		v.answersAcross(p, l, own, sig)
	}
}

// callAttention is one beat or its answer.
func (v *reviewer) callAttention(p *pair, s *block.Signal, sig signal) {
	if p.calls == nil {
		p.calls, p.answer = make(map[block.BoxID]signal), make(map[block.BoxID]time.Time)
	}
	if s.Sense == block.Own {
		p.calls[s.By] = sig
		delete(p.answer, s.By)
		v.slowAnswer(p, sig)
		return
	}
	caller := p.other(s.By)
	p.answer[caller] = s.First
	v.calledAndNothing(p, caller, s)
}

// calledAndNothing is R02: attention was called and answered, and nothing followed.
func (v *reviewer) calledAndNothing(p *pair, caller block.BoxID, s *block.Signal) {
	call := p.calls[caller]
	answered := s.First
	v.after(answered, calledLimit, func() {
		spoke := since(v.boxes[caller].called, call.at) || since(v.boxes[s.By].called, call.at)
		after := p.groups[caller].After(call.at) || p.groups[s.By].After(answered)
		if !spoke && !after && call.is() {
			v.add("R02", caller, call.at, nil, call.seq)
		}
	})
}

// slowAnswer is R03: a call, a 2 or a 2-1 waited more than a minute for its answer.
func (v *reviewer) slowAnswer(p *pair, sig signal) {
	by := p.other(sig.by)
	v.after(sig.at, answerLimit, func() {
		b := v.boxes[by]
		busy := since(b.rang, sig.at) || since(b.saw, sig.at)
		if !busy && v.r.OnDuty(v.state, by) && v.r.Works(v.state, p.ID) && !p.broke.is() {
			v.add("R03", by, sig.at, nil, sig.seq)
		}
	})
}

// unanswered watches a signal that must be made sure of.
func (v *reviewer) unanswered(p *pair, l *line, s *block.Signal, sig signal) {
	switch s.Key {
	case "entering-section", "out-of-section", "obstruction-removed":
		v.slowAnswer(p, sig)
	case "obstruction-danger", "stop-and-examine", "no-tail-lamp-adv", "no-tail-lamp-rear", "divided", "runaway-right", "runaway-wrong":
	case "cancelling":
		v.after(sig.at, sureLimit, func() {
			if !v.isAnswered(p, sig) {
				v.addAs("R44", block.Tell, sig.by, sig.at, l, "", sig.seq)
			}
		})
		return
	default:
		return
	}
	v.leftUnanswered(p, l, sig)
}

// leftUnanswered is R06: the signal was neither answered nor repeated.
func (v *reviewer) leftUnanswered(p *pair, l *line, sig signal) {
	v.after(sig.at, sureLimit, func() {
		if v.isAnswered(p, sig) || p.broke.is() || !v.r.OnDuty(v.state, p.other(sig.by)) || !v.r.Works(v.state, p.ID) {
			return
		}
		if again := v.lastOwn(p, sig); again.After(sig.at) {
			return
		}
		v.add("R06", sig.by, sig.at, l, sig.seq)
	})
}

// isAnswered tells whether a signal no longer waits for its repetition.
func (v *reviewer) isAnswered(p *pair, sig signal) bool {
	for _, w := range v.r.Unanswered(v.state, p.ID, sig.by) {
		if w.First.Equal(sig.at) {
			return false
		}
	}
	return true
}

// lastOwn is when the box last rang those beats on the circuit, if they still wait.
func (v *reviewer) lastOwn(p *pair, sig signal) time.Time {
	for _, w := range v.r.Unanswered(v.state, p.ID, sig.by) {
		if w.Beats.Equal(sig.beats) {
			return w.First
		}
	}
	return time.Time{}
}

// senseless watches for R07, the bells used for conversation, and lets a slip go that was put right at once.
func (v *reviewer) senseless(i block.Irregularity) {
	for _, c := range v.r.Circuits() {
		p := v.pairs[c.ID]
		if at, ok := p.groups[i.Box]; !ok || !at.Equal(i.At) {
			continue
		}
		if p.noise == nil {
			p.noise = make(map[block.BoxID][]signal)
		}
		n := append(p.noise[i.Box], signal{at: i.At, seq: v.seq})
		if k := len(n) - noiseGroups; k >= 0 && n[len(n)-1].at.Sub(n[k].at) <= noiseLimit && v.now.Sub(p.tested) > testHold {
			v.add("R07", i.Box, n[k].at, nil, n[k].seq, v.seq)
			n = nil
		}
		p.noise[i.Box] = n
		v.correctedAtOnce(p, i)
	}
}

// correctedAtOnce takes R04 back if the sender rang a signal that has a meaning straight after: a tempo slip, or a
// wrong code put right.
func (v *reviewer) correctedAtOnce(p *pair, i block.Irregularity) {
	n := len(v.found) - 1
	noise := len(p.noise[i.Box])
	v.after(i.At, correctedSoon, func() {
		if p.groups[i.Box].After(i.At) && len(p.noise[i.Box]) <= noise {
			v.found[n].Rule = leftAlone
		}
	})
}

// leftAlone marks a finding that turned out to be none.
const leftAlone block.RuleID = "-"

// testHold is how long needles may be worked through their positions after 16.
const testHold = 120 * time.Second

// leaveAlone drops what turned out to be none, and the lever that only went before the train that it let out.
func (v *reviewer) leaveAlone() {
	v.found = slices.DeleteFunc(v.found, func(f Finding) bool {
		if f.Rule == leftAlone {
			return true
		}
		lever := (f.Rule == "R29" || f.Rule == "R30") && f.Severity == block.Irregular
		return lever && slices.ContainsFunc(v.found, func(g Finding) bool {
			return g.Rule == f.Rule && g.Severity == "" && g.Section == f.Section && !g.At.Before(f.At) && v.sameLever(f, g)
		})
	})
}

// sameLever tells whether the signal was not put back between the pull and the train.
func (v *reviewer) sameLever(pull, passed Finding) bool {
	l := v.lines[pull.Section]
	for _, m := range l.pair.backs(l) {
		if m.After(pull.At) && m.Before(passed.At) {
			return false
		}
	}
	return true
}
