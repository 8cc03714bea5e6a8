//go:build fleet

package fleet

import (
	"crypto/rand"
	"errors"
	"fmt"
	"net"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
)

// Node is what a node of an engine of one's own is made from.
type Node struct {
	Dir    string   // where it keeps its part
	Peers  []string // HOST:PORT by which the nodes reach one another, this one's first; none: it is alone
	Secret string   // that the nodes have in common, and processes elsewhere; empty: whoever reaches them may join
	Listen string   // HOST:PORT for processes elsewhere; empty: this process alone uses the node

	password string // of clients; empty: the secret
}

// user is the name under which whoever knows the secret connects.
const user = "taillamp"

// Start starts a node. Every write of it is synced before it is answered.
func (n Node) Start() (*server.Server, error) {
	o := &server.Options{ServerName: "alone", DontListen: n.Listen == "", JetStream: true, StoreDir: n.Dir, SyncAlways: true, NoSigs: true, NoLog: true,
		MaxPayload: 8 << 20}
	if n.password == "" {
		n.password = n.Secret
	}
	if n.password != "" {
		o.Username, o.Password = user, n.password
	}
	var err error
	if n.Listen != "" {
		if o.Host, o.Port, err = hostPort(n.Listen); err != nil {
			return nil, err
		}
	}
	if len(n.Peers) > 0 {
		if n.Listen == "" { // nodes meet only where clients could come
			o.DontListen, o.Host, o.Port = false, "127.0.0.1", server.RANDOM_PORT
		}
		o.Cluster.NoAdvertise = true
		o.ServerName = strings.NewReplacer(":", "-", ".", "-").Replace(n.Peers[0])
		o.Cluster.Name = "taillamp"
		if o.Cluster.Host, o.Cluster.Port, err = hostPort(n.Peers[0]); err != nil {
			return nil, err
		}
		if n.Secret != "" {
			o.Cluster.Username, o.Cluster.Password = user, n.Secret
		}
		for _, p := range n.Peers {
			if _, _, err := hostPort(p); err != nil {
				return nil, err
			}
			at := &url.URL{Scheme: "nats", Host: p}
			if n.Secret != "" {
				at.User = url.UserPassword(user, n.Secret)
			}
			o.Routes = append(o.Routes, at)
		}
	}
	s, err := server.NewServer(o)
	if err != nil {
		return nil, fmt.Errorf("make a node of the engine: %w", err)
	}
	s.Start()
	if !s.ReadyForConnections(10 * time.Second) {
		s.Shutdown()
		return nil, errors.New("the node of the engine does not start: its ports may be taken")
	}
	return s, nil
}

// Connect starts a node and connects to it. Close of the engine stops it, too.
func (n Node) Connect() (*Engine, error) {
	if n.password = n.Secret; n.Listen == "" {
		n.password = rand.Text() // nobody else has any business there
	}
	s, err := n.Start()
	if err != nil {
		return nil, err
	}
	e, err := Connect("", nats.InProcessServer(s), nats.UserInfo(user, n.password))
	if err != nil {
		s.Shutdown()
		return nil, err
	}
	e.node = s
	return e, nil
}

// ConnectTo connects to a node in this process.
func ConnectTo(s *server.Server) (*Engine, error) { return Connect("", nats.InProcessServer(s)) }

func hostPort(at string) (string, int, error) {
	host, port, err := net.SplitHostPort(at)
	if err != nil {
		return "", 0, fmt.Errorf("a node of the engine has an address like 192.168.1.20:5551, and not %q", at)
	}
	n, err := strconv.Atoi(port)
	if err != nil || n < 1 || n > 65535 {
		return "", 0, fmt.Errorf("a node of the engine has a port from 1 to 65535, and not %q", port)
	}
	return host, n, nil
}
