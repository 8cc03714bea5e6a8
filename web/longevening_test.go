package web_test

import (
	"context"
	"fmt"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/sim"
	"taillamp/web"
	"taillamp/web/sitting"
)

// longLine is the text of a double line of twelve boxes, each two miles from the next, with a through train each way every
// so often for eight hours. Invented.
func longLine(every time.Duration) (layout, trains, times string) {
	const boxes = 12
	var l, r, s strings.Builder
	l.WriteString("format = 1\ntitle = \"A long line\"\nbook = \"1960-letters\"\ntrains = \"trains.csv\"\ntimes = \"timetable.csv\"\n" +
		"[clock]\nkind = \"scaled\"\nstarts = \"15:30\"\nspeed = 1\n[settings]\nhalfMinutes = true\n")
	id := func(n int) string { return fmt.Sprintf("B%d", n+1) }
	for n := range boxes {
		fmt.Fprintf(&l, "[[box]]\nid = %q\nname = \"Box %d\"\nat = %d\nhome = 400\nstarter = 400\n", id(n), n+1, n*3520)
		if n > 0 {
			fmt.Fprintf(&l, "[[between]]\nboxes = [%q, %q]\nyards = 3520\nmph = 60\n", id(n-1), id(n))
		}
	}
	r.WriteString("train,class,code,description,direction,from,to,max_mph,start_s,stop_s,freight,length_yd,load,stock_of,note\n")
	s.WriteString("train,seq,box,line,arrive,pass,depart,where,minimum_s,run_s,note\n")
	clock := func(at time.Duration) string { return fmt.Sprintf("%d.%02d", int(at.Hours()), int(at.Minutes())%60) }
	train := 0
	for at := 15*time.Hour + 35*time.Minute; at < 23*time.Hour; at += every {
		for _, way := range []string{"Down", "Up"} {
			train++
			box := func(n int) string {
				if way == "Up" {
					n = boxes - 1 - n
				}
				return id(n)
			}
			fmt.Fprintf(&r, "%d,A,4,,%s,%s,%s,60,45,30,no,230,,,\n", train, way, box(0), box(boxes-1))
			fmt.Fprintf(&s, "%d,1,%s,,,,%s,,,,\n", train, box(0), clock(at))
			for n := 1; n < boxes-1; n++ {
				fmt.Fprintf(&s, "%d,%d,%s,%s Main,,%s,,,120,150,\n", train, n+1, box(n), way, clock(at+time.Duration(n)*150*time.Second))
			}
			fmt.Fprintf(&s, "%d,%d,%s,%s Main,%s,,,,120,150,\n", train, boxes, box(boxes-1), way, clock(at+(boxes-1)*150*time.Second))
		}
	}
	return l.String(), r.String(), s.String()
}

// longEvening is a sitting of eight hours and 20,000 entries at least, worked by simulated signallers. It is read as one
// still going on.
func longEvening(t testing.TB) (evening, int) {
	t.Helper()
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	h.Layout, h.Trains, h.Times = longLine(6 * time.Minute)
	h.Began = time.Date(1961, 10, 17, 15, 30, 0, 0, time.UTC)
	h.Zone = "UTC"
	rules, err := h.Rules()
	require.NoError(t, err)
	kept, err := sitting.NewFiles(t.TempDir())
	require.NoError(t, err)
	record, err := kept.Begin(t.Context(), "long", h)
	require.NoError(t, err)
	var all []block.Entry
	for e, err := range sim.Day(rules, sim.Options{Seed: 1, Begins: h.Began}) {
		require.NoError(t, err)
		all = append(all, e)
	}
	require.NoError(t, record.Append(t.Context(), all...))
	require.NoError(t, record.Close())
	t.Logf("%d entries, from %s to %s", len(all), all[0].Event.At.Format("15.04"), all[len(all)-1].Event.At.Format("15.04"))
	host := sitting.NewHost(kept, sitting.NewRealClock(), "taillamp test")
	live, err := host.Resume(t.Context(), "long")
	require.NoError(t, err)
	server := httptest.NewServer(web.New(web.Config{Live: live}))
	t.Cleanup(server.Close)
	t.Cleanup(func() { _ = host.Close(context.WithoutCancel(t.Context())) })
	return evening{live, server.URL}, len(all)
}
