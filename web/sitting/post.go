package sitting

import (
	"context"
	"errors"
	"net"
	"sync"
)

// A Post carries what is asked of a sitting, its tablets' wires above all, from the process that was asked to the one
// that owns it, and the answers and news back.
//
// Every Post keeps to this, and one test holds them all to it:
//  1. What goes in at one end of a line comes out at the other, whole and in order, or the line is closed.
//  2. Reach of a process that does not listen is ErrUnreached.
//  3. The listening end sees the address that the line was opened for.
//  4. A line that one end closes is at its end at the other.
type Post interface {
	// Reach opens a line to a process, on behalf of whoever asked at an address.
	Reach(ctx context.Context, process string, from net.Addr) (net.Conn, error)
	// Listen gives the lines that are opened to the process of a name.
	Listen(process string) (net.Listener, error)
}

// ErrUnreached is what a Post says of a process that does not answer.
var ErrUnreached = errors.New("sitting: that process cannot be reached")

// InProcess is the post between parts of one program.
type InProcess struct {
	mu    sync.Mutex
	boxes map[string]*letterbox
}

// NewInProcess returns a Post without anybody listening.
func NewInProcess() *InProcess { return &InProcess{boxes: make(map[string]*letterbox)} }

// Listen gives the lines that are opened under a name. ErrInUse: somebody listens there.
func (p *InProcess) Listen(process string) (net.Listener, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.boxes[process] != nil {
		return nil, ErrInUse
	}
	b := &letterbox{p: p, name: process, came: make(chan net.Conn), gone: make(chan struct{})}
	p.boxes[process] = b
	return b, nil
}

// Reach opens a line to whoever listens under a name.
func (p *InProcess) Reach(ctx context.Context, process string, from net.Addr) (net.Conn, error) {
	p.mu.Lock()
	b := p.boxes[process]
	p.mu.Unlock()
	if b == nil {
		return nil, ErrUnreached
	}
	mine, theirs := net.Pipe()
	select {
	case b.came <- Line{theirs, from}:
		return mine, nil
	case <-b.gone:
		return nil, ErrUnreached
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// letterbox is where lines to one name come in.
type letterbox struct {
	p    *InProcess
	name string
	came chan net.Conn
	gone chan struct{}
	once sync.Once
}

func (b *letterbox) Accept() (net.Conn, error) {
	select {
	case c := <-b.came:
		return c, nil
	case <-b.gone:
		return nil, net.ErrClosed
	}
}

func (b *letterbox) Close() error {
	b.once.Do(func() {
		b.p.mu.Lock()
		defer b.p.mu.Unlock()
		delete(b.p.boxes, b.name)
		close(b.gone)
	})
	return nil
}

func (b *letterbox) Addr() net.Addr { return Address(b.name) }

// Line is a connection that tells the address it was opened for, whatever carries it.
type Line struct {
	net.Conn
	From net.Addr
}

// RemoteAddr is the address that the line was opened for.
func (l Line) RemoteAddr() net.Addr { return l.From }

// Address is the name of a process, or of whoever asks, as an address.
type Address string

// Network says that it is reached by the post.
func (Address) Network() string { return "post" }

func (a Address) String() string { return string(a) }
