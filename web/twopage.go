package web

import (
	"net/http"
	"slices"
	"strings"

	"taillamp/block"
)

// twoPage is two boxes worked at one tablet; without boxes, the choice of them.
type twoPage struct {
	Title, Sitting string
	Boxes          []block.Box
	Both           string // their names, as the pages of both are told them
	Pairs          []pair
}

// pair are two boxes that one person can work: they are neighbours.
type pair struct {
	A, B  block.BoxID
	Names string
}

// two shows the boxes ?a=OS&b=QU at one tablet.
func (s *server) two(w http.ResponseWriter, r *http.Request) {
	page := twoPage{Title: s.title, Sitting: s.live.Name()}
	a, b := block.BoxID(r.FormValue("a")), block.BoxID(r.FormValue("b"))
	if a == "" && b == "" {
		page.Pairs = s.pairs()
		s.draw(w, "two.html", page)
		return
	}
	for _, id := range []block.BoxID{a, b} {
		box, ok := s.live.Rules().Box(id)
		if !ok || a == b {
			http.Error(w, "That takes two boxes of this line. The boxes that there are stand on the door: /", http.StatusNotFound)
			return
		}
		page.Boxes = append(page.Boxes, box)
	}
	page.Both = string(a) + "." + string(b)
	s.draw(w, "two.html", page)
}

// pairs are the boxes that have a bell to one another, in line order, also past one that is switched out.
func (s *server) pairs() []pair {
	var all []pair
	_, state := s.live.Snapshot()
	next, names := neighboursOf(s.live.Rules().Layout()), namesOf(s.live.Rules())
	for n, stops := 0, lineOf(s.live.Rules()); n < len(stops); n++ {
		box := stops[n].Box
		with := slices.Clone(next[box])
		for _, i := range s.live.Rules().View(state, box).Shelf {
			with = append(with, i.To)
		}
		for _, later := range stops[n+1:] {
			if slices.Contains(with, later.Box) {
				all = append(all, pair{box, later.Box, names[box] + " and " + names[later.Box]})
			}
		}
	}
	return all
}

// inTwo lets the page of a box stand in the page of two, and in nothing else: its bells have then other voices than
// those of the other box, whose bells hang in the same room.
func (s *server) inTwo(w http.ResponseWriter, r *http.Request, page *boxPage) {
	a, b, both := strings.Cut(r.FormValue("two"), ".")
	if !both || page.Box != block.BoxID(a) && page.Box != block.BoxID(b) {
		return
	}
	h := w.Header()
	h.Set("Content-Security-Policy", strings.Replace(h.Get("Content-Security-Policy"), "frame-ancestors 'none'", "frame-ancestors 'self'", 1))
	voices := voicesAmong(s.live.Rules(), true, func(id block.BoxID) bool { return id == block.BoxID(a) || id == block.BoxID(b) })
	page.Present.Sounds = s.shelfSoundsBy(page.Present.View, voices)
}
