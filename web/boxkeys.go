package web

import (
	"crypto/sha256"
	"crypto/subtle"
	"net/http"
	"time"

	"taillamp/block"
	"taillamp/web/sitting"
)

// boxKeys let a signaller into a box that has a key of its own. The keys themselves are not kept.
type boxKeys struct {
	sums  map[block.BoxID][sha256.Size]byte
	tries tries
}

func newBoxKeys(keys map[block.BoxID]string) *boxKeys {
	k := &boxKeys{sums: make(map[block.BoxID][sha256.Size]byte)}
	for box, key := range keys {
		if key = plainKey(key); key != "" {
			k.sums[box] = sha256.Sum256([]byte(key))
		}
	}
	return k
}

// locked tells whether a box has a key.
func (k *boxKeys) locked(box block.BoxID) bool {
	_, has := k.sums[box]
	return has
}

// try compares a key with that of a box, in the same time whatever is wrong with it.
func (k *boxKeys) try(box block.BoxID, key, from string, now time.Time) (opens, wait bool) {
	return k.tries.compare(from, now, func() bool {
		right := k.sums[box]
		sum := sha256.Sum256([]byte(plainKey(key)))
		return subtle.ConstantTimeCompare(sum[:], right[:]) == 1
	})
}

// mayEnter tells whether a request that takes duty has the key of the box, and answers it if not.
func (s *server) mayEnter(w http.ResponseWriter, r *http.Request, box block.BoxID, page bool) bool {
	if !s.keys.locked(box) {
		return true
	}
	key := r.PostFormValue("key")
	if key == "" {
		if page {
			http.Redirect(w, r, "/s/"+s.live.Name()+"/key/"+string(box), http.StatusSeeOther)
			return false
		}
		s.json(w, http.StatusUnauthorized, map[string]string{"why": "key", "words": "That box has a key of its own."})
		return false
	}
	opens, wait := s.keys.try(box, key, machineOf(r), s.live.Now())
	status, why, words := http.StatusForbidden, "wrong-key", "That is not the key of this box. Ask the owner of the line for it."
	switch {
	case opens:
		return true
	case wait:
		status, why, words = http.StatusTooManyRequests, "wait", "Too many wrong keys came from here: wait a minute and try again."
		w.Header().Set("Retry-After", "60")
	}
	s.log.Warn("a box was not opened by a key", "box", box, "from", machineOf(r), "why", why)
	s.turnedAway(r, "a key that is not that of "+string(box))
	if page {
		http.Error(w, words, status)
		return false
	}
	s.json(w, status, map[string]string{"why": why, "words": words})
	return false
}

// boxKeyPage is where a signaller shows the key of a box.
type boxKeyPage struct {
	Title, Name, Sitting string
	Box                  block.BoxID
}

// askBoxKey asks for the key of a box, which may stand behind the # of the address and so is never sent in one.
func (s *server) askBoxKey(w http.ResponseWriter, r *http.Request) {
	box := boxOf(r)
	seat := sitting.Seat{Box: box, As: sitting.Work, Ticket: s.kept(r, box)}
	if !s.keys.locked(box) || seat.Ticket != "" && s.live.Holds(r.Context(), seat) {
		http.Redirect(w, r, "/s/"+s.live.Name()+"/box/"+string(box), http.StatusSeeOther)
		return
	}
	s.draw(w, "boxkey.html", boxKeyPage{s.title, namesOf(s.live.Rules())[box], s.live.Name(), box})
}
