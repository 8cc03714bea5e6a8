package web

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"unicode/utf8"

	"taillamp/block"
	"taillamp/web/sitting"
)

// seatOf is the seat that a browser has at a box by its ticket, and whether it is good.
func (s *server) seatOf(r *http.Request, box block.BoxID) (seat sitting.Seat, working bool) {
	seat = sitting.Seat{Box: box, As: sitting.Work, Ticket: s.kept(r, box)}
	return seat, seat.Ticket != "" && s.live.Holds(r.Context(), seat)
}

// rule rules an entry of a box's book through, as its signaller reads the whole book: the form's line is the number of
// the entry in the record. The box page does the same by the wire.
func (s *server) rule(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, sitting.FrameLimit)
	line, err := strconv.ParseUint(r.FormValue("line"), 10, 64)
	if err != nil {
		http.Error(w, wordsOf(s.live.Rules(), block.ErrNoEntry).words, http.StatusBadRequest)
		return
	}
	s.byHand(w, r, block.Event{Do: block.Slip, Line: line})
}

// remark writes the form's words across the page of a box's book.
func (s *server) remark(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, sitting.FrameLimit)
	words := strings.TrimSpace(r.FormValue("words"))
	if words == "" || utf8.RuneCountInString(words) > remarkLimit {
		http.Error(w, fmt.Sprintf("Write from one to %d letters across the page.", remarkLimit), http.StatusBadRequest)
		return
	}
	s.byHand(w, r, block.Event{Do: block.Remark, Words: words})
}

const remarkLimit = 200 // letters that a line across the page holds

// byHand does what the signaller of a box, or who keeps his register, does with his pen, by his browser's ticket.
func (s *server) byHand(w http.ResponseWriter, r *http.Request, e block.Event) {
	seat, working := s.seatOf(r, boxOf(r))
	if lad, keeps := s.keeperOf(r, boxOf(r)); keeps && !working {
		seat = lad
	}
	_, err := s.live.Act(r.Context(), seat, 0, e)
	switch {
	case errors.Is(err, sitting.ErrWrongTicket):
		http.Error(w, wordsOf(s.live.Rules(), err).words, http.StatusForbidden)
	case err != nil:
		http.Error(w, wordsOf(s.live.Rules(), err).words, http.StatusConflict)
	default:
		w.WriteHeader(http.StatusNoContent)
	}
}
