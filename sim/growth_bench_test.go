package sim_test

import (
	"fmt"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/sim"
)

// longLine is a double line of so many boxes, each with trains of its own neighbourhood: four to a box, over five boxes
// each, spread over two hours.
func longLine(t testing.TB, boxes int) *block.Rules {
	t.Helper()
	l := block.BareLayout()
	var ids []block.BoxID
	for i := range boxes {
		id := block.BoxID(fmt.Sprintf("B%d", i))
		ids = append(ids, id)
		l.Boxes = append(l.Boxes, block.BareBox(id, block.Yards(i)*3520, 440))
		if i > 0 {
			l.Between = append(l.Between, block.DoubleLine(ids[i-1], id, 3520))
		}
	}
	c := rand.New(rand.NewPCG(uint64(boxes), 3))
	var r, s strings.Builder
	r.WriteString("train,class,code,description,direction,from,to,max_mph,start_s,stop_s,freight,length_yd,load,stock_of,note\n")
	s.WriteString("train,seq,box,line,arrive,pass,depart,where,minimum_s,run_s,note\n")
	for n := range 4 * boxes {
		first := c.IntN(boxes - 4)
		way, line := ids[first:first+5], "Down"
		if n%2 == 0 {
			way, line = []block.BoxID{way[4], way[3], way[2], way[1], way[0]}, "Up"
		}
		at := 15*3600 + 40*60 + 30*c.IntN(240)
		fmt.Fprintf(&r, "%d,B,3-1,,%s,%s,%s,55,45,30,no,200,,,\n", n+1, line, way[0], way[4])
		for i, box := range way {
			when := clock(at + 150*i)
			switch i {
			case 0:
				fmt.Fprintf(&s, "%d,1,%s,,,,%s,,,,\n", n+1, box, when)
			case 4:
				fmt.Fprintf(&s, "%d,5,%s,%s Main,%s,,,,131,131,\n", n+1, box, line, when)
			default:
				fmt.Fprintf(&s, "%d,%d,%s,%s Main,,%s,,,131,131,\n", n+1, i+1, box, line, when)
			}
		}
	}
	table, err := block.ReadTimetable([]byte(r.String()), []byte(s.String()))
	require.NoError(t, err)
	book, err := block.FindCodeBook("1960-letters")
	require.NoError(t, err)
	rules, err := block.NewRules(l, []*block.CodeBook{book}, table)
	require.NoError(t, err)
	return rules
}

// BenchmarkGrowth says what a day costs as the line grows: microseconds and allocated bytes for each entry of its record,
// which stay the same if the work is linear.
func BenchmarkGrowth(b *testing.B) {
	for _, boxes := range []int{5, 50, 500} {
		b.Run(fmt.Sprint(boxes), func(b *testing.B) {
			r := longLine(b, boxes)
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			entries := 0
			for b.Loop() {
				for _, err := range sim.Day(r, sim.Options{Seed: 1, Begins: evening}) {
					require.NoError(b, err)
					entries++
				}
			}
			runtime.ReadMemStats(&after)
			b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(entries), "µs/entry")
			b.ReportMetric(float64(after.TotalAlloc-before.TotalAlloc)/float64(entries), "B/entry")
			b.ReportMetric(float64(entries)/float64(b.N), "entries")
		})
	}
}
