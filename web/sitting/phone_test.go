package sitting_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// phone is what a box's telephone shows.
func (s *stage) phone(box block.BoxID) sitting.Telephone {
	s.t.Helper()
	p, err := s.live.Present(s.t.Context(), sitting.Seat{Box: box, As: sitting.LooksOn})
	require.NoError(s.t, err)
	if len(p.Phones) == 0 {
		return sitting.Telephone{}
	}
	return p.Phones[0]
}

func call(words string) block.Event { return block.Event{Do: block.Call, Circuit: bell, Words: words} }

// L5: a call rings at the other box until it is answered; then both hear what is said; each act stands in the record
// with its time, and none of it in a book or at an instrument.
func TestTelephone(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	rear, advance := s.duty(ul), s.duty(os)
	w := s.watch(advance)
	waiting(w)
	_, err := s.act(rear, call("hello?"))
	require.ErrorIs(t, err, sitting.ErrNobodyOn)
	before := s.view(os)

	s.must(rear, call(""))
	require.Equal(t, ul, s.phone(os).Rings)
	require.Equal(t, ul, waiting(w)[0].Phones[0].Rings, "Ossenwaite is told at once")
	_, err = s.act(rear, call("hello?"))
	require.ErrorIs(t, err, sitting.ErrNobodyOn, "left ringing")
	s.must(advance, call(""))
	require.Empty(t, s.phone(os).Rings)
	require.Equal(t, []block.BoxID{ul, os}, s.phone(ul).On)
	s.must(rear, call("my up line is blocked by fog signals, will you wait"))
	s.must(advance, call("I will"))
	for _, box := range []block.BoxID{ul, os} {
		said := s.phone(box).Said
		require.Len(t, said, 2)
		require.Equal(t, os, said[1].By)
		require.Equal(t, "I will", said[1].Words)
		require.True(t, s.clock.Now().Equal(said[1].At))
	}
	s.must(rear, block.Event{Do: block.Call, Circuit: bell, Off: true})
	_, err = s.act(advance, call("are you there?"))
	require.ErrorIs(t, err, sitting.ErrNobodyOn)
	s.must(advance, block.Event{Do: block.Call, Circuit: bell, Off: true})
	_, err = s.act(advance, block.Event{Do: block.Call, Circuit: bell, Off: true})
	require.ErrorIs(t, err, sitting.ErrAsItIs)

	after := s.view(os)
	before.At = after.At
	require.Equal(t, before, after, "no needle moved and nothing was accepted")
	p, err := s.live.Present(t.Context(), sitting.Seat{Box: os, As: sitting.LooksOn})
	require.NoError(t, err)
	require.Len(t, p.Book, 1, "the book has him on duty, and no call")
	calls := 0
	for e, err := range s.live.Entries(t.Context()) {
		require.NoError(t, err)
		if e.Event.Do == block.Call {
			calls++
			require.False(t, e.Event.At.IsZero())
		}
	}
	require.Equal(t, 6, calls)
}

// L5, D12: a telephone that the owner has made to fail does not ring, and who calls hears nothing; nobody is told why.
// Mended, it rings again. A sitting gone on with has its telephones as they were.
func TestTelephoneFails(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	rear, advance := s.duty(ul), s.duty(os)
	fail := sitting.Failure{Circuit: bell, Where: block.AtPhone}
	s.must(rear, call(""))
	s.must(advance, call(""))
	require.NoError(t, s.live.Fail(t.Context(), fail, false))
	require.True(t, s.phone(ul).Dead, "who was speaking hears nothing more")
	_, err := s.act(rear, call("hello?"))
	require.ErrorIs(t, err, sitting.ErrNobodyOn)
	s.must(rear, block.Event{Do: block.Call, Circuit: bell, Off: true})
	require.False(t, s.phone(ul).Dead)
	s.must(advance, block.Event{Do: block.Call, Circuit: bell, Off: true})

	s.must(rear, call(""))
	require.True(t, s.phone(ul).Dead)
	require.Empty(t, s.phone(os).Rings)
	require.False(t, s.phone(os).Dead, "he has not tried it")
	require.NoError(t, s.live.Close(t.Context()))
	s.again()
	require.True(t, s.phone(ul).Dead)
	require.NoError(t, s.live.Fail(t.Context(), fail, true))
	s.must(rear, call(""))
	require.Equal(t, ul, s.phone(os).Rings)
	require.NoError(t, s.live.Trouble())
}

// onLine is a sitting on the demo with another kind of telephone.
func onLine(t *testing.T, kind string) *stage {
	t.Helper()
	s := newStage(t, sitting.NewMemory())
	h, err := block.EmbeddedHeader("lathermoor")
	require.NoError(t, err)
	h.Layout = strings.Replace(h.Layout, "[settings]\n", "[settings]\ntelephone = \""+kind+"\"\n", 1)
	s.live, err = s.host.Open(t.Context(), "circuit", h)
	require.NoError(t, err)
	return s
}

// L5: by the layout's setting all boxes are on one line: every telephone rings, whoever lifts it hears and speaks, and
// who does not hears nothing; or there is no telephone.
func TestTelephoneOfAWholeCircuit(t *testing.T) {
	s := onLine(t, "circuit")
	boxes := map[block.BoxID]sitting.Seat{}
	for _, box := range []block.BoxID{"SK", "UL", "OS", "HX"} {
		boxes[box] = s.duty(box)
	}
	s.must(boxes["SK"], block.Event{Do: block.Call})
	for _, box := range []block.BoxID{"UL", "OS", "HX"} {
		require.Equal(t, block.BoxID("SK"), s.phone(box).Rings, box)
	}
	s.must(boxes["OS"], block.Event{Do: block.Call})
	s.must(boxes["HX"], block.Event{Do: block.Call})
	s.must(boxes["SK"], block.Event{Do: block.Call, Words: "Ossenwaite, your excursion is late"})
	require.Len(t, s.phone("OS").Said, 1)
	require.Len(t, s.phone("HX").Said, 1, "he listens")
	require.Empty(t, s.phone("UL").Said, "he does not")

	s = onLine(t, "none")
	seat := s.duty("OS")
	_, err := s.act(seat, block.Event{Do: block.Call, Circuit: "UL-OS"})
	require.ErrorIs(t, err, block.ErrNoInstrument)
}

// L5: a simulated signaller answers the telephone, says what he is, and puts his receiver down after the caller's. One who
// gives up before he answers is not rung back.
func TestSimulatedSignallerAnswersTheTelephone(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	seat := s.duty(ul)
	require.NoError(t, s.live.Employ(t.Context(), 1, []block.BoxID{ul}))
	pass := func(seconds int) {
		for range seconds * 2 {
			s.clock.Move(time.Second / 2)
			_ = s.phone(ul) // the sitting has had its turn
		}
	}
	s.must(seat, call(""))
	pass(2)
	down := call("")
	down.Off = true
	s.must(seat, down)
	pass(6)
	require.Empty(t, s.phone(ul).On, "nobody is rung back")
	s.must(seat, call(""))
	pass(8)
	require.ElementsMatch(t, []block.BoxID{ul, os}, s.phone(ul).On)
	require.Len(t, s.phone(ul).Said, 1)
	require.Contains(t, s.phone(ul).Said[0].Words, "Ossenwaite Junction here. I am simulated")
	s.must(seat, call("thank you"))
	s.must(seat, down)
	pass(3)
	require.Empty(t, s.phone(ul).On)
}
