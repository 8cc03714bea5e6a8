//go:build unix

package web_test

import (
	"syscall"
	"time"
)

// worked is the processor's time that this process has had.
func worked() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
