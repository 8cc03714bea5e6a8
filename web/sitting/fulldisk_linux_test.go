package sitting_test

import (
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// Q13: a real disk of 64 kB fills up in the middle of an evening. The act that no longer finds room is answered as not
// kept, nothing goes on unrecorded, and everything that was answered before is in the record when it is opened again. It
// takes one who may mount a disk.
func TestDiskFillsUp(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mount("none", dir, "tmpfs", 0, "size=64k"); err != nil {
		t.Skipf("no disk can be mounted here: %v", err)
	}
	t.Cleanup(func() { _ = syscall.Unmount(dir, syscall.MNT_DETACH) }) // the folder goes with the test
	files, err := sitting.NewFiles(dir)
	require.NoError(t, err)
	s := newStage(t, files)
	seat := s.duty(ul)
	done := 0
	for ; err == nil; done++ {
		require.Less(t, done, 1000, "64 kB are never full")
		_, err = s.act(seat, block.Event{Do: block.Remark, Words: strings.Repeat("x", 400)})
	}
	done-- // the last was not
	require.Positive(t, done)
	require.ErrorIs(t, err, sitting.ErrNotKept)
	_, err = s.act(seat, block.Event{Do: block.Remark, Words: "x"})
	require.Error(t, err, "nothing goes on unrecorded")
	_ = s.host.Close(t.Context()) // it has closed itself

	_, entries, err := files.Read(t.Context(), "evening")
	require.NoError(t, err)
	kept := 0
	for e, err := range entries {
		require.NoError(t, err)
		if e.Event.Do == block.Remark {
			kept++
		}
	}
	require.GreaterOrEqual(t, kept, done)
}

// Q13: on a disk that can only be read no evening begins, and what is said names the disk's own reason; an evening that lies
// there can be read.
func TestDiskIsReadOnly(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mount("none", dir, "tmpfs", 0, "size=256k"); err != nil {
		t.Skipf("no disk can be mounted here: %v", err)
	}
	t.Cleanup(func() { _ = syscall.Unmount(dir, syscall.MNT_DETACH) }) // the folder goes with the test
	files, err := sitting.NewFiles(dir)
	require.NoError(t, err)
	s := newStage(t, files)
	seat := s.duty(ul)
	_, err = s.act(seat, block.Event{Do: block.Remark, Words: "kept"})
	require.NoError(t, err)
	require.NoError(t, s.host.Close(t.Context()))
	require.NoError(t, syscall.Mount("none", dir, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""))

	host := sitting.NewHost(files, s.clock, "taillamp test")
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	_, err = host.Open(t.Context(), "another", h)
	require.ErrorIs(t, err, syscall.EROFS)
	_, entries, err := files.Read(t.Context(), "evening")
	require.NoError(t, err)
	found := false
	for e, err := range entries {
		require.NoError(t, err)
		found = found || e.Event.Words == "kept"
	}
	require.True(t, found)
}
