package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// F11: a sitting written by each format that there has been still opens, and shows what it showed then: the registers and
// the findings are those that stand beside it. One folder of testdata/sittings for each format; its texts were written by
// the program of that time and are never written anew.
func TestOldSittingsShowWhatTheyShowed(t *testing.T) {
	folders, err := filepath.Glob("../../testdata/sittings/format-*")
	require.NoError(t, err)
	require.NotEmpty(t, folders)
	for _, folder := range folders {
		t.Run(filepath.Base(folder), func(t *testing.T) {
			file := filepath.Join(folder, "tiny.jsonl")
			then := func(name string) string {
				text, err := os.ReadFile(filepath.Join(folder, name))
				require.NoError(t, err)
				return string(text)
			}
			for _, box := range []string{"UL", "OS"} {
				require.Equal(t, then(box+".csv"), said(t, "register", file, "--box", box, "--csv"))
			}
			require.Equal(t, then("review.txt"), strings.ReplaceAll(said(t, "review", file), "\r\n", "\n"))
		})
	}
}
