package sitting_test

import (
	"context"
	"errors"
	"sync/atomic"

	"taillamp/block"
	"taillamp/web/sitting"
)

var errDisk = errors.New("no space left on the card")

// spoilt is a Keeper whose disk can be made to refuse.
type spoilt struct {
	sitting.Keeper
	refuse atomic.Bool
}

func (k *spoilt) Begin(ctx context.Context, name string, h block.Header) (sitting.Record, error) {
	r, err := k.Keeper.Begin(ctx, name, h)
	return &spoiltRecord{r, k}, err
}

type spoiltRecord struct {
	sitting.Record
	k *spoilt
}

func (r *spoiltRecord) Append(ctx context.Context, entries ...block.Entry) error {
	if r.k.refuse.Load() {
		return errDisk
	}
	return r.Record.Append(ctx, entries...)
}
