package web_test

import (
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/web/sitting"
)

// J2: in any minute the screen has said what a block section is, what the bells are for and what is happening, in plain
// words, and it names nobody.
func TestScreenExplainsItselfWithinAMinute(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	_, err := s.live.TakeDuty(t.Context(), "OS", "A. Porter")
	require.NoError(t, err)
	_, page := s.get("/s/evening/visitors")
	tells := regexp.MustCompile(`(?s)<div class="tells".*?</div>`).FindString(page)
	said := regexp.MustCompile(`<p>([^<]+)</p>`).FindAllStringSubmatch(tells, -1)
	script, err := os.ReadFile("static/visitors.mjs")
	require.NoError(t, err)
	turn := regexp.MustCompile(`const TURN = (\d+);`).FindStringSubmatch(string(script))
	require.Len(t, turn, 2)
	ms, err := strconv.Atoi(turn[1])
	require.NoError(t, err)
	require.NotEmpty(t, said)
	require.LessOrEqual(t, len(said)*ms, 60_000, "all of it within a minute")
	require.Contains(t, tells, "block sections. Each lets in one train at a time")
	require.Contains(t, tells, "strokes of a bell")
	require.Contains(t, page, `class="last"`, "and what is happening stands above it all the time")
	for _, p := range said {
		require.LessOrEqual(t, len(strings.Fields(p[1])), 35, "%s: short enough to be read at a glance", p[1])
	}
	require.NotContains(t, page, "Porter")
}
