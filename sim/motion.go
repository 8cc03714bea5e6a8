package sim

import (
	"math"
	"time"

	"taillamp/block"
)

// yardsPerSecond is one mile an hour in yards a second: 1,760 / 3,600.
const yardsPerSecond = 1760.0 / 3600

// metre is a yard in metres, exactly.
const metre = 0.9144

// Motion is how a train moves: its top speed in miles an hour, how it gathers way and how it brakes, in metres a
// second a second.
type Motion struct{ MPH, Accel, Brake float64 }

// Time is how long a train takes over a distance, starting from rest, stopping at rest, both or neither (computation
// 4.2: constant acceleration, top speed, constant braking; on a short run the top speed is not reached).
func (m Motion) Time(y block.Yards, starts, stops bool) time.Duration {
	v := m.MPH * yardsPerSecond * metre // metres a second
	s := float64(y) * metre
	if v <= 0 || s <= 0 {
		return 0
	}
	inverse := 0.0
	if starts {
		inverse += 1 / m.Accel
	}
	if stops {
		inverse += 1 / m.Brake
	}
	t := s/v + v/2*inverse
	if need := v * v / 2 * inverse; inverse > 0 && s < need {
		peak := math.Sqrt(2 * s / inverse)
		t = peak * inverse
	}
	return time.Duration(t * float64(time.Second))
}

// StopDistance is how far a train needs to stop from its top speed, in yards.
func (m Motion) StopDistance() block.Yards {
	v := m.MPH * yardsPerSecond * metre
	return block.Yards(v * v / (2 * m.Brake) / metre)
}

// Headway is the least time from head to head of two trains at one place so that the second meets the distant of box A
// at clear: from sighting that distant to the tail of the first past B's clearing point, then the signallers' work
// (computation 4.4). approach is from A's distant to A's section signal, section from there to B's home.
func Headway(approach, section, clearing, length block.Yards, mph float64, work time.Duration) time.Duration {
	y := float64(approach + section + clearing + length)
	return time.Duration(y/(mph*yardsPerSecond)*float64(time.Second)) + work
}
