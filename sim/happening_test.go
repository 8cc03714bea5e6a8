package sim_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/sim"
)

// dealt is the demo's day with every box simulated and something ordered at a time of it, and the same day without.
type dealt struct {
	*testing.T
	r         *block.Rules
	seed      uint64
	with, off []block.Entry
}

// at is a moment of the demo's day.
func at(hour, minute int) time.Time {
	return evening.Truncate(24 * time.Hour).Add(time.Duration(hour)*time.Hour + time.Duration(minute)*time.Minute)
}

// deals works the day with an order and without, over several seeds, asks that nothing is irregular and that every train
// gets to its last box, and lets each be looked at.
func deals(t *testing.T, h block.Happening, when time.Time, looks func(d *dealt)) {
	t.Helper()
	header, err := block.EmbeddedHeader("lathermoor")
	require.NoError(t, err)
	r, err := header.Rules()
	require.NoError(t, err)
	order := h.Event()
	order.At = when
	for seed := range uint64(6) {
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			d := &dealt{T: t, r: r, seed: seed}
			d.off = work(t, r, sim.Options{Seed: seed, Begins: evening})
			d.with = work(t, r, sim.Options{Seed: seed, Begins: evening, Events: []block.Event{order}})
			for f, err := range review.Of(r, seq(d.with)) {
				require.NoError(t, err)
				t.Errorf("%s at %s %s train %s: %s", f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
			}
			for _, k := range r.Timetable().Workings {
				if len(k.Calls) > 0 {
					require.False(t, d.seen(d.with, k.Train, k.To, block.Heads).IsZero(), "train %s never came to %s", k.Train, k.To)
				}
			}
			looks(d)
		})
	}
}

// seen is when a train was first seen so at a box.
func (d *dealt) seen(all []block.Entry, train block.TrainID, box block.BoxID, where block.Place) time.Time {
	for _, e := range all {
		if e.Event.Do == block.Train && e.Event.Train == train && e.Event.By == box && e.Event.Where == where {
			return e.Event.At
		}
	}
	return time.Time{}
}

// later is by how much later a train came to a box than on the day without.
func (d *dealt) later(train block.TrainID, box block.BoxID) time.Duration {
	return d.seen(d.with, train, box, block.Heads).Sub(d.seen(d.off, train, box, block.Heads))
}

// rang is when a box rang a signal of its own, zero if it never did.
func (d *dealt) rang(all []block.Entry, box, to block.BoxID, key block.CodeKey) time.Time {
	for _, e := range all {
		for _, c := range e.Outcome.Changes {
			if s := c.Signal; s != nil && s.By == box && s.Key == key && s.Sense == block.Own && d.joins(s.Circuit, to) {
				return s.First
			}
		}
	}
	return time.Time{}
}

func (d *dealt) joins(id block.CircuitID, box block.BoxID) bool {
	for _, c := range d.r.Circuits() {
		if c.ID == id && (c.Boxes[0] == box || c.Boxes[1] == box) {
			return true
		}
	}
	return false
}

// stopped tells whether a box has stopped the driver of a train; of cautioned the same.
func (d *dealt) driver(box block.BoxID, train block.TrainID, where block.Place) bool {
	for _, e := range d.with {
		if e.Event.Do == block.Driver && e.Event.By == box && e.Event.Train == train && e.Event.Where == where {
			return true
		}
	}
	return false
}

// over is how long something ordered took from its coming to pass until it was over.
func (d *dealt) over(does block.Place) time.Duration {
	d.Helper()
	var from time.Time
	for _, e := range d.with {
		if e.Event.Do != block.Befalls || e.Event.Where != does {
			continue
		}
		if !e.Event.Off {
			from = e.Event.At
		} else {
			require.False(d, from.IsZero())
			return e.Event.At.Sub(from)
		}
	}
	d.Fatal("it never came to pass, or never ended")
	return 0
}

// D15, card C2, H2: UL sees smoke from train 11 and rings 7; OS stops and examines it, and no Up train is sent to UL until it
// is told that nothing is foul. Source: scenario/lathermoor section 7; absolute-block reference, section 7, R59.
func TestHotBoxDealt(t *testing.T) {
	deals(t, block.Happening{Does: block.HotBox, At: "UL", Train: "11"}, at(16, 30), func(d *dealt) {
		require.True(d, d.rang(d.off, "UL", "OS", "stop-and-examine").IsZero())
		require.False(d, d.rang(d.with, "UL", "OS", "stop-and-examine").IsZero())
		require.True(d, d.driver("OS", "11", block.Stopped))
		require.GreaterOrEqual(d, d.later("11", "HX"), 3*time.Minute)
		require.Greater(d, d.over(block.HotBox), 6*time.Minute)
	})
}

// D15, card C3: the last wagons of train 3 stay behind in the section before UL. UL tells OS by 4-5 and SK by 9, no 2-1 is
// given until they have been fetched, and Down drivers are cautioned. Source: scenario/lathermoor section 7; absolute-block
// reference, section 7, R60 and R61.
func TestDividedTrainDealt(t *testing.T) {
	deals(t, block.Happening{Does: block.Divided, At: "UL", Train: "3"}, at(16, 30), func(d *dealt) {
		require.True(d, d.rang(d.off, "UL", "OS", "no-tail-lamp-rear").IsZero())
		back := d.rang(d.with, "UL", "OS", "no-tail-lamp-rear")
		require.False(d, back.IsZero())
		require.False(d, d.rang(d.with, "UL", "SK", "no-tail-lamp-adv").IsZero())
		require.Greater(d, d.over(block.Divided), 10*time.Minute)
		require.True(d, d.seen(d.with, "9", "UL", block.Heads).After(back.Add(8*time.Minute)), "the Up line was held")
		require.GreaterOrEqual(d, d.later("9", "SK"), 2*time.Minute)
	})
}

// D15, card C5: train 8 stands between UL and SK, its engine dead. After twice its usual time UL asks by 6-2; Down drivers are
// cautioned by SK; in time it goes on. Source: scenario/lathermoor section 7; absolute-block reference, section 7, R63.
func TestFailedEngineDealt(t *testing.T) {
	deals(t, block.Happening{Does: block.FailedEngine, At: "SK", Train: "8"}, at(16, 20), func(d *dealt) {
		require.True(d, d.rang(d.off, "UL", "SK", "unusually-long").IsZero())
		asked := d.rang(d.with, "UL", "SK", "unusually-long")
		require.False(d, asked.IsZero())
		require.GreaterOrEqual(d, asked.Sub(d.seen(d.with, "8", "UL", block.Heads)), 8*time.Minute)
		require.GreaterOrEqual(d, d.later("8", "SK"), 10*time.Minute)
	})
}

// D15, card C1: train 18 is ready at Skelderby eleven minutes late, and 21 goes first. Source: scenario/lathermoor section 7.
func TestLateRunningDealt(t *testing.T) {
	deals(t, block.Happening{Does: block.RunsLate, Train: "18", Minutes: 11}, at(17, 30), func(d *dealt) {
		require.GreaterOrEqual(d, d.later("18", "HX"), 10*time.Minute)
		require.True(d, d.seen(d.off, "18", "UL", block.Heads).Before(d.seen(d.off, "21", "UL", block.Heads)))
		require.True(d, d.seen(d.with, "21", "UL", block.Heads).Before(d.seen(d.with, "18", "UL", block.Heads)), "21 goes first")
	})
}

// D15, card C4: from 17.00 the token instruments of the branch give no release; the branch is worked by a pilotman until the
// lineman has been. Source: scenario/lathermoor section 7; other-methods reference, 9.3.
func TestTokenFailureDealt(t *testing.T) {
	deals(t, block.Happening{Does: block.TokenFails, At: "TO"}, at(17, 0), func(d *dealt) {
		forms := 0
		for _, e := range d.with {
			if e.Event.Do == block.Pilot && e.Event.Where == block.Form && !e.Event.Off {
				forms++
			}
		}
		require.Equal(d, 2, forms)
		require.GreaterOrEqual(d, d.later("14", "OS"), 10*time.Minute)
		require.Equal(d, 45*time.Minute, d.over(block.TokenFails))
	})
}

// D13, D15, card C6: fog comes down and is booked by every box; where the district's fogRule is double, no train is accepted
// until the line is clear through the next section too. Source: scenario/lathermoor section 7; absolute-block reference,
// section 4.5.
func TestFogDealt(t *testing.T) {
	deals(t, block.Happening{Does: block.FogFalls, Minutes: 30}, at(17, 40), func(d *dealt) {
		booked := make(map[string]int)
		for _, e := range d.with {
			if e.Event.Do == block.Remark && e.Event.By != "" {
				booked[e.Event.Words]++
			}
		}
		require.Equal(d, map[string]int{"fog has come down": 6, "fogsignalmen are out": 6}, booked)
		require.Equal(d, "double", d.r.Layout().Settings.FogRule)
		accepted := func(all []block.Entry) time.Time { // train 19 from Hexleigh, while 17 is on from Quarnaby
			for _, e := range all {
				for _, c := range e.Outcome.Changes {
					if s := c.Signal; s != nil && s.Did == block.Accepted && s.By == "QU" && s.Beats.String() == "1-2-2" {
						return s.First
					}
				}
			}
			return time.Time{}
		}
		require.Greater(d, accepted(d.with).Sub(accepted(d.off)), 20*time.Second, "QU waits for the section beyond")
	})
}

// D15: whatever is ordered, at whichever box and time, for the next train that fits: it is worked by the book and every train
// comes through. TAILLAMP_SEEDS says how many days; one thing is ordered in each.
func TestAnythingOrderedAnywhere(t *testing.T) {
	days := uint64(40)
	if n, err := strconv.ParseUint(os.Getenv("TAILLAMP_SEEDS"), 10, 64); err == nil {
		days = n
	}
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	kinds := []block.Place{block.HotBox, block.Divided, block.FailedEngine, block.LampLost, block.RunsLate, block.TokenFails, block.FogFalls}
	boxes := []block.BoxID{"SK", "UL", "OS", "QU", "HX", "TO"}
	befell := make(map[block.Place]int)
	for seed := range days {
		c := rand.New(rand.NewPCG(seed, 15))
		order := block.Happening{Does: kinds[seed%uint64(len(kinds))], At: boxes[c.IntN(len(boxes))]}.Event()
		order.At = evening.Add(time.Duration(c.IntN(180)) * time.Minute)
		all := work(t, r, sim.Options{Seed: seed, Begins: evening, Events: []block.Event{order}})
		what := fmt.Sprintf("seed %d, %s at %s from %s", seed, order.Where, order.By, order.At.Format("15:04"))
		begun, ended := 0, 0
		came := make(map[block.TrainID]bool)
		for _, e := range all {
			switch {
			case e.Event.Do == block.Befalls && e.Event.Off:
				ended++
			case e.Event.Do == block.Befalls:
				begun++
				befell[order.Where]++
			case e.Event.Do == block.Train && e.Event.Where == block.Heads:
				if k, ok := r.Timetable().Find(e.Event.Train); ok && k.To == e.Event.By {
					came[k.Train] = true
				}
			}
		}
		require.Equal(t, begun, ended, what)
		require.Len(t, came, len(r.Timetable().Workings)-1, "%s: all but the trolley", what)
		for f, err := range review.Of(r, seq(all)) {
			require.NoError(t, err)
			t.Errorf("%s: %s at %s %s train %s: %s", what, f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
		}
	}
	for _, k := range kinds {
		require.Positive(t, befell[k], "%s never came to pass", k)
	}
	t.Log(befell)
}

// D15, A13: whatever the owner has ordered is gone on with when the sitting was broken off before it came to pass, and in the
// middle of it, from the record alone; nothing is irregular and nothing comes to pass twice.
func TestOrderedAndBrokenOff(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	everybody := func(block.BoxID) bool { return true }
	for _, x := range []struct {
		block.Happening
		when   time.Time
		breaks []time.Duration // after the order; each time the sitting is gone on with from its record
	}{
		{block.Happening{Does: block.HotBox, At: "UL", Train: "11"}, at(16, 30), []time.Duration{10 * time.Minute, 23*time.Minute + 30*time.Second, 35 * time.Minute}},
		{block.Happening{Does: block.Divided, At: "UL", Train: "3"}, at(16, 30), []time.Duration{5 * time.Minute, 20 * time.Minute, 26 * time.Minute}},
		{block.Happening{Does: block.FailedEngine, At: "SK", Train: "8"}, at(16, 20), []time.Duration{23 * time.Minute, 25 * time.Minute}},
		{block.Happening{Does: block.RunsLate, Train: "18", Minutes: 11}, at(17, 30), []time.Duration{5 * time.Minute, 25 * time.Minute}},
		{block.Happening{Does: block.TokenFails, At: "TO"}, at(17, 0), []time.Duration{10 * time.Minute, 40 * time.Minute}},
		{block.Happening{Does: block.FogFalls, Minutes: 30}, at(17, 40), []time.Duration{10 * time.Minute}},
	} {
		t.Run(string(x.Does), func(t *testing.T) {
			s := &sitting{t: t, r: r, state: r.Opening(evening), now: evening}
			s.c = sim.NewCompany(r, sim.Options{Seed: 3, Begins: evening}, everybody, s.state)
			s.c.Begin(s.now, s.state, s.enter)
			s.until(x.when)
			order := x.Event()
			order.At = s.now
			out, state, ok := s.enter(order)
			require.True(t, ok)
			s.c.Saw(order, out, state)
			for n, after := range x.breaks {
				s.until(x.when.Add(after))
				s.c = sim.NewCompany(r, sim.Options{Seed: uint64(4 + n), Begins: evening}, everybody, r.Opening(evening))
				for _, e := range s.entries {
					s.c.Recall(e)
				}
				s.c.Begin(s.now, s.state, s.enter)
			}
			s.until(evening.Add(4*time.Hour + 30*time.Minute))
			require.Empty(t, s.c.Awaited())
			befell, over := 0, 0
			came := make(map[block.TrainID]bool)
			for _, e := range s.entries {
				if e.Event.Do == block.Befalls && !e.Event.Off {
					befell++
				} else if e.Event.Do == block.Befalls {
					over++
				}
				if k, ok := r.Timetable().Find(e.Event.Train); ok && e.Event.Where == block.Heads && e.Event.By == k.To {
					came[k.Train] = true
				}
			}
			require.Len(t, came, len(r.Timetable().Workings)-1, "all but the trolley")
			require.Equal(t, []int{1, 1}, []int{befell, over})
			for f, err := range review.Of(r, seq(s.entries)) {
				require.NoError(t, err)
				t.Errorf("%s at %s %s train %s: %s", f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
			}
		})
	}
}

// H2, G10: a fault is ordered for a box to notice: it stands in the record as put in for that box, and nobody is blamed for
// it. What its moment never comes for goes on being waited for.
func TestFaultsOrdered(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	for does, put := range map[block.Place]string{block.WrongClass: "R10 by ", block.OutEarly: "R38 by ", block.NeedleSticks: "needle of ", block.OutInBlock: ""} {
		for seed := range uint64(4) {
			order := block.Happening{Does: does, At: "OS"}.Event()
			order.At = at(16, 40)
			all := work(t, r, sim.Options{Seed: seed, Begins: evening, Events: []block.Event{order}})
			var puts []review.PutIn
			puts, err := review.PutInOf(r, seq(all))
			require.NoError(t, err)
			if put == "" { // nobody blocks back by himself
				require.Empty(t, puts)
				continue
			}
			require.Len(t, puts, 1, "%s, seed %d", does, seed)
			require.Equal(t, block.BoxID("OS"), puts[0].Box)
			require.Contains(t, puts[0].What, put)
			for f, err := range review.Of(r, seq(all)) {
				require.NoError(t, err)
				t.Errorf("%s, seed %d: %s at %s %s train %s: %s", does, seed, f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
			}
		}
	}
}

// G10: 2-1 given while the box blocks back: a shunt is worked inside OS's Down home, and UL, ordered, gives 2-1 then.
func TestOutOrderedWhileBlockedBack(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	order := block.Happening{Does: block.OutInBlock, At: "OS"}.Event()
	order.At = at(15, 35)
	made := 0
	for seed := range uint64(6) {
		var tasks []sim.Task
		for n := range 6 {
			tasks = append(tasks, sim.Task{Kind: sim.ShuntInside, Box: "OS", From: "UL", After: time.Duration(40+20*n) * time.Minute})
		}
		all := work(t, r, sim.Options{Seed: seed, Begins: evening, Events: []block.Event{order}, Tasks: tasks})
		puts, err := review.PutInOf(r, seq(all))
		require.NoError(t, err)
		for _, p := range puts {
			require.Contains(t, p.What, "R41 by UL")
			made++
		}
		for f, err := range review.Of(r, seq(all)) {
			require.NoError(t, err)
			require.NotEqual(t, block.RuleID("R41"), f.Rule, "UL was ordered")
		}
	}
	require.Positive(t, made)
}

// D15, H2: where a person has the box the simulated ones wait for what he does. He takes Ullathwick over before train 11 comes,
// sees its smoke, and rings 7: the simulated Ossenwaite stops it. Another who rings nothing is not helped: it runs on.
func TestHotBoxAtAPersonsBox(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	for _, rings := range []bool{true, false} {
		s := &sitting{t: t, r: r, state: r.Opening(evening), now: evening}
		s.c = sim.NewCompany(r, sim.Options{Seed: 2, Begins: evening}, func(block.BoxID) bool { return true }, s.state)
		s.c.Begin(s.now, s.state, s.enter)
		does := func(e block.Event) {
			t.Helper()
			e.At = s.now
			out, state, ok := s.enter(e)
			require.True(t, ok, "%s %s", e.Do, e.Where)
			s.c.Saw(e, out, state)
		}
		s.until(at(16, 30))
		does(block.Happening{Does: block.HotBox, At: "UL", Train: "11"}.Event())
		s.until(at(16, 50)) // it stands at Ullathwick, its banker coming on
		does(block.Event{Do: block.Duty, By: "UL", Off: true})
		does(block.Event{Do: block.Duty, By: "UL"})
		ahead, smoke, said := block.CircuitID(""), false, 0
		for _, c := range r.Circuits() {
			if c.Boxes == [2]block.BoxID{"UL", "OS"} {
				ahead = c.ID
			}
		}
		stopped, over := false, false
		for s.now.Before(at(17, 20)) && !over {
			s.until(s.now.Add(3 * time.Second))
			for _, e := range s.entries {
				smoke = smoke || e.Event.Do == block.Befalls
				over = over || e.Event.Do == block.Befalls && e.Event.Off
				stopped = stopped || e.Event.Do == block.Driver && e.Event.By == "OS" && e.Event.Train == "11" && e.Event.Where == block.Stopped
			}
			v := s.c.Mind("UL", r.View(s.state, "UL"))
			v.At = s.now
			for _, i := range v.Shelf { // he looks for the tails, too
				for _, l := range i.Lines {
					for _, x := range l.Trains {
						if l.ToMe && x.Where == block.Heads && !l.Out {
							does(block.Event{Do: block.Train, By: "UL", Section: l.Section, Where: block.Passes, Lamp: block.LampSeen, Train: x.Train})
						}
					}
				}
			}
			quiet := false
			for _, i := range v.Shelf {
				if i.Circuit == ahead {
					quiet = i.Called == "" && len(i.Waiting) == 0 && (i.Has == "" || i.Has == "UL")
				}
			}
			if smoke && rings && said < 2 && quiet {
				code := []block.Beats{{1}, {7}}[said]
				does(block.Event{Do: block.Rung, By: "UL", Circuit: ahead, Beats: code})
				said++
				continue
			}
			if advice := r.Next(v); len(advice) > 0 && (said == 0 || said == 2) {
				does(advice[0].Event("UL"))
			}
		}
		require.True(t, smoke)
		require.True(t, over)
		require.Equal(t, rings, stopped)
	}
}
