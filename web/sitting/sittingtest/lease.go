package sittingtest

import (
	"context"
	"errors"

	"taillamp/web/sitting"
)

// Lease tries two holders of one kind by the contract that stands at sitting.Lease. The error tells every fault found.
func Lease(ctx context.Context, a, b sitting.Lease) error {
	j := &judge{}
	is := func(err, want error, what string) { j.want(errors.Is(err, want), "%s: %v, want %v", what, err, want) }
	lost, _, err := a.Hold(ctx, "one")
	is(err, nil, "hold what is free")
	_, owner, err := b.Hold(ctx, "one")
	is(err, sitting.ErrInUse, "hold what another has")
	j.want(owner != "", "the owner has no name")
	_, _, err = a.Hold(ctx, "one")
	is(err, nil, "hold again what one has")
	is(b.Release(ctx, "one"), nil, "release what one does not hold")
	_, _, err = b.Hold(ctx, "one")
	is(err, sitting.ErrInUse, "hold what another has still")
	_, _, err = b.Hold(ctx, "two")
	is(err, nil, "hold another")
	select {
	case <-lost:
		j.want(false, "lost although nobody else has it")
	default:
	}
	is(a.Release(ctx, "one"), nil, "release")
	is(a.Release(ctx, "one"), nil, "release again")
	_, _, err = b.Hold(ctx, "one")
	is(err, nil, "hold what was released")
	return errors.Join(j.verdict(), b.Release(ctx, "one"), b.Release(ctx, "two"))
}
