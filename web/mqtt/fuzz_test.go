package mqtt_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web"
	"taillamp/web/mqtt"
	"taillamp/web/sitting"
)

// FuzzInstrument gives any topics and payloads to what reads them from the broker (K6): the sitting lives, nobody but
// the box that the topic names acts, and every message takes its turn.
func FuzzInstrument(f *testing.F) {
	for _, seed := range [][2]string{
		{"taillamp/OS/do/a", `{"do":"beat","to":"UL","act":1,"run":"k","ms":12}`},
		{"taillamp/OS/do/a", `{"do":"turn","section":"UL-OS Down Main","show":"clear"}`},
		{"taillamp/OS/do/a", `{"do":"detector","section":"UL-OS Down Main","occupied":true}`},
		{"taillamp/OS/do/a", `{"do":"duty","words":"x"}`}, {"taillamp/OS/do/a", `{"do":"duty","off":true}`},
		{"taillamp/OS/at/a", `{"on":true,"bells":["UL","UL"]}`}, {"taillamp/OS/at/a", ``},
		{"taillamp/OS/do/a", `{"do":"beat","ms":1e300,"act":18446744073709551615}`},
		{"taillamp/UL/do/a", `{"do":"train","section":"UL-OS Down Main","where":"divides"}`},
		{"taillamp//do/", `null`}, {"a/b/c/d/e", `[]`}, {"taillamp/OS/do/a", `{"do":"slip","line":9007199254740993}`},
	} {
		f.Add(seed[0], []byte(seed[1]))
	}
	clock := sitting.NewHandClock(evening)
	host := sitting.NewHost(sitting.NewMemory(), clock, "taillamp test")
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(f, err)
	live, err := host.Open(context.Background(), "evening", h)
	require.NoError(f, err)
	wires := mqtt.Loose(mqtt.Config{Live: live, Words: web.Words(live.Rules()), Held: web.Held, Counts: []block.BoxID{"OS"}})
	last, named := uint64(0), make(map[block.BoxID]bool) // boxes that topics have named since something was last written
	f.Fuzz(func(t *testing.T, topic string, text []byte) {
		clock.Move(100 * time.Millisecond)
		if box, _, ok := strings.Cut(strings.TrimPrefix(topic, "taillamp/"), "/do/"); ok && strings.HasPrefix(topic, "taillamp/") {
			named[block.BoxID(box)] = true
		}
		wires.Take(topic, text)
		require.NoError(t, live.Trouble())
		written := false
		for e, err := range live.Entries(t.Context()) {
			require.NoError(t, err)
			if e.Seq <= last || e.Event.By == "" {
				continue
			}
			require.True(t, named[e.Event.By], "%s acted, which no topic named: %+v", e.Event.By, e.Event) // a beat is written with the next fact
			last, written = e.Seq, true
		}
		if written {
			clear(named)
		}
	})
}
