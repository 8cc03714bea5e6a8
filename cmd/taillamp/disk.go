package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"
)

// syncsTried is how often the disk is asked: enough for a median, short enough to wait for.
const syncsTried = 20

// entryLong is about as long as an entry of a record is, in bytes.
const entryLong = 250

// showDisk says how long the disk under a folder takes until a fact is safe: so long everything that is told to a box
// waits. It writes a file there and takes it away again.
func showDisk(w io.Writer, dir string) error {
	there, err := existing(dir)
	if err != nil {
		return unwritable(dir, err)
	}
	times, err := timeSyncs(there)
	if err != nil {
		return unwritable(there, err)
	}
	slices.Sort(times)
	_, err = fmt.Fprintf(w, "a fact is safe on the disk in %s (worst of %d: %s), in %s\n", millis(times[len(times)/2]),
		len(times), millis(times[len(times)-1]), there)
	return err
}

func millis(d time.Duration) string { return fmt.Sprintf("%.1f ms", float64(d.Microseconds())/1000) }

// existing is the folder, or the nearest one above it that is there already.
func existing(dir string) (string, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return "", err
	}
	for {
		info, err := os.Stat(dir)
		switch {
		case err == nil && info.IsDir():
			return dir, nil
		case err == nil:
			return "", &fs.PathError{Op: "open", Path: dir, Err: errors.New("it is no folder")}
		case filepath.Dir(dir) == dir:
			return "", err
		}
		dir = filepath.Dir(dir)
	}
}

func timeSyncs(dir string) (times []time.Duration, err error) {
	f, err := os.CreateTemp(dir, "taillamp-disk-*")
	if err != nil {
		return nil, err
	}
	defer os.Remove(f.Name())
	defer f.Close()
	entry := make([]byte, entryLong)
	for range syncsTried {
		began := time.Now()
		if _, err := f.Write(entry); err != nil {
			return nil, err
		}
		if err := f.Sync(); err != nil {
			return nil, err
		}
		times = append(times, time.Since(began))
	}
	return times, nil
}
