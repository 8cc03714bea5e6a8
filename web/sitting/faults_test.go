package sitting_test

import (
	"iter"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/sim"
	"taillamp/web/sitting"
)

// G10: faults are put in for the person at a box to notice. Each stands in the record as put in; one that he writes down is
// noticed, one that he says nothing of is not; and no neighbour is blamed for the mistake that he was ordered to make.
func TestFaultsArePutInToBeNoticed(t *testing.T) {
	kinds := make(map[string]bool)
	noticed, missed := 0, 0
	for seed := range uint64(16) {
		s := newStage(t, sitting.NewMemory())
		require.NoError(t, s.live.Teach(t.Context(), sim.Options{Seed: seed, Faults: true}, []block.BoxID{os}))
		seat := s.duty(os)
		put := func() []review.PutIn {
			all, err := review.PutInOf(s.live.Rules(), s.live.Entries(t.Context()))
			require.NoError(t, err)
			return all
		}
		end := s.clock.Now().Add(75 * time.Minute)
		wrote := 0
		s.passes(&seat, 2*time.Hour, func() bool {
			if all := put(); len(all) > wrote && seed%2 == 0 { // a watchful one on even evenings
				wrote = len(all)
				s.must(seat, block.Event{Do: block.Remark, Words: "something is wrong"})
			}
			return s.clock.Now().After(end)
		})
		by := make(map[block.BoxID]map[block.RuleID]bool)
		for _, p := range put() {
			require.Equal(t, os, p.Box)
			kinds[p.What[:4]] = true
			if p.Noticed {
				noticed++
			} else {
				missed++
			}
			if _, _, rule, box, ok := block.PutIn(block.Event{Do: block.Remark, Words: block.PutInFor + "OS: " + p.What}); ok && rule != "" {
				if by[box] == nil {
					by[box] = make(map[block.RuleID]bool)
				}
				by[box][rule] = true
			}
		}
		for f, err := range review.Of(s.live.Rules(), iter.Seq2[block.Entry, error](s.live.Entries(t.Context()))) {
			require.NoError(t, err)
			require.False(t, by[f.Box][f.Rule], "%s is blamed on %s, who was ordered", f.Rule, f.Box)
		}
	}
	require.GreaterOrEqual(t, len(kinds), 3, "%v", kinds)
	require.Positive(t, noticed)
	require.Positive(t, missed)
}
