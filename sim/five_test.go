package sim_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/sim"
)

// fiveBoxes is a double line of five boxes and a sequence of so many trains both ways, drawn by a seed: classes, speeds,
// booked stops, and now and then two trains close together.
func fiveBoxes(t testing.TB, seed uint64, trains int) *block.Rules {
	t.Helper()
	l := block.BareLayout()
	l.Settings.Lamps = true
	ids := []block.BoxID{"A", "B", "C", "D", "E"}
	for i, id := range ids {
		l.Boxes = append(l.Boxes, block.BareBox(id, block.Yards(i)*3520, 440))
		if i > 0 {
			l.Between = append(l.Between, block.DoubleLine(ids[i-1], id, 3520))
		}
	}
	book, err := block.FindCodeBook("1960-letters")
	require.NoError(t, err)
	rows, times := sequence(rand.New(rand.NewPCG(seed, 5)), ids, trains)
	table, err := block.ReadTimetable([]byte(rows), []byte(times))
	require.NoError(t, err)
	r, err := block.NewRules(l, []*block.CodeBook{book}, table)
	require.NoError(t, err)
	return r
}

func sequence(c *rand.Rand, ids []block.BoxID, trains int) (rows, times string) {
	classes := []struct {
		class, code string
		mph         int
		freight     string
	}{{"A", "4", 60, "no"}, {"B", "3-1", 55, "no"}, {"C", "1-3-1", 55, "no"}, {"D", "5", 45, "yes"}, {"F", "3-2", 30, "yes"}, {"K", "3", 25, "yes"}, {"G", "2-3", 40, "no"}}
	var r, s strings.Builder
	r.WriteString("train,class,code,description,direction,from,to,max_mph,start_s,stop_s,freight,length_yd,load,stock_of,note\n")
	s.WriteString("train,seq,box,line,arrive,pass,depart,where,minimum_s,run_s,note\n")
	at := 15*3600 + 35*60
	for n := 1; n <= trains; n++ {
		at += 30 * (1 + c.IntN(16))
		k := classes[c.IntN(len(classes))]
		way, way2, line := ids, "Down", "Down Main"
		if c.IntN(2) == 0 {
			way2, line = "Up", "Up Main"
			way = []block.BoxID{"E", "D", "C", "B", "A"}
		}
		fmt.Fprintf(&r, "%d,%s,%s,,%s,%s,%s,%d,45,30,%s,200,,,\n", n, k.class, k.code, way2, way[0], way[4], k.mph, k.freight)
		now := at
		run := int(3520 / (float64(k.mph) * 0.488889))
		for i, box := range way {
			switch {
			case i == 0:
				fmt.Fprintf(&s, "%d,%d,%s,,,,%s,,,,\n", n, i+1, box, clock(now))
			case i == 4:
				now += run + 30
				fmt.Fprintf(&s, "%d,%d,%s,%s,%s,,,,%d,%d,\n", n, i+1, box, line, clock(now), run, run)
			case k.class == "B" && c.IntN(2) == 0:
				now += run
				arrives := now
				now += 30 * (2 + c.IntN(4))
				fmt.Fprintf(&s, "%d,%d,%s,%s,%s,,%s,,%d,%d,\n", n, i+1, box, line, clock(arrives), clock(now), run, run)
			default:
				now += run
				fmt.Fprintf(&s, "%d,%d,%s,%s,,%s,,,%d,%d,\n", n, i+1, box, line, clock(now), run, run)
			}
		}
	}
	return r.String(), s.String()
}

func clock(sec int) string {
	s := fmt.Sprintf("%d.%02d", sec/3600, sec/60%60)
	if sec%60 >= 30 {
		s += "½"
	}
	return s
}

// Right signallers, brisk or steady, work thousands of trains over five boxes without a finding (E5).
// TAILLAMP_TRAINS says how many; the full run is 10,000.
func TestRightSignallersHaveNoFinding(t *testing.T) {
	trains := 1000
	if n, err := strconv.Atoi(os.Getenv("TAILLAMP_TRAINS")); err == nil {
		trains = n
	}
	const each = 20 // trains a day
	tempers := []sim.Temper{sim.Brisk, sim.Steady}
	worked := 0
	for seed := uint64(0); worked < trains; seed++ {
		r := fiveBoxes(t, seed, each)
		all := work(t, r, sim.Options{Seed: seed, Begins: evening, Temper: tempers[seed%2]})
		arrived := 0
		for _, e := range all {
			if e.Event.Where == block.Passes && (e.Event.By == "A" || e.Event.By == "E") {
				arrived++
			}
		}
		require.Equal(t, each, arrived, "seed %d: trains that reached the end of their run", seed)
		for f, err := range review.Of(r, seq(all)) {
			require.NoError(t, err)
			t.Errorf("seed %d: %s at %s %s train %s: %s", seed, f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
		}
		worked += each
	}
	t.Logf("%d trains over five boxes", worked)
}
