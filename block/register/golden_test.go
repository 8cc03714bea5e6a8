package register_test

import (
	"bytes"
	"encoding/csv"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/register"
)

// The golden day's books, made by the scenario's own means from its list of acts, are what the fold writes from the
// bells alone, cell by cell (B12, B21).
func TestGoldenBooks(t *testing.T) {
	n, entries := played(t, goldenDay)
	for _, box := range []block.BoxID{"UL", "SK", "OS", "QU", "HX", "TO"} {
		t.Run(string(box), func(t *testing.T) {
			b := register.NewBook(n.Rules, box, n.Begins)
			for _, e := range entries {
				b.Write(e)
			}
			var got bytes.Buffer
			require.NoError(t, b.WriteCSV(&got))
			want, err := os.ReadFile("../../testdata/lathermoor/golden-register-" + string(box) + ".csv")
			require.NoError(t, err)
			compare(t, table(t, want), table(t, got.Bytes()))
		})
	}
}

func table(t *testing.T, text []byte) [][]string {
	t.Helper()
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	require.NoError(t, err)
	return rows
}

// compare says of each cell that differs which it is.
func compare(t *testing.T, want, got [][]string) {
	t.Helper()
	require.Equal(t, want[0], got[0], "the columns")
	for i := 1; i < max(len(want), len(got)); i++ {
		if i >= len(got) {
			t.Errorf("row %d is missing: %v", i, want[i])
			continue
		}
		if i >= len(want) {
			t.Errorf("row %d is not in the book: %v", i, got[i])
			continue
		}
		for c, name := range want[0] {
			if name == "remarks" { // what a hand wrote there no bell can know
				continue
			}
			if want[i][c] != got[i][c] {
				t.Errorf("row %d (%s %s) %s: %q, want %q", i, want[i][1], want[i][3], name, got[i][c], want[i][c])
			}
		}
	}
}
