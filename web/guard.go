package web

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// What one machine may ask for, and all together. A shed's tablets are machines of their own; a club behind one address
// has room for twenty tablets.
const (
	socketsEach = 40
	socketsAll  = 400
	asksEach    = 40  // requests a second, of a machine that is not this one
	asksAtOnce  = 400 // a few pages opened anew
	asksKept    = 1000
	framesEach  = 40               // a second, of one tablet
	framesMost  = 4                // seconds' worth of them at once
	noteEvery   = 10 * time.Second // the record is told once in that time who was turned away, with the number
)

// guard counts what every machine asks for.
type guard struct {
	mu       sync.Mutex
	asks     map[string]*rate.Limiter
	sockets  map[string]int
	all      int
	noted    time.Time // when the record was last told who was turned away
	refusals int       // since
}

// mayAsk tells whether a machine may ask for one thing more. This machine itself may always.
func (g *guard) mayAsk(machine string, now time.Time) bool {
	if at, err := netip.ParseAddr(machine); err == nil && at.Unmap().IsLoopback() {
		return true
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	b := g.asks[machine]
	if b == nil {
		if len(g.asks) >= asksKept { // whoever has been quiet is forgotten
			for other, o := range g.asks {
				if o.TokensAt(now) >= asksAtOnce {
					delete(g.asks, other)
				}
			}
			if len(g.asks) >= asksKept {
				return false
			}
		}
		if g.asks == nil {
			g.asks = make(map[string]*rate.Limiter)
		}
		b = rate.NewLimiter(asksEach, asksAtOnce)
		g.asks[machine] = b
	}
	return b.AllowN(now, 1)
}

// plug counts one socket more. Where it may be, the caller must call the function that it is given when it is gone.
func (g *guard) plug(machine string) (unplug func(), may bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.all >= socketsAll || g.sockets[machine] >= socketsEach {
		return nil, false
	}
	if g.sockets == nil {
		g.sockets = make(map[string]int)
	}
	g.all++
	g.sockets[machine]++
	return func() {
		g.mu.Lock()
		defer g.mu.Unlock()
		g.all--
		if g.sockets[machine]--; g.sockets[machine] == 0 {
			delete(g.sockets, machine)
		}
	}, true
}

// limited answers a machine that asks for too much.
func (s *server) limited(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !s.guard.mayAsk(machineOf(r), time.Now()) {
			w.Header().Set("Retry-After", "10")
			http.Error(w, "Too much was asked for from here at once: wait ten seconds.", http.StatusTooManyRequests)
			s.turnedAway(r, "a machine that asks for too much")
			return
		}
		next.ServeHTTP(w, r)
	})
}

// turnedAway has it stand in the record that somebody was. No key does, nor where he came from.
func (s *server) turnedAway(r *http.Request, what string) {
	g := &s.guard
	g.mu.Lock()
	g.refusals++
	now, number := s.live.Now(), g.refusals
	due := g.noted.IsZero() || now.Sub(g.noted) >= noteEvery
	if due {
		g.noted, g.refusals = now, 0
	}
	g.mu.Unlock()
	if !due {
		return
	}
	ctx, done := context.WithTimeout(context.WithoutCancel(r.Context()), noteEvery)
	defer done()
	if err := s.live.Report(ctx, fmt.Sprintf("turned away: %s (%d since this was last written)", what, number)); err != nil {
		s.log.Warn("who was turned away could not be recorded", "err", err)
	}
}

// outside tells whether a machine is on none of the networks that this one is on.
func outside(machine string) bool {
	at, err := netip.ParseAddr(machine)
	if err != nil {
		return false
	}
	if at = at.Unmap().WithZone(""); at.IsLoopback() || at.IsLinkLocalUnicast() {
		return false
	}
	cards, err := net.InterfaceAddrs()
	if err != nil {
		return !at.IsPrivate()
	}
	for _, a := range cards {
		if on, err := netip.ParsePrefix(a.String()); err == nil && on.Masked().Contains(at) {
			return false
		}
	}
	return true
}
