package sitting

import (
	"errors"
	"os"
	"syscall"
)

// Opening shared for reading alone is the lock: whoever opens to write as well gets this error of the system.
const sharingViolation = syscall.Errno(32)

// openOwned opens a file for one owner: a second gets ErrInUse, in this process or another. The lock goes with the
// file when it is closed, and when the process dies.
func openOwned(path string, create bool) (*os.File, error) {
	name, err := syscall.UTF16PtrFromString(path)
	if err != nil {
		return nil, err
	}
	how := uint32(syscall.OPEN_EXISTING)
	if create {
		how = syscall.CREATE_NEW
	}
	h, err := syscall.CreateFile(name, syscall.GENERIC_READ|syscall.GENERIC_WRITE, syscall.FILE_SHARE_READ, nil, how,
		syscall.FILE_ATTRIBUTE_NORMAL, 0)
	if errors.Is(err, sharingViolation) {
		return nil, ErrInUse
	}
	if err != nil {
		return nil, &os.PathError{Op: "open", Path: path, Err: err}
	}
	return os.NewFile(uintptr(h), path), nil
}

// syncFolder has nothing to do: this system keeps the folder with the file.
func syncFolder(string) error { return nil }
