//go:build fleet

package fleet

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"hash/fnv"
	"slices"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"taillamp/web/sitting"
)

// A Directory is what the processes of a fleet agree on: which of them live, which has which sitting, and which sittings
// are under way. It is a sitting.Lease. A process renews one key for all that it has: a sitting is its own until it lets
// go of it or that key has lapsed and another writes its own name in the place of it.
type Directory struct {
	e  *Engine
	me string

	processes, owners, evenings *table
	stop                        context.CancelFunc
	done                        sync.WaitGroup
	beat                        *time.Ticker // renews the key

	mu       sync.Mutex
	draining bool
	mine     map[string]holding
	changes  chan struct{}
}

// holding is a sitting that this process has.
type holding struct {
	revision uint64
	lost     chan struct{}
}

// Evening is what the directory says of a sitting under way.
type Evening struct {
	Owner string `json:"owner"` // the owner's key of the sitting, that stays while processes come and go
}

// A process that has not renewed its key for so long is dead. It renews at a fifth of that.
const (
	deadAfter  = 5 * time.Second
	renewEvery = deadAfter / 5
)

// The words that a process renews its key with.
const (
	atWork      = "at work"
	drainingNow = "draining" // it takes nothing more
)

// Join makes the buckets where they are not, and has this process known as living. me is the name of the process,
// unlike any other's.
func Join(ctx context.Context, e *Engine, me string) (*Directory, error) {
	return join(ctx, e, me, false)
}

// Visit is Join for one to whom no sitting is to fall.
func Visit(ctx context.Context, e *Engine, me string) (*Directory, error) {
	return join(ctx, e, me, true)
}

func join(ctx context.Context, e *Engine, me string, visiting bool) (*Directory, error) {
	d := &Directory{e: e, me: me, draining: visiting, mine: make(map[string]holding), changes: make(chan struct{}, 1), beat: time.NewTicker(renewEvery)}
	for _, b := range []struct {
		to     **table
		config jetstream.KeyValueConfig
	}{
		{&d.processes, jetstream.KeyValueConfig{Bucket: "taillamp-processes", TTL: deadAfter, Storage: jetstream.FileStorage}},
		{&d.owners, jetstream.KeyValueConfig{Bucket: "taillamp-owners", Storage: jetstream.FileStorage}},
		{&d.evenings, jetstream.KeyValueConfig{Bucket: "taillamp-evenings", Storage: jetstream.FileStorage}},
	} {
		b.config.Replicas = e.replicas
		kv, err := bucket(ctx, e.js, b.config)
		if err != nil {
			return nil, fmt.Errorf("make the bucket %s: %w", b.config.Bucket, err)
		}
		*b.to = newTable(kv, d.heard)
	}
	if err := d.renew(ctx); err != nil {
		return nil, err
	}
	follow, stop := context.WithCancel(context.WithoutCancel(ctx))
	d.stop = stop
	e.conn.SetReconnectHandler(func(*nats.Conn) {
		for _, t := range []*table{d.processes, d.owners, d.evenings} {
			t.refresh()
		}
	})
	for _, t := range []*table{d.processes, d.owners, d.evenings} {
		d.done.Go(func() { t.follow(follow) })
	}
	d.done.Go(func() { d.live(follow) })
	for _, t := range []*table{d.processes, d.owners, d.evenings} {
		select {
		case <-t.whole:
		case <-ctx.Done():
			return nil, errors.Join(ctx.Err(), d.Leave(context.WithoutCancel(ctx)))
		}
	}
	return d, nil
}

// bucket opens a bucket, or makes it. Several processes do that at once.
func bucket(ctx context.Context, js jetstream.JetStream, c jetstream.KeyValueConfig) (jetstream.KeyValue, error) {
	for {
		word, done := context.WithTimeout(ctx, 2*answerWithin)
		kv, err := js.CreateOrUpdateKeyValue(word, c)
		done()
		if err == nil || again(ctx) != nil {
			return kv, err
		}
	}
}

// Me is this process's name.
func (d *Directory) Me() string { return d.me }

// live renews this process's key. Where the engine is not reached, or for long does not answer, nobody knows any more who
// has what: everything counts as lost, so that tablets are told before one of them acts. When it is back the sittings are
// taken again by whoever they fall to.
func (d *Directory) live(ctx context.Context) {
	defer d.beat.Stop()
	renewed, reached := time.Now(), time.Now()
	for {
		select {
		case <-ctx.Done():
			return
		case <-d.beat.C:
		}
		if d.renew(ctx) == nil {
			renewed = time.Now()
		}
		if d.e.Connected() {
			reached = time.Now()
		}
		if time.Since(reached) > gonePause || time.Since(renewed) > patience {
			d.loseAll()
		}
	}
}

// loseAll lets go of everything without asking the engine.
func (d *Directory) loseAll() {
	d.mu.Lock()
	defer d.mu.Unlock()
	for name, h := range d.mine {
		close(h.lost)
		delete(d.mine, name)
	}
}

func (d *Directory) renew(ctx context.Context) error {
	ctx, done := one(ctx)
	defer done()
	word := atWork
	if d.Draining() {
		word = drainingNow
	}
	_, err := d.processes.kv.PutString(ctx, d.me, word)
	return err
}

// heard looks whether another has taken what this process had, and lets it be known that something has changed.
func (d *Directory) heard() {
	d.mu.Lock()
	for name, h := range d.mine {
		if r, is := d.owners.get(name); is && r.value != d.me && r.revision > h.revision {
			close(h.lost)
			delete(d.mine, name)
		}
	}
	d.mu.Unlock()
	select {
	case d.changes <- struct{}{}:
	default:
	}
}

// Hold takes a sitting that nobody has, or whose owner is dead.
func (d *Directory) Hold(ctx context.Context, name string) (<-chan struct{}, string, error) {
	d.mu.Lock()
	h, has := d.mine[name]
	d.mu.Unlock()
	if has {
		return h.lost, d.me, nil
	}
	revision, owner, err := d.write(ctx, name)
	if err != nil {
		return nil, owner, err
	}
	h = holding{revision, make(chan struct{})}
	d.mu.Lock()
	defer d.mu.Unlock()
	d.mine[name] = h
	d.owners.put(name, d.me, revision)
	return h.lost, d.me, nil
}

// write writes this process's name as the owner's.
func (d *Directory) write(ctx context.Context, name string) (revision uint64, owner string, err error) {
	ctx, done := context.WithTimeout(ctx, 2*answerWithin)
	defer done()
	was, err := d.owners.kv.Get(ctx, name)
	switch {
	case errors.Is(err, jetstream.ErrKeyNotFound):
		revision, err = d.owners.kv.Create(ctx, name, []byte(d.me))
	case err != nil:
		return 0, "", fmt.Errorf("ask who has %q: %w", name, err)
	default:
		owner = string(was.Value())
		if owner != d.me && d.lives(ctx, owner) {
			return 0, owner, sitting.ErrInUse
		}
		revision, err = d.owners.kv.Update(ctx, name, []byte(d.me), was.Revision())
	}
	if errors.Is(err, jetstream.ErrKeyExists) || refused(err) {
		return 0, "another process", sitting.ErrInUse
	}
	if err != nil {
		return 0, "", fmt.Errorf("take %q: %w", name, err)
	}
	return revision, d.me, nil
}

// lives tells whether a process does, by the engine's own word. Where that is not to be had, it does.
func (d *Directory) lives(ctx context.Context, process string) bool {
	_, err := d.processes.kv.Get(ctx, process)
	return !errors.Is(err, jetstream.ErrKeyNotFound)
}

// Release lets go of a sitting.
func (d *Directory) Release(ctx context.Context, name string) error {
	d.mu.Lock()
	h, has := d.mine[name]
	delete(d.mine, name)
	d.mu.Unlock()
	if !has {
		return nil
	}
	ctx, done := one(ctx)
	defer done()
	if err := d.owners.kv.Delete(ctx, name, jetstream.LastRevision(h.revision)); err != nil && !refused(err) {
		return fmt.Errorf("let go of %q: %w", name, err)
	}
	return nil
}

// Owner is the living process that has a sitting, as far as this one has heard; empty: none.
func (d *Directory) Owner(name string) string {
	r, is := d.owners.get(name)
	if !is || !slices.Contains(d.Living(), r.value) {
		return ""
	}
	return r.value
}

// Living are the processes that are alive, those that drain included, by name.
func (d *Directory) Living() []string { return d.those(atWork, drainingNow) }

func (d *Directory) those(words ...string) []string {
	var all []string
	for name, r := range d.processes.all() {
		if slices.Contains(words, r.value) && time.Since(r.seen) < deadAfter {
			all = append(all, name)
		}
	}
	slices.Sort(all)
	return all
}

// Falls tells to which living process a sitting without an owner falls: every process comes to the same answer, and
// all get about as many.
func (d *Directory) Falls(name string) string {
	best, heaviest := "", uint64(0)
	for _, p := range d.those(atWork) {
		h := fnv.New64a()
		_, _ = h.Write([]byte(p + " " + name)) // a hash takes everything
		weight := mixed(h.Sum64())
		if best == "" || weight > heaviest {
			best, heaviest = p, weight
		}
	}
	return best
}

// mixed spreads the bits of a hash whose inputs differ at the end only.
func mixed(h uint64) uint64 {
	h ^= h >> 33
	h *= 0xff51afd7ed558ccd
	h ^= h >> 33
	return h
}

// Evenings are the sittings under way, by name.
func (d *Directory) Evenings() map[string]Evening {
	all := make(map[string]Evening)
	for name, r := range d.evenings.all() {
		var e Evening
		if json.Unmarshal([]byte(r.value), &e) == nil {
			all[name] = e
		}
	}
	return all
}

// Announce has a sitting under way from now on.
func (d *Directory) Announce(ctx context.Context, name string, e Evening) error {
	text, err := json.Marshal(e)
	if err != nil {
		return err
	}
	ctx, done := one(ctx)
	defer done()
	revision, err := d.evenings.kv.Put(ctx, name, text)
	if err == nil {
		d.evenings.put(name, string(text), revision)
	}
	return err
}

// Withdraw has a sitting under way no longer.
func (d *Directory) Withdraw(ctx context.Context, name string) error {
	ctx, done := one(ctx)
	defer done()
	return d.evenings.kv.Delete(ctx, name)
}

// Drain has this process take nothing more.
func (d *Directory) Drain(ctx context.Context) error {
	d.mu.Lock()
	d.draining = true
	d.mu.Unlock()
	return d.renew(ctx)
}

// Draining tells whether it does.
func (d *Directory) Draining() bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.draining
}

// Leave has this process known as gone.
func (d *Directory) Leave(ctx context.Context) error {
	d.stop()
	d.done.Wait()
	ctx, done := one(ctx)
	defer done()
	return d.processes.kv.Delete(ctx, d.me)
}
