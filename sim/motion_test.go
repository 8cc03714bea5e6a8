package sim

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// Worked examples of the reference on computation, 4.2; the last is published: stopping adds 33.33 + 30 + 33.33 s to a
// run of 112 s, 33.3 m/s, 0.5 m/s² both ways (IRSE, as cited there).
func TestRunningTimes(t *testing.T) {
	slow := Motion{MPH: 60, Accel: 0.2, Brake: 0.5}
	require.InDelta(t, 213.9, slow.Time(2*1760, true, true).Seconds(), 0.05)
	require.InDelta(t, 150.1, slow.Time(1760, true, true).Seconds(), 0.05)
	fast := Motion{MPH: 100.0 / 3 / (yardsPerSecond * metre), Accel: 0.5, Brake: 0.5}
	through := fast.Time(block.Yards(112*100.0/3/metre), false, false)
	stopping := fast.Time(block.Yards(112*100.0/3/metre), true, true)
	require.InDelta(t, 112, through.Seconds(), 0.05)
	require.InDelta(t, 66.7, (stopping - through).Seconds(), 0.05)
}

// Braking distance at 160 km/h and 0.5 m/s²: published 1,974.9 m (computation 4.2, source SBD).
func TestStopDistance(t *testing.T) {
	m := Motion{MPH: 44.44 / (yardsPerSecond * metre), Accel: 1, Brake: 0.5}
	require.InDelta(t, 1974.9, float64(m.StopDistance())*metre, 0.5)
}

// Examples 1 to 4 of computation 4.5: smart men take 36 s, A's distant stands 1,200 yards before its section signal.
func TestHeadway(t *testing.T) {
	const work = 36 * time.Second
	for _, c := range []struct {
		name            string
		section, length block.Yards
		mph, want       float64
	}{
		{"1 express, two miles", 3520, 200, 60, 218.7},
		{"2 loose-coupled goods", 3520, 440, 25, 494.2},
		{"3b the next box switched out", 3520 + 400 + 2640, 200, 60, 322.4},
		{"4 one mile", 1760, 200, 60, 158.7},
		{"4 four miles", 7040, 200, 60, 338.7},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.InDelta(t, c.want, Headway(1200, c.section, 440, c.length, c.mph, work).Seconds(), 0.06)
		})
	}
	// Published (IRSE, as cited in computation 4.4): three-aspect colour lights at 120 km/h, braking 1,189 m, overlap
	// 183 m, sighting 10 s: 93 s; with a train of 200 m.
	h := Headway(2*1189/metre, 0, 183/metre, 200/metre, 120/1.609344, 10*time.Second)
	require.InDelta(t, 93, h.Seconds(), 0.5)
}
