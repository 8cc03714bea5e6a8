package sitting_test

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"

	"taillamp/block"
	"taillamp/web/sitting"
)

var errDisk = errors.New("no space left on the card")

// spoilt is a Keeper whose disk can be made to refuse, or to take its time.
type spoilt struct {
	sitting.Keeper
	refuse atomic.Bool
	disk   sync.Mutex    // held by a test: nothing is written
	asked  chan struct{} // receives when something is to be written while it is held
}

func (k *spoilt) Begin(ctx context.Context, name string, h block.Header) (sitting.Record, error) {
	r, err := k.Keeper.Begin(ctx, name, h)
	k.asked = make(chan struct{}, 1)
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
	if !r.k.disk.TryLock() {
		r.k.asked <- struct{}{}
		r.k.disk.Lock()
	}
	defer r.k.disk.Unlock()
	return r.Record.Append(ctx, entries...)
}
