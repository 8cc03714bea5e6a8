package web

import (
	"sync"
	"time"
)

// How often a wrong key may be tried from one machine, and from how many the tries are counted one by one.
const (
	triesAMinute = 10
	triersKept   = 1000
)

// tries are the wrong keys that have been tried, by the machine that they came from.
type tries struct {
	mu   sync.Mutex
	from map[string]*wrongTries
}

// wrongTries are those of one machine in the minute since the first of them.
type wrongTries struct {
	since time.Time
	count int
}

// compare has a key compared. After ten wrong ones in a minute even the right one must wait.
func (t *tries) compare(from string, now time.Time, same func() bool) (opens, wait bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	w := t.of(from, now)
	if w == nil || w.count >= triesAMinute {
		return false, true
	}
	if same() {
		return true, false
	}
	w.count++
	return false, false
}

// of are the tries of a machine. nil: too many machines have tried within the minute.
func (t *tries) of(from string, now time.Time) *wrongTries {
	over := func(w *wrongTries) bool { return now.Sub(w.since) >= time.Minute }
	w := t.from[from]
	if w != nil && !over(w) {
		return w
	}
	if w == nil && len(t.from) >= triersKept {
		for other, o := range t.from {
			if over(o) {
				delete(t.from, other)
			}
		}
		if len(t.from) >= triersKept {
			return nil
		}
	}
	if t.from == nil {
		t.from = make(map[string]*wrongTries)
	}
	w = &wrongTries{since: now}
	t.from[from] = w
	return w
}
