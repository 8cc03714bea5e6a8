package mqtt_test

import (
	"log/slog"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/mqtt"
	"taillamp/web/sitting"
)

func quiet() *slog.Logger { return slog.New(slog.DiscardHandler) }

// train works one through from a tablet at Ullathwick to a board at Ossenwaite, by the cycle of the regulations
// reference (absolute-block.md 4.2). onLine is done while the train is in the section.
func train(s *shed, ul sitting.Seat, os *board, onLine func()) {
	s.t.Helper()
	bell := func(code string) {
		began := s.clock.Now()
		s.tablet(ul, code)
		os.hears(code, began)
	}
	bell("1")
	os.ring("UL", "1")
	bell("4")
	os.ring("UL", "4")
	os.must(`"do":"turn","section":"UL-OS Down Main","show":"clear"`)
	os.shows("ul-os-down-main", "clear")
	bell("2")
	os.ring("UL", "2")
	os.must(`"do":"turn","section":"UL-OS Down Main","show":"occupied"`)
	os.shows("ul-os-down-main", "occupied")
	onLine()
	s.clock.Move(3 * time.Minute)
	os.must(`"do":"train","section":"UL-OS Down Main","where":"passes","lamp":"seen"`)
	os.ring("UL", "1")
	bell("1")
	os.ring("UL", "2-1")
	bell("2-1")
	os.must(`"do":"turn","section":"UL-OS Down Main","show":"blocked"`)
	os.shows("ul-os-down-main", "blocked")
	s.clock.Move(time.Minute)
}

// wire waits until the owner sees a box so.
func (s *shed) wire(box block.BoxID, want sitting.Wire) {
	s.t.Helper()
	require.Eventually(s.t, func() bool {
		o, err := s.live.Oversee(s.t.Context())
		return err == nil && slices.ContainsFunc(o.Boxes, func(b sitting.Overseen) bool { return b.Box == box && b.Wire == want })
	}, patience, 5*time.Millisecond)
}

// irregular are the rules that the record has broken.
func (s *shed) irregular() []block.RuleID {
	var all []block.RuleID
	for _, e := range s.entries() {
		for _, i := range e.Outcome.Irregular {
			all = append(all, i.Rule)
		}
	}
	return all
}

// K1, K2, K5: a client of a general MQTT library that knows topics.md only works a box through ten trains at the club's
// own broker. In the middle of the fourth the broker is killed and comes back having forgotten everything: the needle
// stands as the sitting has it, no bell rings again, and the work goes on.
func TestAnInstrumentWorksTenTrains(t *testing.T) {
	broker, at := club(t, "127.0.0.1:0", &anybody{})
	s := newShed(t, mqtt.Config{Broker: "tcp://" + at})
	ul, err := s.live.TakeDuty(t.Context(), "UL", "")
	require.NoError(t, err)
	os := s.board("OS", "frame", "", "")
	os.must(`"do":"duty","words":"A. Board"`)
	killed := func() {
		rings := os.rings
		require.NoError(t, broker.Close())
		s.eventually("OS, instrument frame: it has gone off the wire")
		s.wire("OS", sitting.OffWire)
		clear(os.last)
		broker, _ = club(t, at, &anybody{})
		os.until("everything anew", func(heard) bool {
			return os.last["homie/taillamp/$state"] == "ready" && os.last["taillamp/OS/view"] != "" &&
				strings.Contains(os.last["taillamp/OS/needle/ul-os-down-main"], `"shows":"occupied"`)
		})
		require.Equal(t, rings, os.rings, "no bell rings again")
		s.wire("OS", sitting.OnWire)
	}
	for n := range 10 {
		if n == 3 {
			train(s, ul, os, killed)
			continue
		}
		train(s, ul, os, func() {})
	}
	require.NoError(t, broker.Close())

	p, err := s.live.Present(t.Context(), sitting.Seat{Box: "OS", As: sitting.LooksOn})
	require.NoError(t, err)
	whole := 0
	for _, l := range p.Book {
		cells := make(map[string]bool)
		for _, c := range l.Cells {
			cells[string(c.Column)] = true
		}
		if cells["accepted"] && cells["entering_section_received"] && cells["passed"] && cells["out_of_section_sent"] {
			whole++
		}
	}
	require.Equal(t, 10, whole, "ten trains stand in the book from offer to out of section")
	require.Equal(t, block.Blocked, p.View.Shelf[0].Lines[0].Shows)
	t.Logf("%d entries, irregular: %v", len(s.entries()), s.irregular())
}

// K2: the club's own broker may want a user and a password, and may be switched on after the program; no other is asked.
func TestTheClubsBrokerWantsAPassword(t *testing.T) {
	lets := &anybody{user: "shed", password: "brass tacks"}
	broker, at := club(t, "127.0.0.1:0", lets)
	require.NoError(t, broker.Close())
	s := newShed(t, mqtt.Config{Broker: "tcp://shed:brass%20tacks@" + at})
	broker, _ = club(t, at, lets)
	t.Cleanup(func() { _ = broker.Close() }) // it may be closed already
	s.at = "tcp://" + at
	require.Error(t, s.connects("", ""))
	os := s.board("OS", "bell", "shed", "brass tacks")
	os.must(`"do":"duty"`)
	os.must(`"do":"beat","to":"UL"`)
}
