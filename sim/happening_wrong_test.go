package sim_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/sim"
)

// undone is a record without what ok picks, as if its signallers had left that undone.
func undone(all []block.Entry, picks func(e block.Event) bool) []block.Entry {
	return slices.DeleteFunc(slices.Clone(all), func(e block.Entry) bool { return picks(e.Event) })
}

// unsaid is a record without a signal of a box's, its call for attention and the answers to both.
func unsaid(t *testing.T, all []block.Entry, box block.BoxID, code block.Beats) []block.Entry {
	t.Helper()
	n := slices.IndexFunc(all, func(e block.Entry) bool { return e.Event.By == box && e.Event.Beats.Equal(code) })
	require.Positive(t, n, "%s never rang %s", box, code)
	circuit := all[n].Event.Circuit
	drop := map[uint64]bool{all[n].Seq: true}
	left := 2 // the call and its answer, before
	for _, e := range slices.Backward(all[:n]) {
		if left > 0 && e.Event.Circuit == circuit && e.Event.Do == block.Rung && e.Event.Beats.Equal(block.Beats{1}) {
			drop[e.Seq], left = true, left-1
		}
	}
	for _, e := range all[n+1:] {
		if e.Event.Circuit == circuit && e.Event.By != box && e.Event.Beats.Equal(code) {
			drop[e.Seq] = true
			break
		}
	}
	return slices.DeleteFunc(slices.Clone(all), func(e block.Entry) bool { return drop[e.Seq] })
}

// stepped is what the machine says of those events now.
func stepped(r *block.Rules, all []block.Entry) []block.Entry {
	state := r.Opening(evening)
	var said []block.Entry
	for _, e := range all {
		if next, out, err := r.Step(state, e.Event); err == nil {
			state, e.Outcome = next, out
			said = append(said, e)
		}
	}
	return said
}

// D15: each card of the demo worked wrongly: the day on which it was dealt and worked by the book, with something left undone,
// has just the findings that the card lists (scenario/lathermoor section 7, looked for).
func TestCardsWorkedWrongly(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	day := func(r *block.Rules, h block.Happening, hour, minute int) []block.Entry {
		order := h.Event()
		order.At = at(hour, minute)
		return work(t, r, sim.Options{Seed: 1, Begins: evening, Events: []block.Event{order}})
	}
	found := func(all []block.Entry) []string {
		var rules []string
		for f, err := range review.Of(r, seq(all)) {
			require.NoError(t, err)
			if rule := string(f.Rule) + " " + string(f.Box); !slices.Contains(rules, rule) {
				rules = append(rules, rule)
			}
		}
		return rules
	}
	warned := func(e block.Event) bool {
		return e.Do == block.Driver && e.Where == block.Warned && !strings.Contains(string(e.Section), "Loop") && e.Section != ""
	}

	hot := day(r, block.Happening{Does: block.HotBox, At: "UL", Train: "11"}, 16, 30)
	require.Empty(t, found(hot))
	require.Equal(t, []string{"R59 OS"}, found(undone(hot, func(e block.Event) bool {
		return e.By == "OS" && e.Train == "11" && (e.Where == block.Stopped || e.Where == block.Stands)
	})), "C2: 11 runs through")

	divided := day(r, block.Happening{Does: block.Divided, At: "UL", Train: "3"}, 16, 30)
	require.Empty(t, found(divided))
	require.Equal(t, []string{"R61 UL"}, found(unsaid(t, unsaid(t, divided, "UL", block.Beats{4, 5}), "UL", block.Beats{9})), "C3: neither box is told")
	require.Equal(t, []string{"R61 UL"}, found(unsaid(t, divided, "UL", block.Beats{4, 5})), "C3: the box in rear is not told")
	divided = day(r, block.Happening{Does: block.Divided, At: "UL", Train: "17"}, 17, 30) // with 18 to come the other way
	require.Empty(t, found(divided))
	uncautioned := found(undone(divided, warned))
	require.NotEmpty(t, uncautioned, "C3: drivers go past it uncautioned")
	for _, f := range uncautioned {
		require.True(t, strings.HasPrefix(f, "R60 "), f)
	}

	dead := day(r, block.Happening{Does: block.FailedEngine, At: "SK", Train: "17", Minutes: 25}, 17, 30) // with 21 and 22 to come the other way
	require.Empty(t, found(dead))
	require.Equal(t, []string{"R63 SK"}, found(undone(unsaid(t, dead, "UL", block.Beats{6, 2}), warned)), "C5: nothing is asked")

	token := day(r, block.Happening{Does: block.TokenFails, At: "TO"}, 17, 0)
	require.Empty(t, found(token))
	onTheBell := found(stepped(r, undone(token, func(e block.Event) bool { return e.Do == block.Pilot })))
	require.NotEmpty(t, onTheBell)
	for _, f := range onTheBell {
		require.True(t, strings.HasPrefix(f, "TK-01 ") || strings.HasPrefix(f, "OC-0"), "C4: %s", f)
	}

	header, err := block.EmbeddedHeader("lathermoor")
	require.NoError(t, err)
	header.Layout = strings.Replace(header.Layout, `fogRule = "double"`, `fogRule = "off"`, 1)
	careless, err := header.Rules()
	require.NoError(t, err)
	fog := found(day(careless, block.Happening{Does: block.FogFalls, Minutes: 30}, 17, 40))
	require.NotEmpty(t, fog, "C6: acceptances that looked one section only")
	for _, f := range fog {
		require.True(t, strings.HasPrefix(f, "FG-01 "), f)
	}
}
