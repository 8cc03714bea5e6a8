//go:build fleet

package main

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"time"

	"taillamp/web/sitting"
	"taillamp/web/sitting/fleet"
)

// carryWithin is how long one sitting may take, and how long its owner may take to let go of it.
const carryWithin = time.Minute

// runCarry moves sittings between a folder and an engine, as they are to the byte.
func runCarry(ctx context.Context, args []string, std stdio) int {
	fs := newFlags("carry")
	rest, err := parse(fs, args, 2, 1<<10)
	if err != nil {
		return complain(std, err)
	}
	from, to, names := rest[0], rest[1], rest[2:]
	if isEngine(from) == isEngine(to) {
		return complain(std, misuse("taillamp carry FOLDER nats://HOST:4222, or the other way", "carry: one of %s and %s must be a folder and the other an engine", from, to))
	}
	address, dir := from, to
	if isEngine(to) {
		address, dir = to, from
	}
	c, err := newCarrier(ctx, address, dir)
	if err != nil {
		return complain(std, err)
	}
	defer c.close(ctx)
	var one func(context.Context, string) (int, error)
	var all func(context.Context) ([]string, error)
	if isEngine(to) {
		one, all = c.in, c.files.Names
	} else {
		one, all = c.out, c.keeper.Names
	}
	if len(names) == 0 {
		if names, err = all(ctx); err != nil {
			return complain(std, could("", "the sittings of %s cannot be listed: %s", from, lastWords(err)))
		}
	}
	for _, name := range names {
		within, done := context.WithTimeout(ctx, carryWithin)
		n, err := one(within, name)
		done()
		if err != nil {
			return complain(std, carryFault(name, err))
		}
		fmt.Fprintf(std.Out, "carried %s, %d bytes, its checks whole\n", name, n)
	}
	return exitGood
}

func isEngine(at string) bool {
	u, err := url.Parse(at)
	return err == nil && (u.Scheme == "nats" || u.Scheme == "tls")
}

// carryFault says why a sitting stays where it is.
func carryFault(name string, err error) fault {
	switch {
	case errors.Is(err, sitting.ErrInUse):
		return could("stop the taillamp that works it", "%s stays where it is: it is being worked", name)
	case errors.Is(err, sitting.ErrExists):
		return could("", "%s stays where it is: there is another sitting of that name", name)
	case errors.Is(err, sitting.ErrNoSitting):
		return bad("there is no sitting %s", name)
	}
	return could("carry it once more", "%s stays where it is: %s", name, lastWords(err))
}

// carrier stands between a folder and an engine.
type carrier struct {
	files     *sitting.Files
	engine    *fleet.Engine
	keeper    *fleet.Keeper
	directory *fleet.Directory
}

func newCarrier(ctx context.Context, address, dir string) (*carrier, error) {
	files, err := sitting.NewFiles(dir)
	if err != nil {
		return nil, could("", "sittings cannot be kept in %s: %s", dir, reason(err))
	}
	e, err := fleet.Connect(address)
	if err != nil {
		return nil, could("", "the engine at %s cannot be used: %s", withoutSecrets(address), lastWords(err))
	}
	within, done := context.WithTimeout(ctx, carryWithin)
	defer done()
	c := &carrier{files: files, engine: e, keeper: fleet.NewKeeper(e)}
	if err = e.Ready(within); err == nil {
		c.directory, err = fleet.Visit(within, e, processName())
	}
	if err != nil {
		e.Close()
		return nil, could("", "the engine at %s cannot be used: %s", withoutSecrets(address), lastWords(err))
	}
	return c, nil
}

func (c *carrier) close(ctx context.Context) {
	within, done := context.WithTimeout(context.WithoutCancel(ctx), goodbye)
	defer done()
	_ = c.directory.Leave(within) // its key lapses otherwise
	c.engine.Close()
}

// in moves a sitting from the folder to the engine. One that was not ended goes on there at once.
func (c *carrier) in(ctx context.Context, name string) (int, error) {
	text, put, err := c.files.Lift(ctx, name)
	if err != nil {
		return 0, err
	}
	over, err := sitting.CheckWhole(text)
	if err == nil {
		_, _, err = c.directory.Hold(ctx, name)
	}
	if err != nil {
		return 0, errors.Join(err, put(false))
	}
	if err := c.keeper.Lay(ctx, name, text); err != nil {
		return 0, errors.Join(err, put(false), c.directory.Release(ctx, name))
	}
	if err := put(true); err != nil {
		return 0, errors.Join(err, c.directory.Release(ctx, name))
	}
	if !over {
		err = c.directory.Announce(ctx, name, fleet.Evening{Owner: sitting.NewKey()})
	}
	return len(text), errors.Join(err, c.directory.Release(ctx, name))
}

// out moves a sitting from the engine to the folder. Whoever works it lets go of it first.
func (c *carrier) out(ctx context.Context, name string) (int, error) {
	if _, err := c.keeper.Look(ctx, name); err != nil {
		return 0, err
	}
	e, was := c.directory.Evenings()[name]
	back := func(err error) (int, error) {
		if was {
			err = errors.Join(err, c.directory.Announce(ctx, name, e))
		}
		return 0, errors.Join(err, c.directory.Release(ctx, name))
	}
	if was {
		if err := c.directory.Withdraw(ctx, name); err != nil {
			return 0, err
		}
	}
	for {
		_, _, err := c.directory.Hold(ctx, name)
		if err == nil {
			break
		}
		select {
		case <-time.After(100 * time.Millisecond):
		case <-ctx.Done():
			return back(err)
		}
	}
	text, err := c.keeper.Text(ctx, name)
	if err == nil {
		err = c.files.Lay(ctx, name, text)
	}
	if err != nil {
		return back(err)
	}
	if err := c.keeper.Remove(ctx, name); err != nil {
		return 0, err
	}
	return len(text), c.directory.Release(ctx, name)
}
