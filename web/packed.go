package web

import (
	"bytes"
	"compress/gzip"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"
)

// packed keeps files compressed, each compressed once. The zero value is ready.
type packed struct {
	mu    sync.Mutex
	files map[string][]byte // by the file's entity tag
}

// file compresses a file the first time that it is asked for.
func (p *packed) file(tag string, text []byte) []byte {
	p.mu.Lock()
	defer p.mu.Unlock()
	if small, ok := p.files[tag]; ok {
		return small
	}
	small := pack(text)
	if p.files == nil {
		p.files = make(map[string][]byte)
	}
	p.files[tag] = small
	return small
}

// pack compresses by gzip (RFC 1952).
func pack(text []byte) []byte {
	var small bytes.Buffer
	z := gzip.NewWriter(&small)
	_, _ = z.Write(text) // a buffer takes everything
	_ = z.Close()        // likewise
	return small.Bytes()
}

// send answers with a file, or with the same compressed where the browser takes that. The headers that the file has
// either way are set already.
func send(w http.ResponseWriter, r *http.Request, text []byte, small func() []byte) {
	w.Header().Add("Vary", "Accept-Encoding")
	if takesGzip(r.Header.Values("Accept-Encoding")) {
		w.Header().Set("Content-Encoding", "gzip")
		if tag := w.Header().Get("ETag"); tag != "" {
			w.Header().Set("ETag", strings.TrimSuffix(tag, `"`)+`-gzip"`) // another representation (RFC 9110, 8.8.3)
		}
		text = small()
	}
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(text))
}

// takesGzip reads Accept-Encoding (RFC 9110, 12.5.3): gzip is named there, and not with a weight of nothing.
func takesGzip(accepted []string) bool {
	for _, one := range strings.Split(strings.Join(accepted, ","), ",") {
		coding, weight, _ := strings.Cut(one, ";")
		if !strings.EqualFold(strings.TrimSpace(coding), "gzip") {
			continue
		}
		_, q, weighed := strings.Cut(weight, "=")
		n, err := strconv.ParseFloat(strings.TrimSpace(q), 64)
		return !weighed || err == nil && n > 0
	}
	return false
}
