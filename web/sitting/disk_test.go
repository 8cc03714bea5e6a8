package sitting

import (
	"errors"
	"io"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

var errCard = errors.New("input/output error")

// badDisk writes half of what it is given, or fails to sync, once; or lets nothing be cut off.
type badDisk struct {
	disk
	short, noSync, noCut bool
}

func (d *badDisk) Truncate(size int64) error {
	if d.noCut {
		return errCard
	}
	return d.disk.Truncate(size)
}

func (d *badDisk) Write(text []byte) (int, error) {
	if !d.short {
		return d.disk.Write(text)
	}
	d.short = false
	n, err := d.disk.Write(text[:len(text)/2])
	if err == nil {
		err = io.ErrShortWrite
	}
	return n, err
}

func (d *badDisk) Sync() error {
	if !d.noSync {
		return d.disk.Sync()
	}
	d.noSync = false
	return errCard
}

// After a short write or a failed sync nothing more is written, even if the disk is well again; what stands in the
// file up to there can be gone on with. What was to be written then is cut off, whole lines too, because nobody is told of
// it; where that cannot be done, the error says that nobody knows.
func TestDeadDiskIsDeadForGood(t *testing.T) {
	for name, bad := range map[string]badDisk{"short write": {short: true}, "failed sync": {noSync: true},
		"short write, not cut off": {short: true, noCut: true}, "failed sync, not cut off": {noSync: true, noCut: true}} {
		t.Run(name, func(t *testing.T) {
			ctx := t.Context()
			k, err := NewFiles(filepath.Join(t.TempDir(), "sittings"))
			require.NoError(t, err)
			began := time.Date(2026, 3, 14, 19, 30, 0, 0, time.UTC)
			opened, err := k.Begin(ctx, "one", block.Header{Sitting: "one", Began: began})
			require.NoError(t, err)
			r := opened.(*fileRecord)
			entry := func(seq uint64) block.Entry { return block.Entry{Seq: seq, Mark: block.Open, At: began} }
			require.NoError(t, r.Append(ctx, entry(1)))
			bad.disk = r.file
			r.file = &bad
			err = r.Append(ctx, entry(2), entry(3))
			require.Error(t, err)
			var unsure *UnsureError
			require.Equal(t, bad.noCut, errors.As(err, &unsure))
			require.ErrorIs(t, r.Append(ctx, entry(2)), ErrLostRecord)
			kept := 0
			for _, err := range r.Entries(ctx, 0) {
				require.NoError(t, err)
				kept++
			}
			require.Equal(t, 1, kept, "what was not safely kept is not shown")
			require.NoError(t, r.Close())

			again, err := k.Resume(ctx, "one")
			require.NoError(t, err)
			defer func() { require.NoError(t, again.Close()) }()
			kept = 0
			for _, err := range again.Entries(ctx, 0) {
				require.NoError(t, err)
				kept++
			}
			if !bad.noCut {
				require.Equal(t, 1, kept, "a line that nobody was told of")
				require.Zero(t, again.Cut())
			}
		})
	}
}
