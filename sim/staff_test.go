package sim_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/sim"
)

// branchLine is a single line between two boxes worked by a staff, with groups of trains one way and then the other.
func branchLine(t *testing.T, method string, seed uint64, groups int) *block.Rules {
	t.Helper()
	l := block.BareLayout()
	l.Settings.Lamps = true
	l.Boxes = []block.Box{block.BareBox("A", 0, 440), block.BareBox("B", 3520, 440)}
	l.Boxes[0].Roads, l.Boxes[1].Roads = 20, 20
	require.NoError(t, block.SetMethod(l, method, "A", "B", []string{"staff", "A"}))
	l.Between[0].Yards = 3520
	c := rand.New(rand.NewPCG(seed, 3))
	rows := "train,class,code,description,direction,from,to,max_mph,start_s,stop_s,freight,length_yd,load,stock_of,note\n"
	times := "train,seq,box,line,arrive,pass,depart,where,minimum_s,run_s,note\n"
	at, n := 15*60+40, 0
	for g := range groups {
		from, to, way := "A", "B", "Down"
		if g%2 == 1 {
			from, to, way = "B", "A", "Up"
		}
		size := 1
		if strings.HasPrefix(method, "staffTicketB") {
			size += c.IntN(3)
		}
		for range size {
			n++
			rows += fmt.Sprintf("%d,B,3-1,,%s,%s,%s,40,45,30,no,110,,,\n", n, way, from, to)
			times += fmt.Sprintf("%d,1,%s,,,,%d.%02d,,,,\n%d,2,%s,Single,%d.%02d,,,,,,\n", n, from, at/60, at%60, n, to, (at+7)/60, (at+7)%60)
			at += 12 + c.IntN(6)
		}
	}
	book, err := block.FindCodeBook("1960-letters")
	require.NoError(t, err)
	table, err := block.ReadTimetable([]byte(rows), []byte(times))
	require.NoError(t, err)
	r, err := block.NewRules(l, []*block.CodeBook{book}, table)
	require.NoError(t, err)
	return r
}

// Lines worked by one train only, and by staff and ticket with block telegraph: simulated signallers work every train of
// many days without an irregularity, the staff goes with the last of each group, and is never walked.
func TestStaffWorkedRightly(t *testing.T) {
	for _, method := range []string{"oneTrain", "staffTicketBlock"} {
		trains, tickets := 0, 0
		for seed := range uint64(20) {
			r := branchLine(t, method, seed, 8)
			all := work(t, r, sim.Options{Seed: seed, Begins: evening})
			arrived := 0
			for _, e := range all {
				switch {
				case e.Event.Do == block.Train && e.Event.Where == block.Heads:
					arrived++
				case e.Event.Do == block.Token && e.Event.Where == block.Issued:
					tickets++
				}
				require.NotEqual(t, block.Walked, e.Event.Where, "%s, seed %d", method, seed)
			}
			require.Equal(t, len(r.Timetable().Workings), arrived, "%s, seed %d: every train comes", method, seed)
			trains += arrived
			for f, err := range review.Of(r, seq(all)) {
				require.NoError(t, err)
				t.Errorf("%s, seed %d: %s at %s %s train %s: %s", method, seed, f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
			}
		}
		t.Logf("%s: %d trains, %d of them on tickets", method, trains, tickets)
		require.Equal(t, method == "staffTicketBlock", tickets > 0)
	}
}
