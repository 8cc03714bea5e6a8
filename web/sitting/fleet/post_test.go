//go:build fleet

package fleet_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/web/sitting/fleet"
	"taillamp/web/sitting/sittingtest"
)

func name(n int) string { return fmt.Sprintf("s%04d", n) }

func TestPostThroughTheEngineKeepsTheContract(t *testing.T) {
	node := alone(t)
	require.NoError(t, sittingtest.Post(t.Context(), fleet.NewPost(connect(t, node)), fleet.NewPost(connect(t, node))))
}
