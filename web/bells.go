package web

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"sync"

	"taillamp/block"
	"taillamp/sounds"
)

// bells are the sounds of a district, rendered once and kept. The zero value is ready.
type bells struct {
	mu       sync.Mutex
	rendered map[string]rendered // by voice or noise
}

// rendered is a sound as a WAV file, the same file compressed, and the address that it is served under.
type rendered struct {
	wav     []byte
	packed  []byte // by gzip (RFC 1952)
	address string
}

// shelfSounds are the addresses of what one box hears.
type shelfSounds struct {
	Bells map[block.CircuitID]string `json:"bells"`
	Night map[block.CircuitID]string `json:"night"` // the same bells, quiet and short
	Home  map[string]string          `json:"home"`  // its own apparatus, by the noise's name
}

// atNight goes before the name of a voice that is to be quiet and short.
const atNight = "night-"

// shelfSounds gives the addresses of the sounds of a box's shelf as it stands.
func (s *server) shelfSounds(v *block.View) shelfSounds { return s.shelfSoundsBy(v, s.voices) }

func (s *server) shelfSoundsBy(v *block.View, voices map[hearing]string) shelfSounds {
	all := shelfSounds{Bells: make(map[block.CircuitID]string), Night: make(map[block.CircuitID]string), Home: make(map[string]string)}
	noises := []string{"clack", "click"}
	for _, i := range v.Shelf {
		voice := voices[hearing{v.Box, i.Circuit}]
		if r, ok := s.bells.sound(voice); ok {
			all.Bells[i.Circuit] = r.address
		}
		if r, ok := s.bells.sound(atNight + voice); ok {
			all.Night[i.Circuit] = r.address
		}
		if i.Method == "token" {
			noises = append(noises, "drawn", "restored")
		}
	}
	for _, n := range noises {
		if r, ok := s.bells.sound(n); ok {
			all.Home[n] = r.address
		}
	}
	return all
}

// sound serves one sound, compressed where the browser takes that. Its name holds the hash of its content, so it may be
// kept for a year.
func (s *server) sound(w http.ResponseWriter, r *http.Request) {
	found, ok := s.bells.file(strings.TrimPrefix(r.URL.Path, "/sounds/"))
	if !ok {
		http.Error(w, "There is no such sound here.", http.StatusNotFound)
		return
	}
	w.Header().Set("Content-Type", "audio/wav")
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	send(w, r, found.wav, func() []byte { return found.packed })
}

// sound renders a voice, by day or at night, or a noise of the apparatus, the first time that it is asked for.
func (b *bells) sound(name string) (rendered, bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if r, ok := b.rendered[name]; ok {
		return r, true
	}
	samples, ok := samplesOf(name)
	if !ok {
		return rendered{}, false
	}
	var wav bytes.Buffer
	if err := sounds.WriteWAV(&wav, sounds.Rate, samples); err != nil {
		return rendered{}, false // a buffer takes everything
	}
	sum := sha256.Sum256(wav.Bytes())
	r := rendered{wav: wav.Bytes(), packed: pack(wav.Bytes()),
		address: fmt.Sprintf("/sounds/%s-%s.wav", url.PathEscape(name), hex.EncodeToString(sum[:5]))}
	if b.rendered == nil {
		b.rendered = make(map[string]rendered)
	}
	b.rendered[name] = r
	return r, true
}

// samplesOf are one stroke of a voice at full force, or a noise.
func samplesOf(name string) ([]float32, bool) {
	plain, night := strings.CutPrefix(name, atNight)
	if v, ok := sounds.FindVoice(plain); ok {
		if night {
			v = v.Night()
		}
		return v.Stroke(sounds.Rate, 1), true
	}
	if n, ok := sounds.FindNoise(name); ok {
		return n.Sound(sounds.Rate), true
	}
	return nil, false
}

// file finds the sound that a file's name asks for: voice, hash of its content, .wav. Another hash is another sound,
// and is not there.
func (b *bells) file(name string) (rendered, bool) {
	stem, ok := strings.CutSuffix(name, ".wav")
	at := strings.LastIndexByte(stem, '-')
	if !ok || at < 0 {
		return rendered{}, false
	}
	r, ok := b.sound(stem[:at])
	if !ok || !strings.HasSuffix(r.address, stem[at:]+".wav") {
		return rendered{}, false
	}
	return r, true
}
