package review_test

import (
	"encoding/csv"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/review"
)

// play runs one of the demo's days and gives its rules and its record.
func play(t testing.TB, name string) (*block.Rules, []block.Entry) {
	t.Helper()
	text, err := os.ReadFile("../../testdata/lathermoor/" + name + ".notes")
	require.NoError(t, err)
	n, err := notes.Read(text, nil)
	require.NoError(t, err)
	var entries []block.Entry
	for p := range notes.Run(n) {
		require.NotEqual(t, "impossible", p.Ending, "line %d: %s: %s", p.Line, p.Text, p.Why)
		entries = append(entries, p.Entries...)
	}
	return n.Rules, entries
}

// A day worked right has nothing to be found in it, whether trains are seen or only bells speak of them (E5).
func TestGoldenDayHasNoFinding(t *testing.T) {
	for _, name := range []string{"golden", "golden-bells-only"} {
		t.Run(name, func(t *testing.T) {
			r, entries := play(t, name)
			for f, err := range review.Of(r, all(entries)) {
				require.NoError(t, err)
				t.Errorf("%s at %s, %s, train %s: %s", f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
			}
		})
	}
}

// Twelve days with one fault each: it is found at its box, its train and its time, and what the file calls entailed is
// all that is found besides (E4, E6).
func TestSeededFaultsAreFound(t *testing.T) {
	f, err := os.Open("../../testdata/lathermoor/seeded-faults.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	column := make(map[string]int)
	for i, name := range rows[0] {
		column[name] = i
	}
	for _, row := range rows[1:] {
		get := func(name string) string { return row[column[name]] }
		t.Run(get("fault"), func(t *testing.T) {
			r, entries := play(t, get("fault"))
			hit := false
			for f, err := range review.Of(r, all(entries)) {
				require.NoError(t, err)
				right := strings.HasPrefix(get("rule_id"), string(f.Rule)) && string(f.Box) == get("reviewer_points_at_box")
				hit = hit || right && near(f.At, get("reviewer_points_at_time"))
				if !right && !strings.Contains(get("rule_id"), string(f.Rule)+" at "+string(f.Box)) {
					t.Errorf("%s at %s, %s, train %s: nobody asked for it", f.Rule, f.Box, f.At.Format("15:04:05"), f.Train)
				}
				t.Logf("%s at %s, %s, train %s", f.Rule, f.Box, f.At.Format("15:04:05"), f.Train)
			}
			if !hit {
				t.Errorf("not found: %s at %s %s, train %s: %s", get("rule_id"), get("reviewer_points_at_box"),
					get("reviewer_points_at_time"), get("reviewer_points_at_train"), get("what_was_done"))
			}
		})
	}
}

// near tells whether a moment is the one that a register writes so, a minute either way.
func near(at time.Time, written string) bool {
	half := strings.HasSuffix(written, "½")
	want, err := time.Parse("15.04", strings.TrimSuffix(written, "½"))
	if err != nil {
		return false
	}
	if half {
		want = want.Add(30 * time.Second)
	}
	day := at.Truncate(24 * time.Hour)
	d := at.Sub(day.Add(time.Duration(want.Hour())*time.Hour + time.Duration(want.Minute())*time.Minute + time.Duration(want.Second())*time.Second))
	return d.Abs() <= time.Minute
}
