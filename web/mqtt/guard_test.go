package mqtt_test

import (
	"flag"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/mqtt"
	"taillamp/web/sitting"
)

// fitted waits for the next news of a box's instruments.
func fitted(t *testing.T, w *sitting.Watch) sitting.Instrument {
	t.Helper()
	limit := time.After(patience)
	for {
		select {
		case n := <-w.News:
			if n.Fitted != nil {
				return n.Fitted[0]
			}
		case <-limit:
			t.Fatal("the box was told nothing of its instruments")
		}
	}
}

func (s *shed) watch(box block.BoxID) *sitting.Watch {
	s.t.Helper()
	w, err := s.live.Watch(s.t.Context(), sitting.Seat{Box: box, As: sitting.LooksOn}, sitting.Position{})
	require.NoError(s.t, err)
	s.t.Cleanup(w.Close)
	return w
}

// K3: an instrument whose cable is cut is seen by its box and by the owner, and its coming and its going stand in the
// record; while it is on, the tablet leaves its bells to it.
func TestALostInstrumentIsSeen(t *testing.T) {
	s := newShed(t, mqtt.Config{})
	w := s.watch("OS")
	os := s.board("OS", "bell-up", "", "")
	got := fitted(t, w)
	require.True(t, got.On)
	require.Equal(t, []block.CircuitID{"UL-OS"}, got.Bells)
	os.cut()
	got = fitted(t, w)
	require.Equal(t, "bell-up", got.Name)
	require.False(t, got.On)
	o, err := s.live.Oversee(t.Context())
	require.NoError(t, err)
	at := slices.IndexFunc(o.Boxes, func(b sitting.Overseen) bool { return b.Box == "OS" })
	require.False(t, o.Boxes[at].Fitted[0].On)
	require.Equal(t, []string{"OS, instrument bell-up: it is on the wire",
		"OS, instrument bell-up: it has gone off the wire; the tablet rings its bells"}, s.remarks())
}

// K1: an instrument that had the box to itself works beside the tablet that took it from him; where a tablet has the box,
// an instrument cannot take it.
func TestAnInstrumentWorksBesideATablet(t *testing.T) {
	s := newShed(t, mqtt.Config{})
	b := s.board("OS", "bell", "", "")
	b.must(`"do":"duty","words":"Board"`)
	require.NoError(t, s.live.Free(t.Context(), "OS"))
	_, err := s.live.TakeDuty(t.Context(), "OS", "A. Tablet")
	require.NoError(t, err)
	b.must(`"do":"beat","to":"UL"`)
	ending, why := b.do(`"do":"duty"`)
	require.Equal(t, "impossible", ending)
	require.Equal(t, "taken", why)
	last := s.entries()
	beat := slices.IndexFunc(last, func(e block.Entry) bool { return e.Event.Do == block.Beat })
	require.Equal(t, "OS instrument bell", last[beat].Seat, "the record knows by which the key was pressed")
}

// arriving has a train on its way to Ossenwaite, both boxes at tablets, and a detector on the wire.
func arriving(t *testing.T, counts bool) (*shed, *board, *sitting.Watch) {
	c := mqtt.Config{Counts: []block.BoxID{"UL"}}
	if counts {
		c.Counts = []block.BoxID{"OS"}
	}
	s := newShed(t, c)
	ul, err := s.live.TakeDuty(t.Context(), "UL", "")
	require.NoError(t, err)
	os, err := s.live.TakeDuty(t.Context(), "OS", "")
	require.NoError(t, err)
	w := s.watch("OS")
	d := s.board("OS", "treadle", "", "")
	require.True(t, fitted(t, w).On)
	for _, code := range []string{"1", "4"} {
		s.tablet(ul, code)
		s.tablet(os, code)
	}
	s.does(os, block.Event{Do: block.Turn, Section: "UL-OS Down Main", Show: block.Clear})
	s.tablet(ul, "2")
	s.tablet(os, "2")
	s.does(os, block.Event{Do: block.Turn, Section: "UL-OS Down Main", Show: block.Occupied})
	s.clock.Move(2 * time.Minute)
	return s, d, w
}

// passes works a detector as a train of some vehicles does.
func passes(s *shed, d *board, vehicles int) {
	for range vehicles {
		d.must(`"do":"detector","section":"UL-OS Down Main","occupied":true`)
		s.clock.Move(700 * time.Millisecond)
		d.must(`"do":"detector","section":"UL-OS Down Main","occupied":false`)
		s.clock.Move(700 * time.Millisecond)
	}
}

// passed are the tails that the record has seen.
func (s *shed) passed() (tails int) {
	for _, e := range s.entries() {
		if e.Event.Do == block.Train && e.Event.Where == block.Passes && e.Event.Lamp == block.LampSeen {
			tails++
		}
	}
	return tails
}

// K4: where the setting says so a detector's word is that the train has passed complete, once for a train and not in the
// gap between two vehicles, and never where no train is known to be.
func TestADetectorProvesATrainComplete(t *testing.T) {
	s, d, w := arriving(t, true)
	passes(s, d, 3)
	require.Zero(t, s.passed(), "not before it has been quiet")
	s.clock.Move(2 * time.Second)
	require.Eventually(t, func() bool { return s.passed() == 1 }, patience, 5*time.Millisecond)

	passes(s, d, 1)
	s.clock.Move(2 * time.Second)
	require.Equal(t, "the detector of UL-OS Down Main saw a train pass", fitted(t, w).Says, "nothing is known to come")
	require.Equal(t, 1, s.passed())
}

// K4: without the setting it only reminds.
func TestADetectorReminds(t *testing.T) {
	s, d, w := arriving(t, false)
	passes(s, d, 2)
	s.clock.Move(2 * time.Second)
	got := fitted(t, w)
	require.Equal(t, "the detector of UL-OS Down Main saw a train pass", got.Says)
	require.Equal(t, []block.CircuitID{"UL-OS"}, got.Bells, "its bells are its own still")
	require.Zero(t, s.passed())
}

// K4: a detector that chatters, fifty changes a second, or sticks proves nothing, and the box is told.
func TestASickDetectorDoesNoHarm(t *testing.T) {
	s, d, w := arriving(t, true)
	for n := range 50 {
		ending, _ := d.do(fmt.Sprintf(`"do":"detector","section":"UL-OS Down Main","occupied":%v`, n%2 == 0))
		require.Contains(t, []string{"done", "impossible"}, ending)
		s.clock.Move(20 * time.Millisecond)
	}
	require.Equal(t, "the detector of UL-OS Down Main chatters and is not believed", fitted(t, w).Says)
	s.clock.Move(5 * time.Second)
	require.Equal(t, "the detector of UL-OS Down Main is in order again", fitted(t, w).Says)
	require.Zero(t, s.passed())

	d.must(`"do":"detector","section":"UL-OS Down Main","occupied":true`)
	s.clock.Move(5 * time.Minute)
	require.Equal(t, "the detector of UL-OS Down Main sticks and is not believed", fitted(t, w).Says)
	d.must(`"do":"detector","section":"UL-OS Down Main","occupied":false`)
	require.Equal(t, "the detector of UL-OS Down Main is in order again", fitted(t, w).Says)
	s.clock.Move(time.Minute)
	d.must(`"do":"remark","words":"still here"`)
	require.Zero(t, s.passed(), "and its going off proves nothing")
}

// K6: what is malformed, too long, too fast, retained or meant for another box is refused and recorded, and the box
// beside it works on.
func TestAHostileInstrumentDoesNoHarm(t *testing.T) {
	s := newShed(t, mqtt.Config{})
	os, err := s.live.TakeDuty(t.Context(), "OS", "")
	require.NoError(t, err)
	b := s.board("OS", "bad", "", "")
	say := func(topic, text string, retained bool) {
		require.True(t, b.client.Publish(topic, 1, retained, text).WaitTimeout(patience))
	}
	for _, c := range []struct {
		name, topic, text string
		retained          bool
		why               string
	}{
		{"malformed", "taillamp/OS/do/a", `{"do":`, false, "OS, instrument a: refused (1): the message is not a JSON object"},
		{"no act", "taillamp/OS/do/b", `{"do":"rung","beats":"3-1"}`, false, "OS, instrument b: refused (1): A tablet cannot do that"},
		{"too long", "taillamp/OS/do/c", `{"do":"remark","words":"` + strings.Repeat("x", 3000) + `"}`, false, "longer than 2 kB"},
		{"wrong bell", "taillamp/OS/do/d", `{"do":"beat","to":"QU"}`, false, "no bell to that box"},
		{"another's handle", "taillamp/UL/do/e", `{"do":"turn","section":"UL-OS Down Main","show":"clear"}`, false, "UL, instrument e: refused (1)"},
		{"nobody there", "taillamp/UL/do/f", `{"do":"beat","to":"OS"}`, false, "Nobody is on duty"},
		{"stale", "taillamp/OS/do/g", `{"do":"beat","to":"UL","pressed":1}`, false, "came too late"},
		{"a detector of nothing", "taillamp/OS/do/h", `{"do":"detector","section":"nowhere","occupied":true}`, false, "no such line"},
	} {
		say(c.topic, c.text, c.retained)
		s.eventually(c.why)
	}
	for range 200 {
		b.client.Publish("taillamp/OS/do/fast", 0, false, `{"do":"beat","to":"UL"}`)
	}
	b.must(`"do":"remark","words":"its neighbour is heard all the same"`)
	s.clock.Move(11 * time.Second)
	say("taillamp/OS/do/fast", `{"do":`, false)
	s.eventually("it says more than 20 things a second")
	beats := 0
	for _, e := range s.entries() {
		if e.Event.Do == block.Beat {
			beats++
		}
	}
	require.LessOrEqual(t, beats, 40)
	s.tablet(os, "1")
	require.NoError(t, s.live.Trouble())
	require.Less(t, len(s.remarks()), 20, "a flood does not fill the record: %v", s.remarks())
}

// K6: the program's own words cannot be said by an instrument, and one of a box that has a key speaks for no other.
func TestAnInstrumentSpeaksForItsBoxOnly(t *testing.T) {
	s := newShed(t, mqtt.Config{Key: func(box block.BoxID) string { return map[block.BoxID]string{"OS": "AAAAA-BBBBB"}[box] }})
	_, err := s.live.TakeDuty(t.Context(), "UL", "")
	require.NoError(t, err)
	os := s.board("OS", "bell", "OS", "AAAAA-BBBBB")
	os.client.Publish("taillamp/OS/needle/ul-os-down-main", 0, true, `{"shows":"clear"}`)
	os.client.Publish("taillamp/UL/do/bell", 0, false, `{"do":"beat","to":"OS"}`)
	os.must(`"do":"duty"`)
	require.NotContains(t, os.last["taillamp/OS/needle/ul-os-down-main"], `"clear"`)
	for _, e := range s.entries() {
		require.NotEqual(t, block.Beat, e.Event.Do, "Ullathwick's bell was not rung by Ossenwaite's board")
	}
	for _, c := range [][2]string{{"OS", "AAAAA-CCCCC"}, {"OS", ""}, {"", ""}, {"taillamp", "guess"}} {
		require.Error(t, s.connects(c[0], c[1]), "user %q, password %q", c[0], c[1])
	}
	s.eventually("it does not have the key of a box")
	require.NoError(t, s.connects("os", "aaaaabbbbb"))
	for range 10 {
		require.Error(t, s.connects("OS", "guess"))
	}
	require.Error(t, s.connects("OS", "AAAAA-BBBBB"), "after ten wrong keys even the right one waits (L2)")
	for _, words := range s.remarks() {
		require.NotContains(t, words, "AAAAA")
		require.NotContains(t, words, "guess")
	}
}

var messages = flag.Int("messages", 20_000, "how many messages a hostile instrument sends")

// K6: the long run, `go test ./web/mqtt -run LongRun -messages 10000000`: whatever an instrument sends, the box beside it
// works on and the record stays small.
func TestLongRunOfHostileMessages(t *testing.T) {
	s := newShed(t, mqtt.Config{})
	os, err := s.live.TakeDuty(t.Context(), "OS", "")
	require.NoError(t, err)
	b := s.board("OS", "bad", "", "")
	go func() { // one who does not listen to his answers is cut off by the broker, and the run would be over
		for range b.came {
		}
	}()
	texts := []string{`{`, `{"do":"beat","to":"UL"}`, `[]`, `{"do":"turn","section":"UL-OS Down Main","show":"clear","ms":-4}`,
		`{"do":"detector","section":"UL-OS Down Main","occupied":true}`, strings.Repeat("z", 2049), ``, `{"on":true,"bells":["UL","??"]}`}
	topics := []string{"taillamp/OS/do/bad", "taillamp/OS/at/bad", "taillamp/UL/do/x", "taillamp/QU/do/x", "taillamp/OS/do/X Y", "taillamp/OS/bell/UL"}
	for n := range *messages {
		sent := b.client.Publish(topics[n%len(topics)], 0, false, texts[n/len(topics)%len(texts)])
		require.True(t, sent.WaitTimeout(patience))
		require.NoError(t, sent.Error(), "message %d did not go out", n)
		if n%1000 == 999 {
			s.clock.Move(100 * time.Millisecond)
			s.tablet(os, "1")
		}
	}
	require.NoError(t, s.live.Trouble())
	t.Logf("%d messages: %d entries in the record, %d of them remarks on instruments", *messages, len(s.entries()), len(s.remarks()))
	require.Less(t, len(s.entries()), *messages/10+2000)
}
