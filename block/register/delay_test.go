package register_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/sim"
)

var afternoon = time.Date(1961, 10, 17, 15, 30, 0, 0, time.UTC)

// dayOf works the demo's day, with lines of its times changed.
func dayOf(t *testing.T, seed uint64, changes ...string) *register.Graph {
	t.Helper()
	h, err := block.EmbeddedHeader("lathermoor")
	require.NoError(t, err)
	for n := 0; n < len(changes); n += 2 {
		require.Contains(t, h.Times, changes[n])
		h.Times = strings.Replace(h.Times, changes[n], changes[n+1], 1)
	}
	h.Began = afternoon
	r, err := h.Rules()
	require.NoError(t, err)
	g, err := register.GraphOf(r, afternoon, sim.Day(r, sim.Options{Seed: seed, Begins: afternoon}))
	require.NoError(t, err)
	return g
}

// lateAtEnd is how late each train was at the end of its run.
func lateAtEnd(g *register.Graph) map[block.TrainID]time.Duration {
	late := make(map[block.TrainID]time.Duration)
	for _, r := range g.Runs {
		if len(r.Booked) > 0 {
			late[r.Train] = r.Late(len(r.Stops) - 1)
		}
	}
	return late
}

// A train that loses time on the road makes others late. Against the same seed without it, nine in ten of the late
// minutes that it caused are laid to it (F4).
func TestDelaysLeadBackToTheirCause(t *testing.T) {
	for _, c := range []struct{ name, line, slower, train, box string }{
		{"branch train 5", `5,2,TO,Branch Single,16.05,,,platform 1,555,660,`, `5,2,TO,Branch Single,16.05,,,platform 1,555,5460,`, "5", "TO"},
		{"parcels 15 from Skelderby", `15,2,UL,Down Main,,17.36,,,232,240,`, `15,2,UL,Down Main,,17.36,,,232,1440,`, "15", "UL"},
		{"freight 17 from Hexleigh", `17,2,QU,Up Main,,17.42,,,357,360,`, `17,2,QU,Up Main,,17.42,,,357,1560,`, "17", "QU"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var caused, laid time.Duration
			for seed := range uint64(3) {
				base, g := lateAtEnd(dayOf(t, seed)), dayOf(t, seed, c.line, c.slower)
				delays := g.Delays()
				lost, byIt := make(map[block.TrainID]time.Duration), make(map[block.TrainID]time.Duration)
				for _, d := range delays {
					lost[d.Train] += d.Lost
					root := delays[d.Root]
					if string(root.Train) == c.train && string(root.Box) == c.box && root.Why == register.ByRunning {
						byIt[d.Train] += d.Lost
					}
					if d.Why != register.ByRunning {
						require.Equal(t, d.Till.Sub(d.From), d.Lost, "the parts of a wait are the whole of it")
					}
				}
				for train, late := range lateAtEnd(g) {
					more := late - base[train]
					if more < time.Minute {
						continue
					}
					caused += more
					if lost[train] > 0 {
						laid += time.Duration(float64(more) * float64(byIt[train]) / float64(lost[train]))
					}
					t.Logf("seed %d: train %s %v later, %v of %v laid to it", seed, train, more, byIt[train], lost[train])
				}
				told := g.Chain(delays)
				require.NotEmpty(t, told)
				require.LessOrEqual(t, len(told), 5)
				require.True(t, strings.HasPrefix(told[0], "Train "+c.train+" took "), told[0])
				t.Log(strings.Join(told, " "))
				var own, all time.Duration
				for _, b := range register.Beginnings(delays) {
					own += b.Own + b.Caused
				}
				for _, d := range delays {
					all += d.Lost
				}
				require.Equal(t, all, own, "what the beginnings cost is all that was lost")
			}
			require.Greater(t, caused, 10*time.Minute)
			assert.GreaterOrEqual(t, float64(laid), 0.9*float64(caused), "%v of %v", laid, caused)
		})
	}
}

// A day to time has no delay.
func TestGoldenDayHasNoDelay(t *testing.T) {
	g := graphOf(t, goldenDay)
	require.Empty(t, g.Delays())
	require.Empty(t, g.Chain(g.Delays()))
}

// A train waits four minutes for its token; another is held behind it for three of them, and a third two behind that: nine
// minutes, and none of them laid to the first two's successors (the design's own check).
func TestDelayChainIsLaidToItsBeginning(t *testing.T) {
	at := func(m int) time.Time { return afternoon.Add(time.Duration(m) * time.Minute) }
	delays := []register.Delay{
		{Run: 0, From: at(0), Till: at(4), Lost: 4 * time.Minute, Other: -1, Led: -1, Root: 0},
		{Run: 1, From: at(1), Till: at(4), Lost: 3 * time.Minute, Other: 0, Led: 0, Root: 0},
		{Run: 2, From: at(2), Till: at(4), Lost: 2 * time.Minute, Other: 1, Led: 1, Root: 0},
	}
	sums := register.Beginnings(delays)
	require.Len(t, sums, 1)
	assert.Equal(t, register.Beginning{Delay: 0, Own: 4 * time.Minute, Caused: 5 * time.Minute, Trains: 3}, sums[0])
}
