package review_test

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The worked cases of the other methods of working, of token and permissive block, come out as the reference has them
// (B16, B17). Each names its source in its own first lines.
func TestMethodCases(t *testing.T) {
	files, err := filepath.Glob("../../testdata/methods/*.notes")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".notes"), func(t *testing.T) { asAsked(t, file) })
	}
}
