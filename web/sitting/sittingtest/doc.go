// Package sittingtest holds every Keeper, Lease and Post to its contract. It is for tests alone.
package sittingtest

import (
	"errors"
	"fmt"
)

// judge collects what a contract finds wrong.
type judge struct{ faults []error }

func (j *judge) want(right bool, format string, args ...any) {
	if !right {
		j.faults = append(j.faults, fmt.Errorf(format, args...))
	}
}

func (j *judge) verdict() error { return errors.Join(j.faults...) }
