package block_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// The layouts that come with the program have neither flaws nor risks, and their sequences fit (A2, A5).
func TestEmbeddedLayoutsAreSound(t *testing.T) {
	for name, trains := range map[string]int{"lathermoor": 24, "tiny": 10} {
		texts, err := block.EmbeddedLayout(name)
		require.NoError(t, err)
		l, err := block.ReadLayout([]byte(texts.Layout))
		require.NoError(t, err, name)
		flaws, warnings := l.Check()
		assert.Empty(t, flaws, name)
		assert.Empty(t, warnings, name)
		day, err := block.ReadTimetable([]byte(texts.Trains), []byte(texts.Times))
		require.NoError(t, err, name)
		assert.Len(t, day.Workings, trains, name)
		flaws, warnings = l.CheckSequence(day, nil)
		assert.Empty(t, flaws, name)
		assert.Empty(t, warnings, name)
	}
}
