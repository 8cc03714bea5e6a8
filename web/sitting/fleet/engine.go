//go:build fleet

package fleet

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// An Engine is a connection to the cluster that keeps the sittings.
type Engine struct {
	conn     *nats.Conn
	js       jetstream.JetStream
	replicas int            // of every stream
	node     *server.Server // started with it; nil: none was
}

// usual is how an engine is connected to. What cannot be sent is an error at once: nothing waits here for a better day.
func usual() []nats.Option {
	return []nats.Option{nats.Name("taillamp"), nats.MaxReconnects(-1), nats.ReconnectWait(250 * time.Millisecond), nats.ReconnectBufSize(-1),
		nats.ReconnectJitter(50*time.Millisecond, 50*time.Millisecond), nats.PingInterval(2 * time.Second), nats.MaxPingsOutstanding(2),
		nats.RetryOnFailedConnect(false), nats.Timeout(2 * time.Second)}
}

// Connect connects to an existing engine, addresses like nats://HOST:PORT with commas between. In a cluster every record
// is kept three times, else once.
func Connect(addresses string, options ...nats.Option) (*Engine, error) {
	conn, err := nats.Connect(addresses, append(usual(), options...)...)
	if err != nil {
		return nil, fmt.Errorf("connect to the engine: %w", err)
	}
	js, err := jetstream.New(conn, jetstream.WithDefaultTimeout(answerWithin))
	if err != nil {
		conn.Close()
		return nil, err
	}
	e := &Engine{conn: conn, js: js, replicas: 1}
	if conn.ConnectedClusterName() != "" {
		e.replicas = 3
	}
	return e, nil
}

// answerWithin is how long one word to the engine may wait for its answer before it is said again.
const answerWithin = 2 * time.Second

// one is the time for one word to the engine: a word that reaches a node which knows no leader is never answered.
func one(ctx context.Context) (context.Context, context.CancelFunc) {
	return context.WithTimeout(ctx, answerWithin)
}

// Ready waits until the engine has somewhere to keep things: a cluster needs a majority of its nodes.
func (e *Engine) Ready(ctx context.Context) error {
	for {
		word, done := one(ctx)
		_, err := e.js.AccountInfo(word)
		done()
		if err == nil {
			return nil
		}
		if errors.Is(err, jetstream.ErrJetStreamNotEnabled) || errors.Is(err, jetstream.ErrJetStreamNotEnabledForAccount) {
			return fmt.Errorf("the engine keeps nothing: %w", err)
		}
		if again(ctx) != nil {
			return fmt.Errorf("the engine does not answer: %w", err)
		}
	}
}

// again waits a moment before something is tried again.
func again(ctx context.Context) error {
	t := time.NewTimer(100 * time.Millisecond)
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// Connected tells whether any node of the engine is reached.
func (e *Engine) Connected() bool { return e.conn.IsConnected() }

// Close ends the connection.
func (e *Engine) Close() {
	e.conn.Close()
	if e.node != nil {
		e.node.Shutdown()
		e.node.WaitForShutdown()
	}
}
