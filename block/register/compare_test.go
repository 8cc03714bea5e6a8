package register_test

import (
	"os"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/register"
)

// E7: two neighbours' books side by side on the golden day, with the second's clock made two minutes slow: put right, both
// have the same time for every signal that both have; what one book alone has stands in both lists, lacking in the other;
// and no train is called irregular because of a clock.
func TestTwoBooksSideBySide(t *testing.T) {
	text, err := os.ReadFile(goldenDay)
	require.NoError(t, err)
	slow := regexp.MustCompile(`(?m)^layout .*$`).ReplaceAllString(string(text), "$0\nclock OS -2m")
	require.NotEqual(t, slow, string(text))
	n, err := notes.Read([]byte(slow), nil)
	require.NoError(t, err)
	a, b := register.NewBook(n.Rules, "UL", n.Begins), register.NewBook(n.Rules, "OS", n.Begins)
	for p := range notes.Run(n) {
		for _, e := range p.Entries {
			a.Write(e)
			b.Write(e)
		}
	}
	apart, ok := register.CompareClocks(register.PairsOf(a, b, true), 30*time.Second)
	require.True(t, ok)
	require.InDelta(t, -120, apart.Ahead.Seconds(), 15)
	trains, both := 0, 0
	for _, x := range register.SideBySide(a, b, apart.Ahead) {
		trains++
		require.Contains(t, []block.BoxID{"UL", "OS"}, x.From)
		for _, s := range x.Signals {
			if s.A.Seq == 0 || s.B.Seq == 0 {
				continue
			}
			both++
			require.Equal(t, s.A.Seq, s.B.Seq, "one signal, one entry")
			require.LessOrEqual(t, s.A.At.Sub(s.B.At).Abs(), 15*time.Second, "%s of train %s, the clock put right", s.Name, x.Train)
		}
	}
	require.Greater(t, trains, 10)
	require.Greater(t, both, 40)
	for _, x := range register.SideBySide(a, b, 0) {
		for _, s := range x.Signals {
			if s.A.Seq != 0 && s.B.Seq != 0 {
				require.InDelta(t, 120, s.A.At.Sub(s.B.At).Seconds(), 1, "as the clocks stood")
			}
		}
	}
}
