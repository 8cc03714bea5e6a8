package web

import (
	"context"
	"slices"
	"sync"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/block/review"
)

// looked keeps what has been worked out of a record, for the next who asks, until something more is recorded. Of an evening
// of eight hours a graph or the findings take a tenth of a second.
type looked[T any] struct {
	mu   sync.Mutex
	upTo int // entries
	what T
}

func (k *looked[T]) of(entries []block.Entry, work func() (T, error)) (T, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.upTo == len(entries) && k.upTo > 0 {
		return k.what, nil
	}
	what, err := work()
	if err == nil {
		k.upTo, k.what = len(entries), what
	}
	return what, err
}

// graphNow draws the sitting in hand as far as it has gone.
func (s *server) graphNow(ctx context.Context) (*register.Graph, error) {
	entries, err := s.live.Past(ctx)
	if err != nil {
		return nil, err
	}
	return s.graphOf(entries)
}

// graphOf draws it from its entries.
func (s *server) graphOf(entries []block.Entry) (*register.Graph, error) {
	return s.graphed.of(entries, func() (*register.Graph, error) {
		return register.GraphOf(s.live.Rules(), s.live.Header().Began, register.InOrder(entries))
	})
}

// foundIn reads the sitting in hand as a reviewer does.
func (s *server) foundIn(entries []block.Entry) ([]review.Finding, error) {
	return s.found.of(entries, func() ([]review.Finding, error) {
		var all []review.Finding
		for f, err := range review.Of(s.live.Rules(), register.InOrder(entries)) {
			if err != nil {
				return nil, err
			}
			all = append(all, f)
		}
		return slices.Clip(all), nil
	})
}
