package web

import (
	"crypto/hmac"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"net"
	"net/http"
	"strings"
	"time"
)

// keyhole lets the owner in by his key, and nobody else. The key itself is not kept.
type keyhole struct {
	set    bool
	sum    [sha256.Size]byte
	cookie string // what the key is exchanged for
	tries  tries
}

// newKeyhole is that of a sitting. Without a key nobody is let in.
func newKeyhole(key, sitting string) *keyhole {
	k := &keyhole{}
	if key = plainKey(key); key == "" {
		return k
	}
	mac := hmac.New(sha256.New, []byte(key))
	mac.Write([]byte("owner of " + sitting)) // a hash takes everything
	k.set, k.sum, k.cookie = true, sha256.Sum256([]byte(key)), hex.EncodeToString(mac.Sum(nil))
	return k
}

// plainKey is a key as it is compared: however a person typed it, with spaces, hyphens or small letters.
func plainKey(key string) string {
	return strings.Map(func(r rune) rune {
		if r == '-' || r == ' ' {
			return -1
		}
		return r
	}, strings.ToUpper(strings.TrimSpace(key)))
}

// try compares a key, in the same time whatever is wrong with it. After ten wrong ones in a minute even the right one
// must wait.
func (k *keyhole) try(key, from string, now time.Time) (opens, wait bool) {
	return k.tries.compare(from, now, func() bool {
		sum := sha256.Sum256([]byte(plainKey(key)))
		return subtle.ConstantTimeCompare(sum[:], k.sum[:]) == 1 && k.set
	})
}

// holds tells whether a browser has exchanged the key.
func (k *keyhole) holds(r *http.Request, cookie string) bool {
	c, err := r.Cookie(cookie)
	return err == nil && k.set && subtle.ConstantTimeCompare([]byte(c.Value), []byte(k.cookie)) == 1
}

// instructs tells whether a browser has the owner's key: whoever watches a box with it is the instructor.
func (s *server) instructs(r *http.Request) bool { return s.keyhole.holds(r, s.ownerCookie()) }

// machineOf is where a request came from, without its port.
func machineOf(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return host
}

func (s *server) ownerCookie() string { return "owner-" + s.live.Name() }

func (s *server) ownerPath() string { return "/s/" + s.live.Name() + "/owner" }

// keyPage is where the owner types his key.
type keyPage struct{ Title string }

// askKey asks for the owner's key, which stands behind the # of the address and so is never sent in one.
func (s *server) askKey(w http.ResponseWriter, r *http.Request) {
	if s.instructs(r) {
		http.Redirect(w, r, s.ownerPath(), http.StatusSeeOther)
		return
	}
	w.Header().Set("Referrer-Policy", "same-origin") // with none at all a form is sent as if from elsewhere
	s.draw(w, "ownerkey.html", keyPage{s.title})
}

// takeKey exchanges the owner's key for a cookie that no script can read and no other site can use.
func (s *server) takeKey(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, 1024)
	opens, wait := s.keyhole.try(r.PostFormValue("key"), machineOf(r), s.live.Now())
	switch {
	case wait:
		s.log.Warn("too many wrong keys of the owner's were tried", "from", machineOf(r))
		w.Header().Set("Retry-After", "60")
		s.refuse(w, r, http.StatusTooManyRequests, "Too many wrong keys came from here: wait a minute and try again.")
		return
	case !opens:
		s.log.Warn("a wrong owner's key was tried", "from", machineOf(r))
		s.refuse(w, r, http.StatusForbidden, "That is not the owner's key of today: it stands in the terminal in which taillamp was started.")
		return
	}
	http.SetCookie(w, &http.Cookie{Name: s.ownerCookie(), Value: s.keyhole.cookie, Path: "/", HttpOnly: true,
		Secure: r.TLS != nil, SameSite: http.SameSiteStrictMode, MaxAge: 24 * 3600})
	s.done(w, r)
}

// forOwner lets through the owner only.
func (s *server) forOwner(next http.HandlerFunc) http.HandlerFunc {
	return s.ofSitting(func(w http.ResponseWriter, r *http.Request) {
		if !s.instructs(r) {
			s.refuse(w, r, http.StatusForbidden, "This page is the owner's: it opens at /owner with the key that stands in the terminal.")
			return
		}
		w.Header().Set("Referrer-Policy", "same-origin")
		next(w, r)
	})
}

// refuse answers with one sentence, as JSON where a script asks for that.
func (s *server) refuse(w http.ResponseWriter, r *http.Request, status int, words string) {
	if strings.Contains(r.Header.Get("Accept"), "application/json") {
		s.json(w, status, map[string]string{"words": words})
		return
	}
	http.Error(w, words, status)
}

// done leads to the owner's page, or tells a script where that is.
func (s *server) done(w http.ResponseWriter, r *http.Request) {
	if strings.Contains(r.Header.Get("Accept"), "application/json") {
		s.json(w, http.StatusOK, map[string]string{"at": s.ownerPath()})
		return
	}
	http.Redirect(w, r, s.ownerPath(), http.StatusSeeOther)
}
