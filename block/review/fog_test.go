package review_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/review"
)

// D13: fog comes down and lifts, and is booked; meanwhile an acceptance that looks one section only is named, with its
// grade "from memory", where fogRule is double and nowhere else. Source: absolute-block reference 4.5, from memory.
func TestFogLooksTwoSections(t *testing.T) {
	const evening = `boxes A B C
book 1960-letters
level free
set fogRule RULE
BOOKED
10:01:00  B rings C 1
10:01:03  C rings B 1
10:01:06  B rings C 4
10:01:09  C rings B 4
10:01:12  C turns B clear
10:03:00  A rings B 1
10:03:03  B rings A 1
10:03:06  A rings B 3-1
10:03:09  B rings A 3-1
10:03:12  B turns A clear
`
	for name, c := range map[string]struct {
		rule, booked string
		found        int
	}{
		"double, thick":               {"double", `10:00:00  B remarks "fog"`, 1},
		"double, snow":                {"double", `10:00:00  B remarks "Falling snow"`, 1},
		"double, fogsignalmen out":    {"double", "10:00:00  B remarks \"fog\"\n10:00:30  B remarks \"fogsignalmen at their posts\"", 0},
		"double, lifted":              {"double", "10:00:00  B remarks \"fog\"\n10:00:30  B remarks \"fog lifted\"", 0},
		"double, fog at another box":  {"double", `10:00:00  A remarks "fog"`, 0},
		"double, another remark":      {"double", `10:00:00  B remarks "bell weak"`, 0},
		"not instructed":              {"off", `10:00:00  B remarks "fog"`, 0},
		"double, thick, then thicker": {"double", "10:00:00  B remarks \"fog\"\n10:00:30  B remarks \"bell weak\"", 1},
	} {
		t.Run(name, func(t *testing.T) {
			n, err := notes.Read([]byte(strings.NewReplacer("RULE", c.rule, "BOOKED", c.booked).Replace(evening)), nil)
			require.NoError(t, err)
			var entries []block.Entry
			for p := range notes.Run(n) {
				require.NotEqual(t, "impossible", p.Ending, "%s: %s", p.Says, p.Why)
				entries = append(entries, p.Entries...)
			}
			found := 0
			for f, err := range review.Of(n.Rules, all(entries)) {
				require.NoError(t, err)
				if f.Rule == "FG-01" {
					found++
					require.Equal(t, block.BoxID("B"), f.Box)
					require.Equal(t, "M", f.Grade)
					require.Contains(t, f.Cite, "from memory")
				}
			}
			require.Equal(t, c.found, found)
		})
	}
}
