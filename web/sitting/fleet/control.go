//go:build fleet

package fleet

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"net/http"
	"slices"
	"sync"
	"time"

	"taillamp/block"
	"taillamp/web/sitting"
)

// A Control works the sittings that fall to this process: those without an owner, and those that its own directory entry
// says it has.
type Control struct {
	Keeper    sitting.Keeper
	Directory *Directory
	Clock     sitting.Clock
	Program   string
	// Pages makes what answers the tablets of a sitting.
	Pages func(*sitting.Live, Evening) http.Handler
	// Took is told of every sitting that this process has taken, and with what errors it could not. nil: nobody is.
	Took func(name string, e Evening, err error)
	Log  *slog.Logger

	mu      sync.Mutex
	held    map[string]*held
	tried   map[string]time.Time // when a sitting that could not be taken was tried last
	takes   chan struct{}        // as many at a time as it has room
	working sync.WaitGroup
	taken   int // since the start
}

// held is a sitting that this process works.
type held struct {
	host  *sitting.Host
	live  *sitting.Live
	pages http.Handler // nil: it is being taken
	gone  time.Time    // since when it is no longer announced; zero: it is
}

const (
	lookEvery    = 250 * time.Millisecond
	tryAgain     = 3 * time.Second // after a sitting that could not be taken
	takesAtATime = 8
	carriedAfter = time.Second // without being announced
)

// Work takes what falls to this process, until ctx ends. Then everything is handed over: Work returns when this process
// has no sitting any more.
func (c *Control) Work(ctx context.Context) {
	c.mu.Lock()
	c.held, c.tried, c.takes = make(map[string]*held), make(map[string]time.Time), make(chan struct{}, takesAtATime)
	c.mu.Unlock()
	t := time.NewTicker(lookEvery)
	defer t.Stop()
	for {
		c.look(ctx)
		select {
		case <-ctx.Done():
			c.handOver(context.WithoutCancel(ctx))
			return
		case <-c.Directory.changes:
		case <-t.C:
		}
	}
}

// look takes the sittings that fall to this process and that it has not got.
func (c *Control) look(ctx context.Context) {
	if c.Directory.Draining() {
		return
	}
	under := c.Directory.Evenings()
	for _, h := range c.carriedOff(under) {
		c.working.Go(func() { _ = h.live.Close(ctx) }) // keep tells of it
	}
	for name, e := range under {
		owner := c.Directory.Owner(name)
		if owner == "" {
			owner = c.Directory.Falls(name)
		}
		if owner != c.Directory.me || !c.mayTry(name) {
			continue
		}
		c.working.Go(func() { c.take(ctx, name, e) })
	}
}

// carriedOff are the sittings that this process has and that have not been announced for a while: somebody wants to carry
// them elsewhere. A directory that is just being read afresh may lack one for a moment.
func (c *Control) carriedOff(under map[string]Evening) []*held {
	c.mu.Lock()
	defer c.mu.Unlock()
	var all []*held
	for name, h := range c.held {
		_, is := under[name]
		switch {
		case h.live == nil:
		case is:
			h.gone = time.Time{}
		case h.gone.IsZero():
			h.gone = time.Now()
		case time.Since(h.gone) > carriedAfter && h.live.Trouble() == nil:
			all = append(all, h)
		}
	}
	return all
}

// mayTry keeps a place for a sitting that is going to be taken.
func (c *Control) mayTry(name string) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.held[name] != nil || time.Since(c.tried[name]) < tryAgain {
		return false
	}
	c.held[name] = &held{}
	return true
}

// take goes on with a sitting.
func (c *Control) take(ctx context.Context, name string, e Evening) {
	c.takes <- struct{}{}
	defer func() { <-c.takes }()
	host := sitting.NewHost(c.Keeper, c.Clock, c.Program).Under(c.Directory)
	within, done := context.WithTimeout(ctx, 2*patience)
	defer done()
	live, err := host.Resume(within, name)
	switch {
	case errors.Is(err, sitting.ErrOver), errors.Is(err, sitting.ErrNoSitting):
		err = errors.Join(c.Directory.Withdraw(within, name))
		fallthrough
	case err != nil:
		if !c.Directory.e.Connected() {
			err = errNoEngine
		}
		c.mu.Lock()
		delete(c.held, name)
		c.tried[name] = time.Now()
		c.mu.Unlock()
		if err != nil && !errors.Is(err, sitting.ErrInUse) && ctx.Err() == nil && c.Took != nil {
			c.Took(name, e, err)
		}
		return
	}
	c.keep(name, &held{host: host, live: live, pages: c.Pages(live, e)})
	if c.Took != nil {
		c.Took(name, e, nil)
	}
}

// keep has a sitting until it ends, whoever ends it.
func (c *Control) keep(name string, h *held) {
	c.mu.Lock()
	c.held[name] = h
	c.taken++
	c.mu.Unlock()
	c.working.Go(func() {
		<-h.live.Done()
		ctx, done := context.WithTimeout(context.Background(), goodbye)
		defer done()
		if errors.Is(h.live.Trouble(), sitting.ErrOver) {
			if err := c.Directory.Withdraw(ctx, name); err != nil {
				c.Log.Warn("a sitting that is over is still announced", "sitting", name, "err", err)
			}
		}
		_ = h.host.Close(ctx) // waits until its tablets have been told
		c.mu.Lock()
		defer c.mu.Unlock()
		delete(c.held, name)
	})
}

// goodbye is how long the tablets of a sitting have to be told that it goes elsewhere.
const goodbye = 2 * time.Second

// Begin begins a sitting in this process. sitting.ErrExists: there is one of that name.
func (c *Control) Begin(ctx context.Context, name string, first block.Header) (*sitting.Live, Evening, error) {
	if !c.mayTry(name) {
		return nil, Evening{}, fmt.Errorf("%w: %q", sitting.ErrExists, name)
	}
	forget := func(err error) (*sitting.Live, Evening, error) {
		c.mu.Lock()
		defer c.mu.Unlock()
		delete(c.held, name)
		return nil, Evening{}, err
	}
	host := sitting.NewHost(c.Keeper, c.Clock, c.Program).Under(c.Directory)
	live, err := host.Open(ctx, name, first)
	if err != nil {
		return forget(err)
	}
	e := Evening{Owner: sitting.NewKey()}
	if err := c.Directory.Announce(ctx, name, e); err != nil {
		return forget(errors.Join(err, host.Close(ctx)))
	}
	c.keep(name, &held{host: host, live: live, pages: c.Pages(live, e)})
	return live, e, nil
}

// here is what answers for a sitting that this process has; nil: it has not.
func (c *Control) here(name string) http.Handler {
	c.mu.Lock()
	defer c.mu.Unlock()
	if h := c.held[name]; h != nil && h.pages != nil {
		return h.pages
	}
	return nil
}

// Held are the sittings that this process works, by name.
func (c *Control) Held() []*sitting.Live {
	c.mu.Lock()
	defer c.mu.Unlock()
	var all []*sitting.Live
	for _, name := range slices.Sorted(maps.Keys(c.held)) {
		if h := c.held[name]; h.live != nil {
			all = append(all, h.live)
		}
	}
	return all
}

// Taken is how many sittings this process has taken since it began.
func (c *Control) Taken() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.taken
}

// handOver stops every sitting, so that others go on with it at once.
func (c *Control) handOver(ctx context.Context) {
	ctx, done := context.WithTimeout(ctx, patience)
	defer done()
	if err := c.Directory.Drain(ctx); err != nil {
		c.Log.Warn("the others could not be told that this process stops", "err", err)
	}
	c.mu.Lock()
	all := slices.Collect(maps.Values(c.held))
	c.mu.Unlock()
	var closing sync.WaitGroup
	for _, h := range all {
		if h.host != nil {
			closing.Go(func() {
				if err := h.host.Close(ctx); err != nil && !errors.Is(err, sitting.ErrLostRecord) {
					c.Log.Warn("a sitting was not handed over tidily", "err", err)
				}
			})
		}
	}
	closing.Wait()
	c.working.Wait()
}

// The ways in which a process is to be given no tablets.
var (
	errDraining = errors.New("this process is about to stop")
	errNoEngine = errors.New("the engine is not reached")
)

// Ready tells why this process should be given no tablets just now; nil: it may.
func (c *Control) Ready() error {
	switch {
	case c.Directory.Draining():
		return errDraining
	case !c.Directory.e.Connected(), !slices.Contains(c.Directory.Living(), c.Directory.me):
		return errNoEngine
	}
	return nil
}
