package block_test

import (
	"encoding/csv"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// readSheet reads a CSV file with a heading, a map from column to cell for each row.
func readSheet(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(name)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err, name)
	require.Greater(t, len(rows), 1, "%s has rows", name)
	var out []map[string]string
	for _, cells := range rows[1:] {
		row := make(map[string]string, len(cells))
		for i, c := range cells {
			row[rows[0][i]] = c
		}
		out = append(out, row)
	}
	return out
}
