package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// Q8: a sitting runs with no name typed, and names can be taken out of a kept one: the copy has the same registers, the
// same findings and no name.
func TestNamesAreTakenOut(t *testing.T) {
	dir := t.TempDir()
	keeper, err := sitting.NewFiles(dir)
	require.NoError(t, err)
	host := sitting.NewHost(keeper, sitting.NewHandClock(time.Date(2026, 11, 26, 20, 0, 0, 0, time.UTC)), program())
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	live, err := host.Open(t.Context(), "club", h)
	require.NoError(t, err)
	seat, err := live.TakeDuty(t.Context(), "UL", "Ada Porter")
	require.NoError(t, err)
	_, err = live.TakeDuty(t.Context(), "OS", "") // nobody has to give his name
	require.NoError(t, err)
	_, err = live.Act(t.Context(), seat, 1, block.Event{Do: block.Train, Section: "UL-OS Down Main", Where: block.Leaves, Train: "1"}) // R29
	require.NoError(t, err)
	require.NoError(t, host.Close(t.Context()))

	file, copied := filepath.Join(dir, "club.jsonl"), filepath.Join(dir, "copy.jsonl")
	said(t, "nameless", file, "--out", copied)
	text, err := os.ReadFile(copied)
	require.NoError(t, err)
	before, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Contains(t, string(before), "Ada Porter")
	require.NotContains(t, string(text), "Porter")
	require.Equal(t, said(t, "register", file, "--csv", "--box", "OS"), said(t, "register", copied, "--csv", "--box", "OS"))
	found := said(t, "review", file)
	require.Contains(t, found, "R29")
	require.Equal(t, found, said(t, "review", copied))
	require.Equal(t, strings.ReplaceAll(said(t, "register", file, "--csv", "--box", "UL"), ": Ada Porter", ""), said(t, "register", copied, "--csv", "--box", "UL"))
}
