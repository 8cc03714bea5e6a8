//go:build !(speaker && (cgo || windows))

package speaker

import (
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/sounds"
)

func TestAPlainBuildSaysThatItHasNoLoudspeaker(t *testing.T) {
	s, err := Open(sounds.Rate)
	require.Nil(t, s)
	require.ErrorIs(t, err, ErrNotBuilt)
}
