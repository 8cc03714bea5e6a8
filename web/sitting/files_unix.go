//go:build unix && !solaris && !aix

package sitting

import (
	"errors"
	"fmt"
	"os"
	"syscall"
)

// openOwned opens a file for one owner: a second gets ErrInUse, in this process or another. The lock goes with the
// file when it is closed, and when the process dies.
func openOwned(path string, create bool) (*os.File, error) {
	flags := os.O_RDWR | os.O_APPEND
	if create {
		flags |= os.O_CREATE | os.O_EXCL
	}
	f, err := os.OpenFile(path, flags, 0o644)
	if err != nil {
		return nil, err
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		if errors.Is(err, syscall.EWOULDBLOCK) {
			err = ErrInUse
		}
		return nil, errors.Join(fmt.Errorf("lock %s: %w", path, err), f.Close())
	}
	return f, nil
}

// syncFolder makes sure that a folder has what was put into it.
func syncFolder(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
