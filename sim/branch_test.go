package sim_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// bentBranch is the district of mistakes that absolute block does not know: three boxes A, B and C on a single line worked
// by token, trains going one way and then the other; or A and B with a permissive line from one to the other, goods and
// passenger trains mixed and close behind each other.
func bentBranch(t testing.TB, d district, seed uint64, trains int) *block.Rules {
	t.Helper()
	l := block.BareLayout()
	l.Settings.Lamps, l.Settings.Cautions, l.Settings.Collars = true, d.cautions, d.collars
	ids := []block.BoxID{"A", "B", "C"}
	if d.single == "permissive" {
		ids = ids[:2]
	}
	for i, id := range ids {
		b := block.BareBox(id, block.Yards(i)*3520, 440)
		b.Roads = 20
		l.Boxes = append(l.Boxes, b)
	}
	for i := 1; i < len(ids); i++ {
		more := []string{"tokens", "10", "10"}
		if d.single == "permissive" {
			more = []string{"capacity", "2", "answer", "repeat"}
			if d.other {
				more[3] = "2-4-1"
			}
		}
		require.NoError(t, block.SetMethod(l, d.single, ids[i-1], ids[i], more))
		l.Between[i-1].Yards = 3520
	}
	c := rand.New(rand.NewPCG(seed, 5))
	var rows, times strings.Builder
	rows.WriteString("train,class,code,description,direction,from,to,max_mph,start_s,stop_s,freight,length_yd,load,stock_of,note\n")
	times.WriteString("train,seq,box,line,arrive,pass,depart,where,minimum_s,run_s,note\n")
	at := 15*60 + 36
	for n := 1; n <= trains; n++ {
		way, name, line := ids, "Down", l.Between[0].Lines[0].Name
		class, code, freight, mph, run := "B", "3-1", "no", 40, 7
		if d.single == "permissive" {
			run = 12
			if mph = 20; c.IntN(4) > 0 {
				class, code, freight = "K", "3", "yes"
			}
			at += 2 + c.IntN(5)
		} else {
			if n%4 == 3 || n%4 == 0 {
				way, name = []block.BoxID{"C", "B", "A"}, "Up"
			}
			if at += 6; n%2 == 1 { // else it waits behind the one before
				at += 29 + c.IntN(8)
			}
		}
		fmt.Fprintf(&rows, "%d,%s,%s,,%s,%s,%s,%d,45,30,%s,110,,,\n", n, class, code, name, way[0], way[len(way)-1], mph, freight)
		now := at
		for i, box := range way {
			when := func(m int) string { return fmt.Sprintf("%d.%02d", m/60, m%60) }
			switch i {
			case 0:
				fmt.Fprintf(&times, "%d,1,%s,,,,%s,,,,\n", n, box, when(now))
			case len(way) - 1:
				now += run
				fmt.Fprintf(&times, "%d,%d,%s,%s,%s,,,,,,\n", n, i+1, box, line, when(now))
			default:
				now += run + 9
				fmt.Fprintf(&times, "%d,%d,%s,%s,%s,,%s,,,,\n", n, i+1, box, line, when(now-9), when(now))
			}
		}
	}
	book, err := block.FindCodeBook("1960-letters")
	require.NoError(t, err)
	table, err := block.ReadTimetable([]byte(rows.String()), []byte(times.String()))
	require.NoError(t, err)
	r, err := block.NewRules(l, []*block.CodeBook{book}, table)
	require.NoError(t, err)
	return r
}
