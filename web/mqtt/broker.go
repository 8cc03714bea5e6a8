package mqtt

import (
	"crypto/rand"
	"crypto/subtle"
	"log/slog"
	"net"
	"net/url"
	"strings"
	"sync"
	"time"

	paho "github.com/eclipse/paho.mqtt.golang"
	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/listeners"
	"github.com/mochi-mqtt/server/v2/packets"

	"taillamp/block"
)

// What the broker that comes along bears from one who means no good.
const (
	mostClients  = 64
	packetLimit  = 8 << 10
	writesWaited = 512
	mostNames    = 32 // instruments of one box
)

// inside is the listener by which the program itself is connected.
const inside = "inside"

// broker is the one that comes along.
type broker struct {
	server *mochi.Server
	rules  *doorkeeper
}

// newBroker serves at a listener. key tells the key of a box, empty: it has none.
func newBroker(at net.Listener, prefix string, boxes []block.BoxID, key func(block.BoxID) string, wrong func()) (*broker, error) {
	c := mochi.NewDefaultServerCapabilities()
	c.MaximumClients, c.MaximumPacketSize, c.MaximumClientWritesPending = mostClients, packetLimit, writesWaited
	c.MaximumSessionExpiryInterval, c.MaximumInflight, c.ReceiveMaximum, c.TopicAliasMaximum = 60, 64, 64, 16
	b := &broker{server: mochi.New(&mochi.Options{Capabilities: c, Logger: slog.New(slog.DiscardHandler)})}
	b.rules = &doorkeeper{prefix: prefix, boxes: boxes, key: key, wrong: wrong, secret: rand.Text(), tries: make(map[string]*wrongTries), names: make(map[string]int)}
	if err := b.server.AddHook(b.rules, nil); err != nil {
		return nil, err
	}
	if err := b.server.AddListener(listeners.NewNet("instruments", at)); err != nil {
		return nil, err
	}
	return b, b.server.Serve()
}

// connect is the program's own way in, by no network.
func (b *broker) connect(*url.URL, paho.ClientOptions) (net.Conn, error) {
	ours, its := net.Pipe()
	go func() { _ = b.server.EstablishConnection(inside, its) }() // why it ended, the client says
	return ours, nil
}

// doorkeeper lets an instrument speak for its box only, and never in the program's name.
type doorkeeper struct {
	mochi.HookBase
	prefix string
	boxes  []block.BoxID
	key    func(block.BoxID) string
	secret string // of the program itself

	wrong func() // called when somebody had the wrong key; may not wait

	mu    sync.Mutex
	tries map[string]*wrongTries // by the machine that they came from
	names map[string]int         // topics under which instruments have told that they are there, by box
	known map[string]bool
}

// ID is its name among the broker's hooks.
func (d *doorkeeper) ID() string { return "doorkeeper" }

// Provides tells what it is asked about.
func (d *doorkeeper) Provides(what byte) bool {
	return what == mochi.OnConnectAuthenticate || what == mochi.OnACLCheck
}

// OnConnectAuthenticate lets in the program by its secret; an instrument of a box that has a key by the box's id as user
// and that key as password. Where no box has a key the layout's own network is trusted, as it is with tablets.
func (d *doorkeeper) OnConnectAuthenticate(cl *mochi.Client, pk packets.Packet) bool {
	user, password := string(pk.Connect.Username), pk.Connect.Password
	if cl.Net.Listener == inside {
		return subtle.ConstantTimeCompare(password, []byte(d.secret)) == 1
	}
	if d.knows(user, password) && !d.tired(cl.Net.Remote, false) {
		return true
	}
	d.tired(cl.Net.Remote, true)
	d.wrong()
	return false
}

// knows tells whether a user has the key that he needs.
func (d *doorkeeper) knows(user string, password []byte) bool {
	locked := false
	for _, box := range d.boxes {
		key := d.key(box)
		locked = locked || key != ""
		if strings.EqualFold(user, string(box)) && key != "" {
			return subtle.ConstantTimeCompare([]byte(plainKey(string(password))), []byte(plainKey(key))) == 1
		}
	}
	return !locked || user != "" && d.isBox(user)
}

// plainKey is a key as it is compared, with hyphens or without, in large letters or small.
func plainKey(key string) string {
	return strings.ToUpper(strings.NewReplacer("-", "", " ", "").Replace(key))
}

// wrongTries are those of one machine in the minute since the first of them.
type wrongTries struct {
	since time.Time
	count int
}

// How often a wrong key may be tried from one machine in a minute, and how many machines are counted.
const (
	triesAMinute = 10
	triersKept   = 1000
)

// tired tells whether a machine has tried too many wrong keys in this minute; one more may be counted.
func (d *doorkeeper) tired(remote string, another bool) bool {
	machine, _, err := net.SplitHostPort(remote)
	if err != nil {
		machine = remote
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	now := time.Now()
	t := d.tries[machine]
	if t == nil || now.Sub(t.since) >= time.Minute {
		if !another {
			return false
		}
		if t == nil && len(d.tries) >= triersKept {
			clear(d.tries) // a flood from so many machines guesses no key of forty bits either
		}
		t = &wrongTries{since: now}
		d.tries[machine] = t
	}
	if another {
		t.count++
	}
	return t.count >= triesAMinute
}

func (d *doorkeeper) isBox(user string) bool {
	for _, box := range d.boxes {
		if strings.EqualFold(user, string(box)) {
			return true
		}
	}
	return false
}

// OnACLCheck tells whether a client may speak or listen there.
func (d *doorkeeper) OnACLCheck(cl *mochi.Client, topic string, write bool) bool {
	if cl.Net.Listener == inside {
		return true
	}
	if !write {
		return !strings.HasPrefix(topic, "$")
	}
	box, what, name, ok := spokenBy(d.prefix, topic)
	if !ok {
		return false
	}
	if user := string(cl.Properties.Username); user != "" && d.isBox(user) && !strings.EqualFold(user, string(box)) {
		return false
	}
	return what == does || d.hasRoom(box, name)
}

// hasRoom keeps the number of retained messages within bounds.
func (d *doorkeeper) hasRoom(box block.BoxID, name string) bool {
	if !d.isBox(string(box)) {
		return false
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	at := string(box) + "/" + name
	if d.known[at] {
		return true
	}
	if d.names[string(box)] >= mostNames {
		return false
	}
	if d.known == nil {
		d.known = make(map[string]bool)
	}
	d.known[at] = true
	d.names[string(box)]++
	return true
}

// close ends it.
func (b *broker) close() error { return b.server.Close() }
