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
	"time"

	"taillamp/block"
	"taillamp/sounds"
)

// bells are the sounds of a district, rendered once and kept. The zero value is ready.
type bells struct {
	mu       sync.Mutex
	rendered map[string]rendered // by voice or noise
}

// rendered is a sound as a WAV file, and the address that it is served under.
type rendered struct {
	wav     []byte
	address string
}

// shelfSounds are the addresses of what one box hears.
type shelfSounds struct {
	Clack string                     `json:"clack"` // its own plunger
	Bells map[block.CircuitID]string `json:"bells"`
}

// shelfSounds gives the addresses of the sounds of a box's shelf as it stands.
func (s *server) shelfSounds(v *block.View) shelfSounds {
	all := shelfSounds{Bells: make(map[block.CircuitID]string)}
	if clack, ok := s.bells.sound("clack"); ok {
		all.Clack = clack.address
	}
	for _, i := range v.Shelf {
		if r, ok := s.bells.sound(s.voices[hearing{v.Box, i.Circuit}]); ok {
			all.Bells[i.Circuit] = r.address
		}
	}
	return all
}

// sound serves one sound. Its name holds the hash of its content, so it may be kept for a year.
func (s *server) sound(w http.ResponseWriter, r *http.Request) {
	wav, ok := s.bells.file(strings.TrimPrefix(r.URL.Path, "/sounds/"))
	if !ok {
		http.Error(w, "There is no such sound here.", http.StatusNotFound)
		return
	}
	w.Header().Set("Content-Type", "audio/wav")
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(wav))
}

// sound renders a voice or a noise of the apparatus, the first time that it is asked for.
func (b *bells) sound(name string) (rendered, bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if r, ok := b.rendered[name]; ok {
		return r, true
	}
	var samples []float32
	if v, ok := sounds.FindVoice(name); ok {
		samples = v.Stroke(sounds.Rate, 1)
	} else if n, ok := sounds.FindNoise(name); ok {
		samples = n.Sound(sounds.Rate)
	} else {
		return rendered{}, false
	}
	var wav bytes.Buffer
	if err := sounds.WriteWAV(&wav, sounds.Rate, samples); err != nil {
		return rendered{}, false // a buffer takes everything
	}
	sum := sha256.Sum256(wav.Bytes())
	r := rendered{wav: wav.Bytes(), address: fmt.Sprintf("/sounds/%s-%s.wav", url.PathEscape(name), hex.EncodeToString(sum[:5]))}
	if b.rendered == nil {
		b.rendered = make(map[string]rendered)
	}
	b.rendered[name] = r
	return r, true
}

// file finds the sound that a file's name asks for: voice, hash of its content, .wav. Another hash is another sound,
// and is not there.
func (b *bells) file(name string) ([]byte, bool) {
	stem, ok := strings.CutSuffix(name, ".wav")
	at := strings.LastIndexByte(stem, '-')
	if !ok || at < 0 {
		return nil, false
	}
	r, ok := b.sound(stem[:at])
	if !ok || !strings.HasSuffix(r.address, stem[at:]+".wav") {
		return nil, false
	}
	return r.wav, true
}
