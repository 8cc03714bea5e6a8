package sim_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/sim"
)

// rungBy are the codes that a box rang, and how long after the last code from elsewhere each began.
func rungBy(entries []block.Entry, box block.BoxID) (codes []string, after []time.Duration) {
	var last time.Time
	for _, e := range entries {
		for _, c := range e.Outcome.Changes {
			switch {
			case c.Code == nil:
			case c.Code.By == box:
				codes = append(codes, c.Code.Beats.String())
				after = append(after, c.Code.First.Sub(last))
			default:
				last = e.Event.At
			}
		}
	}
	return codes, after
}

// G12: the other hand of a recorded sitting is played back: the bells of last week's Ossenwaite to another Ullathwick of
// today. He rings what he rang, and each answer comes as long after what it answers as it came then; who works as the
// people did then gets an evening without a finding.
func TestOtherHandIsPlayedBack(t *testing.T) {
	r, err := block.Embedded("tiny")
	require.NoError(t, err)
	then := work(t, r, sim.Options{Seed: 3, Begins: evening})
	wanted, answered := rungBy(then, "OS")
	require.Greater(t, len(wanted), 20)
	week := evening.AddDate(0, 0, 7)
	again := work(t, r, sim.Options{Seed: 3, Begins: week, Plays: map[block.BoxID]sim.Played{"OS": {Began: evening, Entries: then}}})
	rung, after := rungBy(again, "OS")
	require.Equal(t, wanted, rung, "to the same hand he rings the same")
	require.Equal(t, answered[1:], after[1:])
	trains := 0
	for _, e := range again {
		if e.Event.Do == block.Train && e.Event.Where == block.Passes {
			trains++
		}
	}
	require.Equal(t, len(r.Timetable().Workings), trains, "every train of the evening runs again")

	// A slower hand at Ullathwick: his first answers still come as they came then.
	slow := work(t, r, sim.Options{Seed: 8, Begins: week, Most: time.Hour, Box: map[block.BoxID]sim.Temper{"UL": sim.Slow},
		Plays: map[block.BoxID]sim.Played{"OS": {Began: evening, Entries: then}}})
	rung, after = rungBy(slow, "OS")
	require.GreaterOrEqual(t, len(rung), 3)
	require.Equal(t, wanted[:3], rung[:3])
	require.Equal(t, answered[1:3], after[1:3])
}
