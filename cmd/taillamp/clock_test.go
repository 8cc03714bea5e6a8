package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
)

// tooSoon is a train given out of section before it was seen, at 10.07 by the shed's clock.
const tooSoon = `# A case of our own.
layout tiny
10:00:00  UL takes duty
10:00:00  OS takes duty
10:00:00  UL rings OS 1
10:00:02  OS rings UL 1
10:00:05  UL rings OS 4
10:00:08  OS rings UL 4
10:00:10  OS turns UL clear
10:04:20  train 1 leaves UL for OS
10:04:21  UL rings OS 2
10:04:23  OS rings UL 2
10:04:24  OS turns UL occupied
10:07:16  OS rings UL 1
10:07:18  UL rings OS 1
10:07:20  OS rings UL 2-1
10:07:22  UL rings OS 2-1
10:07:24  OS turns UL blocked
`

// Notes tell the time of the district itself; of a sitting, books and findings tell the district's time, whatever the
// clock in the shed shows (Q10).
func TestBooksAndFindingsTellTheSameTime(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "soon.notes")
	require.NoError(t, os.WriteFile(file, []byte(tooSoon), 0o644))
	require.Contains(t, said(t, "review", file, "--json"), `"rule":"R38","box":"OS","at":"10:07:20"`)
	said(t, "play", file, "--out", dir)
	require.Contains(t, said(t, "register", filepath.Join(dir, "soon.jsonl"), "--box", "OS", "--csv"), ",10.07½,")

	n, err := readNotes(file)
	require.NoError(t, err)
	var entries []block.Entry
	for p := range notes.Run(n) {
		entries = append(entries, p.Entries...)
	}
	h, err := block.EmbeddedHeader("tiny") // its clock is scaled and begins at 15.30
	require.NoError(t, err)
	h.Began = n.Begins
	require.NoError(t, writeSitting(dir, "evening", h, entries))
	require.Contains(t, said(t, "review", filepath.Join(dir, "evening.jsonl"), "--json"), `"rule":"R38","box":"OS","at":"15:37:20"`)
	require.Contains(t, said(t, "register", filepath.Join(dir, "evening.jsonl"), "--box", "OS", "--csv"), ",15.37½,")
}
