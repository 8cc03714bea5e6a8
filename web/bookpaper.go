package web

import (
	"bytes"
	"net/http"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/web/paper"
)

// printed gives the register of a box as PDF, to keep or to print.
func (s *server) printed(w http.ResponseWriter, r *http.Request, box block.BoxID) {
	began := s.live.Header().Began
	b, err := register.Of(s.live.Rules(), box, began, s.live.Entries(r.Context()))
	if err != nil {
		s.unwell(w, err)
		return
	}
	var text bytes.Buffer
	about := paper.About{Title: s.title, Sitting: s.live.Name(), Began: s.live.District().At(began)}
	if err := paper.WriteBooks(&text, about, b); err != nil {
		s.unwell(w, err)
		return
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("Content-Disposition", `attachment; filename="`+s.live.Name()+"-"+string(box)+`.pdf"`)
	if _, err := w.Write(text.Bytes()); err != nil {
		s.log.Debug("a book was not taken away whole", "box", box, "err", err)
	}
}
