package sitting_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/web/sitting"
)

// A rope rings a code as it was tapped although the network holds beats up: no gap is ever shorter than tapped, and
// what is held up once is not made good by squeezing.
func TestARopeStretchesAndNeverSqueezes(t *testing.T) {
	begins := time.Date(2026, 3, 14, 19, 30, 0, 0, time.UTC)
	ms := func(n int) time.Time { return begins.Add(time.Duration(n) * time.Millisecond) }
	var r sitting.Rope
	var rung []int
	for _, b := range []struct{ pressed, comes int }{
		{0, 10}, {200, 210}, {400, 480}, {600, 610}, {800, 815}, // the third is held up by 70 ms, and so are the rest
		{5000, 5010}, {5300, 5310}, // another code, as it comes
		{5200, 5320},  // out of order: at once
		{12000, 9000}, // a tablet whose clock jumped: at once
	} {
		rung = append(rung, int(ms(b.comes).Add(r.Pull(ms(b.pressed), ms(b.comes))).Sub(begins).Milliseconds()))
	}
	require.Equal(t, []int{10, 210, 480, 680, 880, 5010, 5310, 5320, 9000}, rung)
}
