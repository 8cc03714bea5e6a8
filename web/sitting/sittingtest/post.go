package sittingtest

import (
	"bytes"
	"context"
	"errors"
	"io"
	"math/rand/v2"
	"net"

	"taillamp/web/sitting"
)

// Post tries two ends of a post by the contract that stands at sitting.Post. The error tells every fault found.
func Post(ctx context.Context, near, far sitting.Post) error {
	j := &judge{}
	from := sitting.Address("192.0.2.7:4711") // an address for documentation, RFC 5737
	_, err := near.Reach(ctx, "nobody", from)
	j.want(errors.Is(err, sitting.ErrUnreached), "reach nobody: %v, want %v", err, sitting.ErrUnreached)
	box, err := far.Listen("far")
	if err != nil {
		return errors.Join(j.verdict(), err)
	}
	const much = 3 << 20
	text := make([]byte, much)
	chance := rand.NewChaCha8([32]byte{12})
	_, _ = chance.Read(text) // it never fails
	came := make(chan net.Conn, 1)
	go func() { // it sends back whatever comes, as it comes
		for {
			c, err := box.Accept()
			if err != nil {
				close(came)
				return
			}
			came <- c
			go func() {
				_, _ = io.Copy(c, c) // the near end compares
				_ = c.Close()
			}()
		}
	}()
	line, err := near.Reach(ctx, "far", from)
	if err != nil {
		return errors.Join(j.verdict(), err)
	}
	end := <-came
	j.want(end.RemoteAddr().String() == from.String(), "the far end sees %s, want %s", end.RemoteAddr(), from)
	go func() {
		for rest := text; len(rest) > 0; {
			n, err := line.Write(rest[:min(len(rest), 1+chance63(chance)%70_000)])
			if err != nil {
				return // what comes back is too little then
			}
			rest = rest[n:]
		}
	}()
	back := make([]byte, much)
	_, err = io.ReadFull(line, back)
	j.want(err == nil && bytes.Equal(text, back), "what came back is not what was sent: %v", err)
	j.want(line.Close() == nil, "the line cannot be closed")
	second, err := near.Reach(ctx, "far", from)
	j.want(err == nil, "reach again: %v", err)
	if err == nil {
		j.want((<-came).Close() == nil, "the far end cannot be closed")
		n, err := second.Read(make([]byte, 1))
		j.want(n == 0 && err != nil, "%d bytes of a closed line, %v", n, err)
		_ = second.Close() // it is at its end
	}
	j.want(box.Close() == nil, "the far end cannot stop listening")
	_, err = near.Reach(ctx, "far", from)
	j.want(errors.Is(err, sitting.ErrUnreached), "reach who no longer listens: %v, want %v", err, sitting.ErrUnreached)
	return j.verdict()
}

func chance63(c *rand.ChaCha8) int { return int(c.Uint64() >> 1) }
