package web

import (
	"log/slog"
	"net/http"
)

// Evening is a sitting under way, as the list of them has it.
type Evening struct {
	Name    string
	Working bool // a machine has it; otherwise it is on its way from one to another
}

// listPage is what the list is drawn from.
type listPage struct{ Evenings []Evening }

// NewList serves the list of the sittings under way where several are, and what pages are drawn with. A sitting's line
// leads to /s/NAME/.
func NewList(under func() []Evening, log *slog.Logger) http.Handler {
	s := &server{common: &common{}, log: log}
	mux := http.NewServeMux()
	list := func(w http.ResponseWriter, _ *http.Request) { s.draw(w, "sittings.html", listPage{under()}) }
	mux.HandleFunc("GET /{$}", list)
	mux.HandleFunc("GET /sittings", list)
	mux.HandleFunc("GET /static/", s.static)
	return guarded(mux)
}
