package web

import (
	"bytes"
	"net/http"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/web/paper"
)

// hangs gives what hangs in a box as PDF: ?size=A5 for small sheets, ?order for the sequence without times.
func (s *server) hangs(w http.ResponseWriter, r *http.Request) {
	_, state := s.live.Snapshot()
	c := paper.Choice{Size: "A4", Times: !r.URL.Query().Has("order"), Sequence: state.Timetable(), Issued: s.live.District().At(state.At())}
	if r.FormValue("size") == "A5" {
		c.Size = "A5"
	}
	var text bytes.Buffer
	if err := paper.WriteBox(&text, s.live.Rules(), boxOf(r), c); err != nil {
		s.unwell(w, err)
		return
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", `attachment; filename="`+string(boxOf(r))+"-"+c.Size+`.pdf"`)
	_, _ = w.Write(text.Bytes()) // who asked may be gone
}

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
