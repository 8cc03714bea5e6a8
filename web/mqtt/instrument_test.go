package mqtt_test

import (
	"context"
	"encoding/json"
	"net"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	paho "github.com/eclipse/paho.mqtt.golang"
	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/listeners"
	"github.com/mochi-mqtt/server/v2/packets"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web"
	"taillamp/web/mqtt"
	"taillamp/web/sitting"
)

// patience decides nothing but when a test gives up.
const patience = 20 * time.Second

// evening is the moment at which the tests begin.
var evening = time.Date(2026, 3, 14, 19, 30, 0, 0, time.UTC)

// shed is a sitting on the tiny layout by a clock moved by hand, with real instruments at a real broker.
type shed struct {
	t     testing.TB
	clock *sitting.HandClock
	live  *sitting.Live
	wires *mqtt.Wires
	at    string // the broker
}

// newShed has its own broker, or none until club gives it one.
func newShed(t testing.TB, c mqtt.Config) *shed {
	t.Helper()
	s := &shed{t: t, clock: sitting.NewHandClock(evening)}
	host := sitting.NewHost(sitting.NewMemory(), s.clock, "taillamp test")
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	s.live, err = host.Open(t.Context(), "evening", h)
	require.NoError(t, err)
	if s.at = c.Broker; s.at == "" {
		c.Listen, err = net.Listen("tcp", "127.0.0.1:0")
		require.NoError(t, err)
		s.at = "tcp://" + c.Listen.Addr().String()
	}
	c.Live, c.Words, c.Held = s.live, web.Words(s.live.Rules()), web.Held
	s.wires, err = mqtt.Open(t.Context(), c)
	require.NoError(t, err)
	t.Cleanup(func() {
		require.NoError(t, s.wires.Close())
		require.NoError(t, host.Close(context.Background()))
	})
	return s
}

// club is the club's own broker, which remembers nothing when it is killed.
func club(t testing.TB, at string, lets *anybody) (*mochi.Server, string) {
	t.Helper()
	b := mochi.New(&mochi.Options{Logger: quiet()})
	require.NoError(t, b.AddHook(lets, nil))
	var l net.Listener
	require.Eventually(t, func() (done bool) {
		var err error
		l, err = net.Listen("tcp", at)
		return err == nil
	}, patience, 10*time.Millisecond)
	require.NoError(t, b.AddListener(listeners.NewNet("club", l)))
	require.NoError(t, b.Serve())
	return b, l.Addr().String()
}

// anybody is let in at the club's, and may say anything; where it has a password, who knows it.
type anybody struct {
	mochi.HookBase
	user, password string
}

func (*anybody) ID() string { return "anybody" }

func (*anybody) Provides(b byte) bool {
	return b == mochi.OnConnectAuthenticate || b == mochi.OnACLCheck
}

func (a *anybody) OnConnectAuthenticate(_ *mochi.Client, pk packets.Packet) bool {
	return a.user == string(pk.Connect.Username) && a.password == string(pk.Connect.Password)
}

func (*anybody) OnACLCheck(*mochi.Client, string, bool) bool { return true }

// heard is one message that came to a client.
type heard struct {
	topic    string
	text     string
	retained bool
}

// board is a small computer with a bell, a plunger, a handle and a tail lamp's button: a client of a general library
// that knows the topics and nothing else of the program.
type board struct {
	t      testing.TB
	shed   *shed
	box    string
	name   string
	client paho.Client
	came   chan heard
	last   map[string]string // the newest under each topic
	rings  int
	act    int
	cable  cable
}

// cable is a board's, which can be cut.
type cable struct {
	mu   sync.Mutex
	conn net.Conn
	cut  bool
}

func (b *board) plug(u *url.URL, _ paho.ClientOptions) (net.Conn, error) {
	b.cable.mu.Lock()
	defer b.cable.mu.Unlock()
	if b.cable.cut {
		return nil, net.ErrClosed
	}
	var err error
	b.cable.conn, err = net.Dial("tcp", u.Host)
	return b.cable.conn, err
}

// cut is the cable pulled, without a word.
func (b *board) cut() {
	b.cable.mu.Lock()
	defer b.cable.mu.Unlock()
	b.cable.cut = true
	_ = b.cable.conn.Close()
}

func (s *shed) board(box, name string, user, password string) *board {
	s.t.Helper()
	b := &board{t: s.t, shed: s, box: box, name: name, came: make(chan heard, 4096), last: make(map[string]string)}
	o := paho.NewClientOptions().AddBroker(s.at).SetClientID(box+"-"+name).SetUsername(user).SetPassword(password).
		SetKeepAlive(5*time.Second).SetAutoReconnect(true).SetMaxReconnectInterval(100*time.Millisecond).
		SetConnectRetry(true).SetConnectRetryInterval(100*time.Millisecond).
		SetCustomOpenConnectionFn(b.plug).
		SetWill("taillamp/"+box+"/at/"+name, `{"on":false}`, 1, true)
	o.SetOnConnectHandler(func(c paho.Client) {
		c.SubscribeMultiple(map[string]byte{"taillamp/" + box + "/#": 0, "homie/taillamp/$state": 0}, func(_ paho.Client, m paho.Message) {
			b.came <- heard{m.Topic(), string(m.Payload()), m.Retained()}
		}).Wait()
		c.Publish("taillamp/"+box+"/at/"+name, 1, true, `{"on":true,"bells":["UL"]}`).Wait()
	})
	b.client = paho.NewClient(o)
	require.True(s.t, b.client.Connect().WaitTimeout(patience))
	s.t.Cleanup(func() { b.client.Disconnect(0) })
	b.ready()
	return b
}

// until takes what comes until it is what is wanted.
func (b *board) until(what string, wanted func(heard) bool) heard {
	b.t.Helper()
	limit := time.After(patience)
	for {
		select {
		case h := <-b.came:
			b.last[h.topic] = h.text
			if strings.Contains(h.topic, "/bell/") {
				b.rings++
			}
			if wanted(h) {
				return h
			}
		case <-limit:
			b.t.Fatalf("%s/%s waited in vain for %s; it has %v", b.box, b.name, what, b.last)
		}
	}
}

// ready waits until the program is there.
func (b *board) ready() {
	b.t.Helper()
	b.until("the program", func(h heard) bool { return h.topic == "homie/taillamp/$state" && h.text == "ready" })
}

// do does one thing and gives its answer.
func (b *board) do(members string) (ending, why string) {
	b.t.Helper()
	b.act++
	text, err := json.Marshal(b.act)
	require.NoError(b.t, err)
	b.client.Publish("taillamp/"+b.box+"/do/"+b.name, 1, false, `{"run":"a","act":`+string(text)+`,`+members+`}`)
	var a struct {
		Act         int
		Ending, Why string
	}
	b.until("the answer to "+members, func(h heard) bool {
		if h.topic != "taillamp/"+b.box+"/answer/"+b.name {
			return false
		}
		a.Act = 0
		require.NoError(b.t, json.Unmarshal([]byte(h.text), &a))
		return a.Act == b.act
	})
	return a.Ending, a.Why
}

func (b *board) must(members string) {
	b.t.Helper()
	ending, why := b.do(members)
	require.Equal(b.t, "done", ending, "%s: %s", members, why)
}

// ring rings a code to the other box in an even hand.
func (b *board) ring(to, code string) {
	b.t.Helper()
	for group := range strings.SplitSeq(code, "-") {
		b.shed.clock.Move(450 * time.Millisecond)
		for n := int(group[0] - '0'); n > 0; n-- {
			b.shed.clock.Move(300 * time.Millisecond)
			ms, err := json.Marshal(b.shed.clock.Now().Sub(evening).Milliseconds())
			require.NoError(b.t, err)
			b.must(`"do":"beat","to":"` + to + `","ms":` + string(ms))
		}
	}
	b.shed.quiet()
}

// holds waits until what stands under a topic is what is wanted. It may have come already, before an answer.
func (b *board) holds(what, topic string, wanted func(string) bool) {
	b.t.Helper()
	if text, ok := b.last[topic]; ok && wanted(text) {
		return
	}
	b.until(what, func(h heard) bool { return h.topic == topic && wanted(h.text) })
}

// hears waits until the box's own view has a code from the other end that began after a moment.
func (b *board) hears(code string, after time.Time) {
	b.t.Helper()
	b.holds(code, "taillamp/"+b.box+"/view", func(text string) bool {
		var v struct {
			Shelf []struct {
				Heard struct {
					First time.Time
					Beats string
				}
			}
		}
		require.NoError(b.t, json.Unmarshal([]byte(text), &v))
		return len(v.Shelf) > 0 && v.Shelf[0].Heard.Beats == code && v.Shelf[0].Heard.First.After(after)
	})
}

// shows waits until a needle stands so.
func (b *board) shows(slug, aspect string) {
	b.t.Helper()
	b.holds(slug+" "+aspect, "taillamp/"+b.box+"/needle/"+slug, func(text string) bool {
		return strings.Contains(text, `"shows":"`+aspect+`"`)
	})
}

// quiet lets a code come to its end.
func (s *shed) quiet() {
	s.t.Helper()
	s.clock.Move(4 * time.Second)
	_, err := s.live.Present(s.t.Context(), sitting.Seat{})
	require.NoError(s.t, err)
}

// tablet rings a code at a tablet.
func (s *shed) tablet(seat sitting.Seat, code string) {
	s.t.Helper()
	for group := range strings.SplitSeq(code, "-") {
		s.clock.Move(450 * time.Millisecond)
		for n := int(group[0] - '0'); n > 0; n-- {
			s.clock.Move(300 * time.Millisecond)
			s.does(seat, block.Event{Do: block.Beat, Circuit: "UL-OS", Pressed: s.clock.Now()})
		}
	}
	s.quiet()
}

func (s *shed) does(seat sitting.Seat, e block.Event) {
	s.t.Helper()
	a, err := s.live.Act(s.t.Context(), seat, 0, e)
	require.NoError(s.t, err)
	require.Equal(s.t, block.Done, a.Ending)
}

// entries are what the record holds.
func (s *shed) entries() []block.Entry {
	s.t.Helper()
	var all []block.Entry
	for e, err := range s.live.Entries(s.t.Context()) {
		require.NoError(s.t, err)
		all = append(all, e)
	}
	return all
}

// remarks are what the record holds about the instruments.
func (s *shed) remarks() []string {
	var all []string
	for _, e := range s.entries() {
		if e.Seat == "program" {
			all = append(all, e.Event.Words)
		}
	}
	return all
}

// eventually waits until the record has such a remark.
func (s *shed) eventually(words string) {
	s.t.Helper()
	require.Eventually(s.t, func() bool {
		return strings.Contains(strings.Join(s.remarks(), "\n"), words)
	}, patience, 5*time.Millisecond, "%q in %v", words, s.remarks)
}

// connects tries to come in as a user.
func (s *shed) connects(user, password string) error {
	o := paho.NewClientOptions().AddBroker(s.at).SetClientID("try").SetUsername(user).SetPassword(password).SetConnectRetry(false)
	c := paho.NewClient(o)
	token := c.Connect()
	token.WaitTimeout(patience)
	if token.Error() == nil {
		c.Disconnect(0)
	}
	return token.Error()
}
