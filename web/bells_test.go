package web

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/sounds"
)

// sixBells is a box with six neighbours, more than any of the demo has, in the voices that they are given.
func sixBells() (*server, *block.View) {
	s, v := &server{common: &common{}, voices: make(map[hearing]string)}, &block.View{Box: "A"}
	var instruments []sounds.Instrument
	for n := range 6 {
		instruments = append(instruments, sounds.Instrument{Box: "A", Hears: fmt.Sprint(n)})
	}
	for n, voice := range sounds.Assign(instruments, false) {
		circuit := block.CircuitID(fmt.Sprintf("A-%d", n))
		s.voices[hearing{"A", circuit}] = voice
		v.Shelf = append(v.Shelf, block.Instrument{Circuit: circuit, Method: "token"})
	}
	return s, v
}

// ask asks for a sound as a browser does that takes what is given as Accept-Encoding.
func (s *server) ask(address, accepts string) *httptest.ResponseRecorder {
	w, r := httptest.NewRecorder(), httptest.NewRequest(http.MethodGet, address, nil)
	r.Header.Set("Accept-Encoding", accepts)
	s.sound(w, r)
	return w
}

// All sounds of one box's page are 400 kB or less on the network, with six bells too, by day and at night.
func TestSixBellsAreLight(t *testing.T) {
	s, v := sixBells()
	all := s.shelfSounds(v)
	require.Len(t, all.Bells, 6)
	require.Len(t, all.Night, 6)
	require.Len(t, all.Home, 4, "clack, click, drawn, restored")
	weigh := func(addresses []string) (total int) {
		for _, a := range addresses {
			w := s.ask(a, "gzip, deflate")
			require.Equal(t, http.StatusOK, w.Code, a)
			require.Greater(t, w.Body.Len(), 500, a)
			total += w.Body.Len()
		}
		return total
	}
	day := weigh(append(values(all.Bells), values(all.Home)...))
	night := weigh(append(values(all.Night), values(all.Home)...))
	fmt.Printf("six bells and the apparatus, as sent: by day %d bytes, at night %d\n", day, night)
	require.LessOrEqual(t, day, 400_000)
	require.Less(t, night, day, "they are shorter")
}

func values[K comparable](m map[K]string) []string {
	var all []string
	for _, v := range m {
		all = append(all, v)
	}
	return all
}

// What is sent compressed is the same file, bit for bit, by the reader of the standard library; who cannot take it
// compressed, or will not (RFC 9110, 12.5.3: a weight of 0), is sent the file itself.
func TestSoundsAreSentCompressed(t *testing.T) {
	s, v := sixBells()
	address := s.shelfSounds(v).Bells["A-0"]
	plain := s.ask(address, "identity")
	require.Empty(t, plain.Header().Get("Content-Encoding"))
	require.Equal(t, "RIFF", string(plain.Body.Bytes()[:4]))
	for _, accepts := range []string{"gzip", "deflate, gzip;q=0.5", "br,  GZIP ; q=1.0"} {
		w := s.ask(address, accepts)
		require.Equal(t, "gzip", w.Header().Get("Content-Encoding"), accepts)
		require.Equal(t, "audio/wav", w.Header().Get("Content-Type"))
		require.Equal(t, "Accept-Encoding", w.Header().Get("Vary"))
		z, err := gzip.NewReader(w.Body)
		require.NoError(t, err)
		whole, err := io.ReadAll(z)
		require.NoError(t, err)
		require.True(t, bytes.Equal(plain.Body.Bytes(), whole), accepts)
	}
	for _, accepts := range []string{"", "br", "gzip;q=0", "gzip; q=0.000, identity"} {
		require.Empty(t, s.ask(address, accepts).Header().Get("Content-Encoding"), accepts)
	}
}

// At night a bell is the sound of the voice's own night, under an address of its own.
func TestNightIsServed(t *testing.T) {
	s, v := sixBells()
	all := s.shelfSounds(v)
	voice, ok := sounds.FindVoice(s.voices[hearing{"A", "A-3"}])
	require.True(t, ok)
	var want bytes.Buffer
	require.NoError(t, sounds.WriteWAV(&want, sounds.Rate, voice.Night().Stroke(sounds.Rate, 1)))
	require.NotEqual(t, all.Bells["A-3"], all.Night["A-3"])
	require.Equal(t, want.Bytes(), s.ask(all.Night["A-3"], "").Body.Bytes())
	require.Equal(t, http.StatusNotFound, s.ask("/sounds/night-clack-0000000000.wav", "").Code)
}
