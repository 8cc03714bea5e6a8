package review_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
)

// evenings is the demo's day worked over and over until it has so many entries, each day a day later.
func evenings(t testing.TB, most int) (*block.Rules, []block.Entry) {
	t.Helper()
	r, day := play(t, "golden")
	closing := []block.BoxID{"UL", "OS", "TO", "QU", "SK", "HX"} // who has signed on and must sign off before the next day
	var all []block.Entry
	s := r.Opening(day[0].Event.At)
	add := func(e block.Event) {
		next, out, err := r.Step(s, e)
		if err != nil {
			return
		}
		s = next
		all = append(all, block.Entry{Seq: uint64(len(all) + 1), Event: e, Outcome: out})
	}
	for n := 0; len(all) < most; n++ {
		later := time.Duration(n) * 24 * time.Hour
		for _, e := range day {
			e.Event.At = e.Event.At.Add(later)
			e.Event.Train = block.TrainID(dated(string(e.Event.Train), n))
			add(e.Event)
		}
		for _, b := range closing {
			at := s.At().Add(time.Minute)
			add(block.Event{Do: block.Duty, By: b, Off: true, At: at})
		}
	}
	return r, all
}

// dated is a train's number on a later day.
func dated(train string, day int) string {
	if train == "" || day == 0 {
		return train
	}
	return fmt.Sprintf("%s/%d", train, day)
}

// BenchmarkReview reads sittings of ten and of a hundred thousand entries: entries a second must not fall with length.
func BenchmarkReview(b *testing.B) {
	for _, n := range []int{10_000, 100_000} {
		r, entries := evenings(b, n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				for _, err := range review.Of(r, all(entries)) {
					require.NoError(b, err)
				}
			}
			b.ReportMetric(float64(len(entries)*b.N)/b.Elapsed().Seconds(), "entries/s")
		})
	}
}
