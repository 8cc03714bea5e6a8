package sim_test

import (
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/sim"
)

// lapse is something that came later than a rule allows, as the bare record shows it.
type lapse struct {
	rule block.RuleID
	box  block.BoxID
	at   time.Time
}

// lapsesOf looks for lapses with nothing but a stopwatch on the record: a call for attention that waited a minute while
// the other box did nothing (R03), a train that left with no 2 in a minute (R33), a train seen by whole with no 2-1, nor a
// call for it, in two (R40); the single line, whose rules have limits of their own, aside. It knows no more of the reviewer than the limits in the reference, absolute block 7.
func lapsesOf(entries []block.Entry) []lapse {
	var found []lapse
	type key struct {
		circuit block.CircuitID
		by      block.BoxID
	}
	did := make(map[block.BoxID]time.Time) // when each last did or saw anything
	calls := make(map[key]time.Time)       // waiting for their answer
	left, by := make(map[block.SectionID]block.Event), make(map[block.SectionID]block.Event)
	for _, e := range entries {
		now := e.Event.At
		for id, o := range by { // order does not matter: the list is not looked at in order
			if now.Sub(o.At) > 2*time.Minute {
				if !did[o.By].After(o.At) {
					found = append(found, lapse{"R40", o.By, o.At})
				}
				delete(by, id)
			}
		}
		for k, at := range calls {
			if now.Sub(at) <= time.Minute {
				continue
			}
			for box, last := range did {
				if box != k.by && strings.Contains("-"+string(k.circuit)+"-", "-"+string(box)+"-") && !last.After(at) {
					found = append(found, lapse{"R03", box, at})
				}
			}
			delete(calls, k)
		}
		if e.Event.Do == block.Train && !strings.Contains(string(e.Event.Section), "Single") {
			delete(by, e.Event.Section)
			switch e.Event.Where {
			case block.Leaves:
				left[e.Event.Section] = e.Event
			case block.Passes:
				by[e.Event.Section] = e.Event
			}
		}
		for _, c := range e.Outcome.Changes {
			s := c.Signal
			switch {
			case s == nil:
			case s.Key == "call-attention" && s.Sense == block.Own:
				if _, waits := calls[key{s.Circuit, s.By}]; !waits {
					calls[key{s.Circuit, s.By}] = s.First
				}
			case s.Key == "call-attention" && s.Sense == block.Answer:
				for k := range calls {
					if k.circuit == s.Circuit && k.by != s.By {
						delete(calls, k)
					}
				}
			case s.Key == "entering-section" && s.Sense == block.Own:
				if o, ok := left[s.Section]; ok && s.First.Sub(o.At) > time.Minute {
					found = append(found, lapse{"R33", s.By, o.At})
				}
				delete(left, s.Section)
			case s.Key == "out-of-section" && s.Sense == block.Own:
				delete(by, s.Section)
			}
		}
		if e.Event.By != "" {
			did[e.Event.By] = now
		}
	}
	return found
}

// instead are the rules that are found in the place of another: 2 still wanting when the train is by is R31.
var instead = map[block.RuleID][]block.RuleID{"R33": {"R31"}}

// One signaller of the demo is forgetful: he is away from his bells a minute or three, one time in ten. Every lapse of his
// that breaks a rule is found; no train is lost or stuck for ever (G2, G3). TAILLAMP_SEEDS says at how many seeds; the full
// run is 1,000.
func TestForgetfulSignallerIsFoundOut(t *testing.T) {
	seeds := 10
	if n, err := strconv.Atoi(os.Getenv("TAILLAMP_SEEDS")); err == nil {
		seeds = n
	}
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	boxes := []block.BoxID{"OS", "UL", "QU", "TO", "SK", "HX"}
	lapses, findings := 0, 0
	for seed := range uint64(seeds) {
		who := boxes[seed%uint64(len(boxes))]
		all := work(t, r, sim.Options{Seed: seed, Begins: evening, Box: map[block.BoxID]sim.Temper{who: sim.Forgetful}})
		for _, k := range r.Timetable().Workings {
			come := len(k.Calls) == 0 || slices.ContainsFunc(all, func(e block.Entry) bool {
				return e.Event.Do == block.Train && e.Event.Train == k.Train && e.Event.By == k.To && e.Event.Where == block.Heads
			})
			require.True(t, come, "seed %d, %s forgetful: train %s never came to %s", seed, who, k.Train, k.To)
		}
		var found []review.Finding
		for f, err := range review.Of(r, seq(all)) {
			require.NoError(t, err)
			found = append(found, f)
			require.NotEqual(t, block.Dangerous, f.Severity, "seed %d: who is slow endangers nobody: %s at %s", seed, f.Rule, f.Box)
		}
		findings += len(found)
		for _, l := range lapsesOf(all) {
			lapses++
			require.Equal(t, who, l.box, "seed %d: nobody else is away so long", seed)
			require.True(t, slices.ContainsFunc(found, func(f review.Finding) bool {
				return (f.Rule == l.rule || slices.Contains(instead[l.rule], f.Rule)) && f.Box == l.box && f.At.Equal(l.at)
			}), "seed %d: %s at %s at %s was not found", seed, l.rule, l.box, l.at.Format("15:04:05"))
		}
	}
	require.Positive(t, lapses, "he never forgot anything: the test looks at nothing")
	t.Logf("%d evenings, %d lapses found by the stopwatch, %d findings in all", seeds, lapses, findings)
}
