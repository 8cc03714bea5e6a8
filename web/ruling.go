package web

import (
	"errors"
	"net/http"
	"strconv"

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
	box := boxOf(r)
	line, err := strconv.ParseUint(r.FormValue("line"), 10, 64)
	if err != nil {
		http.Error(w, wordsOf(s.live.Rules(), block.ErrNoEntry).words, http.StatusBadRequest)
		return
	}
	seat, _ := s.seatOf(r, box)
	_, err = s.live.Act(r.Context(), seat, 0, block.Event{Do: block.Slip, Line: line})
	switch {
	case errors.Is(err, sitting.ErrWrongTicket):
		http.Error(w, wordsOf(s.live.Rules(), err).words, http.StatusForbidden)
	case err != nil:
		http.Error(w, wordsOf(s.live.Rules(), err).words, http.StatusConflict)
	default:
		w.WriteHeader(http.StatusNoContent)
	}
}
