package main

import (
	"bufio"
	"bytes"
	"crypto/tls"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"os"
	"slices"
	"strings"

	"taillamp/block"
	"taillamp/web/sitting"
)

// fromHome is what lets somebody at home work a box: a certificate, so that nobody on the way hears anything, and a key
// for each box.
type fromHome struct {
	cert, key string // files, PEM; both or neither
	boxKeys   string // file; empty: no box has a key
	keys      map[block.BoxID]string
	wrote     bool // the file of keys is new
}

// wrap has the door speak TLS, if there is a certificate.
func (h *fromHome) wrap(door net.Listener) (net.Listener, error) {
	if h.cert == "" && h.key == "" {
		return door, nil
	}
	if h.cert == "" || h.key == "" {
		return nil, misuse("name both files, --cert FILE --key FILE", "serve: a certificate and its key are used together")
	}
	pair, err := tls.LoadX509KeyPair(h.cert, h.key)
	if err != nil {
		return nil, fault{code: exitMaterial, what: fmt.Sprintf("%s and %s are no certificate and its key: %s", h.cert, h.key, lastWords(err)),
			hint: "both are PEM files, as whoever gave out the certificate gave them"}
	}
	return tls.NewListener(door, &tls.Config{Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS12,
		NextProtos: []string{"http/1.1"}}), nil // the wire is a websocket, which wants 1.1
}

// scheme is how addresses begin.
func (h *fromHome) scheme() string {
	if h.cert == "" {
		return "http"
	}
	return "https"
}

// readKeys reads the keys of a layout's boxes, or writes new ones where there is no such file.
func (h *fromHome) readKeys(l *block.Layout) error {
	if h.boxKeys == "" {
		return nil
	}
	text, err := os.ReadFile(h.boxKeys)
	if errors.Is(err, fs.ErrNotExist) {
		return h.writeKeys(l)
	}
	if err != nil {
		return could("", "the keys of the boxes cannot be read from %s: %s", h.boxKeys, lastWords(err))
	}
	h.keys, err = parseKeys(h.boxKeys, text, l)
	return err
}

// shortestKey is how short a key may be, in letters: some 46 bits if they are drawn by lot.
const shortestKey = 10

// parseKeys reads lines of a box and its key; # begins a remark. A box that no line names has no key.
func parseKeys(file string, text []byte, l *block.Layout) (map[block.BoxID]string, error) {
	keys := make(map[block.BoxID]string)
	lines := bufio.NewScanner(bytes.NewReader(text))
	for n := 1; lines.Scan(); n++ {
		line, _, _ := strings.Cut(lines.Text(), "#")
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		wrong := func(what, right string) error {
			return fault{code: exitMaterial, what: fmt.Sprintf("%s:%d: %s", file, n, what), hint: right}
		}
		box := block.BoxID(strings.ToUpper(words[0]))
		if !slices.ContainsFunc(l.Boxes, func(b block.Box) bool { return b.ID == box }) {
			return nil, wrong(l.Title+" has no box "+words[0], "a line is a box and its key, OS K3XT-7RMP-4QFD")
		}
		key := strings.Join(words[1:], "")
		if len(strings.ReplaceAll(key, "-", "")) < shortestKey {
			return nil, wrong("the key of "+words[0]+" is too short to keep anybody out", "a key has ten letters or figures at least; delete the file, and new ones are written")
		}
		if keys[box] != "" {
			return nil, wrong("a second key of "+words[0], "a box has one key")
		}
		keys[box] = key
	}
	return keys, nil
}

// writeKeys draws a key for every box and keeps them where only this user reads them.
func (h *fromHome) writeKeys(l *block.Layout) error {
	var b strings.Builder
	b.WriteString("# The keys of the boxes of " + l.Title + ": give each to its signaller alone. Delete a line and that box has none.\n")
	h.keys = make(map[block.BoxID]string)
	for _, box := range l.Boxes {
		h.keys[box.ID] = sitting.NewKey()
		fmt.Fprintf(&b, "%-4s %s\n", box.ID, h.keys[box.ID])
	}
	if err := os.WriteFile(h.boxKeys, []byte(b.String()), 0o600); err != nil {
		return could("", "the keys of the boxes cannot be written to %s: %s", h.boxKeys, lastWords(err))
	}
	h.wrote = true
	return nil
}

// announce tells how the boxes are locked; a key is never said.
func (h *fromHome) announce(w *errWriter) {
	switch {
	case h.boxKeys != "" && h.wrote:
		fmt.Fprintf(w, "  %-8s new ones, in %s: each opens one box\n", "keys", h.boxKeys)
	case h.boxKeys != "":
		fmt.Fprintf(w, "  %-8s in %s: each opens one box\n", "keys", h.boxKeys)
	case h.cert != "":
		fmt.Fprintf(w, "  %-8s NO BOX HAS ONE: whoever finds the address can work a box; --box-keys FILE locks them\n", "keys")
	}
}
