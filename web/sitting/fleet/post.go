//go:build fleet

package fleet

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"sync"
	"time"

	"github.com/nats-io/nats.go"

	"taillamp/web/sitting"
)

// Post carries lines from one process to another through the engine, so that no process need be reached by another.
type Post struct{ e *Engine }

// NewPost carries by an engine.
func NewPost(e *Engine) *Post { return &Post{e} }

// reachWithin is how long a process may take to answer that it has taken a line.
const reachWithin = time.Second

// piece is the most that goes in one message.
const piece = 32 << 10

func doorOf(process string) string { return "taillamp.process." + process }

// opening asks a process to take a line.
type opening struct{ Answers, From string } // where its end is to send, and for whom it is

// Reach opens a line to a process.
func (p *Post) Reach(ctx context.Context, process string, from net.Addr) (net.Conn, error) {
	c, err := p.e.end(from)
	if err != nil {
		return nil, err
	}
	ask, err := json.Marshal(opening{c.hears, from.String()})
	if err != nil {
		return nil, errors.Join(err, c.discard())
	}
	ctx, done := context.WithTimeout(ctx, reachWithin)
	defer done()
	m, err := p.e.conn.RequestWithContext(ctx, doorOf(process), ask)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("%w: %s: %w", sitting.ErrUnreached, process, err), c.discard())
	}
	c.joins(string(m.Data))
	return c, nil
}

// Listen takes the lines that are opened to a process.
func (p *Post) Listen(process string) (net.Listener, error) {
	l := &listener{e: p.e, process: process, came: make(chan net.Conn, 64), gone: make(chan struct{})}
	var err error
	if l.sub, err = p.e.conn.Subscribe(doorOf(process), l.opened); err != nil {
		return nil, err
	}
	return l, p.e.conn.Flush()
}

type listener struct {
	e       *Engine
	process string
	sub     *nats.Subscription
	came    chan net.Conn
	gone    chan struct{}
	once    sync.Once
}

// opened takes a line. Where too many wait already nothing is answered, and whoever asked gives up.
func (l *listener) opened(m *nats.Msg) {
	var o opening
	if json.Unmarshal(m.Data, &o) != nil || o.Answers == "" {
		return
	}
	c, err := l.e.end(sitting.Address(o.From))
	if err != nil {
		return
	}
	c.joins(o.Answers)
	select {
	case l.came <- c:
		_ = m.Respond([]byte(c.hears)) // who asked may have given up
	default:
		_ = c.Close()
	}
}

func (l *listener) Accept() (net.Conn, error) {
	select {
	case c := <-l.came:
		return c, nil
	case <-l.gone:
		return nil, net.ErrClosed
	}
}

func (l *listener) Close() error {
	var err error
	l.once.Do(func() {
		close(l.gone)
		if err = l.sub.Unsubscribe(); err == nil {
			err = l.e.conn.Flush()
		}
	})
	return err
}

func (l *listener) Addr() net.Addr { return sitting.Address(l.process) }

// end is one end of a line: a pipe whose other side is pumped through the engine. Every message has a number, so that
// one that was lost closes the line instead of leaving a gap.
type end struct {
	net.Conn // the user's side of the pipe
	inner    net.Conn
	e        *Engine
	from     net.Addr
	hears    string // where the other end sends
	sub      *nats.Subscription
	next     uint64 // number of the message expected; the subscription's
}

// end makes an end that hears already and does not speak yet.
func (e *Engine) end(from net.Addr) (*end, error) {
	c := &end{e: e, from: from, hears: e.conn.NewInbox()}
	c.Conn, c.inner = net.Pipe()
	var err error
	c.sub, err = e.conn.Subscribe(c.hears, c.hear)
	return c, err
}

// discard puts away an end that has not spoken.
func (c *end) discard() error {
	if err := c.sub.Unsubscribe(); err != nil && !errors.Is(err, nats.ErrConnectionClosed) {
		return errors.Join(err, c.inner.Close())
	}
	return c.inner.Close()
}

// RemoteAddr is the address that the line was opened for.
func (c *end) RemoteAddr() net.Addr { return c.from }

// joins begins to speak.
func (c *end) joins(to string) { go c.speak(to) }

// speak sends what the user writes. A message without a text is the end.
func (c *end) speak(to string) {
	text := make([]byte, 8+piece)
	for n := uint64(0); ; n++ {
		binary.BigEndian.PutUint64(text, n)
		size, err := c.inner.Read(text[8:])
		if size > 0 && c.e.conn.Publish(to, text[:8+size]) != nil {
			break
		}
		if err != nil {
			binary.BigEndian.PutUint64(text, n)
			_ = c.e.conn.Publish(to, text[:8]) // the other end finds out by itself otherwise
			break
		}
	}
	_ = c.inner.Close()
	_ = c.sub.Unsubscribe() // the connection may have gone
}

// hear gives the user what the other end sends.
func (c *end) hear(m *nats.Msg) {
	if len(m.Data) <= 8 || binary.BigEndian.Uint64(m.Data) != c.next {
		_ = c.inner.Close() // the end, or a gap
		return
	}
	c.next++
	if _, err := c.inner.Write(m.Data[8:]); err != nil {
		_ = c.inner.Close()
	}
}
