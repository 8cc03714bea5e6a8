// Package web serves a sitting to the tablets: the pages, the bells and the wire. It keeps nothing of its own; what
// is true stands in the sitting's record.
package web

import (
	"encoding/json"
	"errors"
	"log/slog"
	"net/http"
	"strings"
	"time"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/block/review"
	"taillamp/web/sitting"
	"taillamp/web/syllabus"
)

// Config is what New needs.
type Config struct {
	Live    *sitting.Live          // the sitting in hand
	Title   string                 // of the evening, as the door shows it; empty: the layout's
	Word    string                 // typed behind the address it leads to the door; empty: none
	Keys    map[block.BoxID]string // of boxes that have a key of their own
	Owner   string                 // the owner's key; empty: there is no owner's page
	Pace    float64                // frames a second that one tablet may send; 0: 40
	Kept    Bookcase               // the kept sittings; nil: there is no bookcase
	Sheets  *syllabus.Sheets       // what learners have tried; nil: it is kept as long as the program runs
	Program string                 // name and version
	Log     *slog.Logger           // nil: nothing is logged
	// Carried is told of every ring (a beat that sounds) and every fact, for each tablet that heard of it, how long it was in
	// the program: from frame read to frame handed to the socket. It may be called by many at once. nil: nobody measures.
	Carried func(ring bool, took time.Duration)
}

// server answers for one sitting.
type server struct {
	live    *sitting.Live
	title   string
	word    string
	log     *slog.Logger
	voices  map[hearing]string
	prog    string
	keyhole *keyhole
	keys    *boxKeys
	pace    float64
	trips   trips
	carried func(ring bool, took time.Duration) // nil: nobody measures
	*common
	shelf  Bookcase
	spines spines  // see bookcasepage.go
	school *school // nil at a lesson: see school.go
	bench  *bench  // of a lesson; nil elsewhere

	graphed looked[*register.Graph]
	found   looked[[]review.Finding]
}

// common is what every sitting that is served has in common with the others.
type common struct {
	learners    *syllabus.Sheets
	wrongSheets tries  // of keys to them
	guard       guard  // see guard.go
	bells       bells  // see bells.go
	packed      packed // see packed.go
	sheets      sheets // see pages.go
}

// New serves the pages, the bells and the wire of a sitting.
func New(c Config) http.Handler {
	if c.Sheets == nil {
		c.Sheets = syllabus.InMemory()
	}
	s := newServer(c, &common{learners: c.Sheets})
	s.school, s.shelf = newSchool(s), c.Kept
	return http.NewCrossOriginProtection().Handler(guarded(s.limited(s.routes())))
}

func newServer(c Config, shared *common) *server {
	s := &server{common: shared, live: c.Live, title: c.Title, word: strings.ToLower(c.Word), log: c.Log, prog: c.Program,
		voices: voicesOf(c.Live.Rules()), keyhole: newKeyhole(c.Owner, c.Live.Name()), keys: newBoxKeys(c.Keys), pace: c.Pace, carried: c.Carried}
	if s.pace == 0 {
		s.pace = framesEach
	}
	if s.title == "" {
		s.title = c.Live.Rules().Layout().Title
	}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	if s.prog == "" {
		s.prog = c.Live.Program()
	}
	return s
}

func (s *server) routes() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.door)
	mux.HandleFunc("GET /s/{sitting}/box/{box}", s.ofBox(s.box))
	mux.HandleFunc("GET /s/{sitting}/book/{box}", s.ofBox(s.bookOrPaper))
	mux.HandleFunc("GET /s/{sitting}/codes/{box}", s.ofBox(s.codes))
	mux.HandleFunc("GET /s/{sitting}/forms/{box}", s.ofBox(s.forms))
	mux.HandleFunc("POST /s/{sitting}/forms/{box}", s.ofBox(s.forms))
	mux.HandleFunc("GET /s/{sitting}/hand/{box}", s.ofBox(s.hand))
	mux.HandleFunc("POST /s/{sitting}/hand/{box}", s.ofBox(s.write))
	mux.HandleFunc("GET /s/{sitting}/advice/{box}", s.ofBox(s.advice))
	mux.HandleFunc("GET /s/{sitting}/findings", s.ofSitting(s.findings))
	mux.HandleFunc("GET /s/{sitting}/beside", s.ofSitting(s.beside))
	mux.HandleFunc("GET /s/{sitting}/evening", s.ofSitting(s.evening))
	mux.HandleFunc("GET /s/{sitting}/moment", s.ofSitting(s.moment))
	mux.HandleFunc("GET /s/{sitting}/graph", s.ofSitting(s.graph))
	mux.HandleFunc("GET /s/{sitting}/graph.svg", s.ofSitting(s.graphPicture))
	mux.HandleFunc("GET /s/{sitting}/paper/{box}", s.ofBox(s.hangs))
	mux.HandleFunc("GET /s/{sitting}/practice/{box}", s.ofBox(s.practice))
	mux.HandleFunc("POST /s/{sitting}/practice/{box}", s.ofBox(s.readPractice))
	if s.shelf != nil {
		mux.HandleFunc("GET /bookcase", s.bookcase)
		mux.HandleFunc("GET /bookcase/{file}", s.fromBookcase)
	}
	mux.HandleFunc("GET /s/{sitting}/two", s.ofSitting(s.two))
	mux.HandleFunc("GET /question", s.question)
	mux.HandleFunc("POST /question", s.answer)
	mux.HandleFunc("GET /lessons", s.lessons)
	mux.HandleFunc("POST /lessons/{no}", s.beginLesson)
	mux.HandleFunc("POST /lessons/sheet", s.sheetActs)
	mux.HandleFunc("GET /s/{sitting}/lesson/{box}", s.ofBox(s.lessonStands))
	mux.HandleFunc("GET /visitors", s.toVisitors)
	mux.HandleFunc("GET /s/{sitting}/visitors", s.ofSitting(s.visitors))
	mux.HandleFunc("GET /s/{sitting}/wire", s.ofSitting(s.wire))
	mux.HandleFunc("POST /s/{sitting}/duty/{box}", s.ofBox(s.duty))
	mux.HandleFunc("POST /s/{sitting}/read/{box}", s.ofBox(s.read))
	mux.HandleFunc("POST /s/{sitting}/relief/{box}", s.ofBox(s.relief))
	mux.HandleFunc("GET /s/{sitting}/key/{box}", s.ofBox(s.askBoxKey))
	mux.HandleFunc("POST /s/{sitting}/rule/{box}", s.ofBox(s.rule))
	mux.HandleFunc("POST /s/{sitting}/remark/{box}", s.ofBox(s.remark))
	mux.HandleFunc("GET /owner", s.askKey)
	mux.HandleFunc("POST /owner", s.takeKey)
	mux.HandleFunc("GET /s/{sitting}/owner", s.forOwner(s.owner))
	mux.HandleFunc("POST /s/{sitting}/owner", s.forOwner(s.ownerActs))
	mux.HandleFunc("GET /s/{sitting}/owner/learners", s.forOwner(s.learnersSheets))
	mux.HandleFunc("POST /s/{sitting}/owner/learners", s.forOwner(s.forgetsLearner))
	mux.HandleFunc("GET /sounds/", s.sound)
	mux.HandleFunc("GET /static/", s.static)
	mux.HandleFunc("GET /ok", s.ok)
	mux.HandleFunc("GET /words", s.words)
	mux.HandleFunc("GET /{word}", s.typed)
	return mux
}

// guarded sets the headers that keep a page to itself: nothing from elsewhere, in no frame, and no script but ours.
func guarded(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'self'; connect-src 'self' ws: wss:; frame-ancestors 'none'; "+
			"base-uri 'none'; form-action 'self'; object-src 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		next.ServeHTTP(w, r)
	})
}

// ofSitting lets through what concerns the sitting in hand.
func (s *server) ofSitting(next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if name := r.PathValue("sitting"); name != s.live.Name() {
			if b := s.school.find(name); b != nil {
				b.routes.ServeHTTP(w, r)
				return
			}
			http.Error(w, "That sitting is not being worked here. The door of the one that is: /", http.StatusNotFound)
			return
		}
		next(w, r)
	}
}

// ofBox lets through what concerns a box of the sitting in hand. A book may be asked for as .csv, .json or .pdf.
func (s *server) ofBox(next http.HandlerFunc) http.HandlerFunc {
	return s.ofSitting(func(w http.ResponseWriter, r *http.Request) {
		if _, ok := s.live.Rules().Box(boxOf(r)); !ok {
			http.Error(w, "There is no such box on this line. The boxes that there are stand on the door: /", http.StatusNotFound)
			return
		}
		next(w, r)
	})
}

// boxOf is the box that a path speaks of.
func boxOf(r *http.Request) block.BoxID {
	id, _, _ := strings.Cut(r.PathValue("box"), ".")
	return block.BoxID(id)
}

// typed leads who typed the word to the door.
func (s *server) typed(w http.ResponseWriter, r *http.Request) {
	if s.word == "" || strings.ToLower(r.PathValue("word")) != s.word {
		http.Error(w, "Nothing is kept under that word. The door is at /", http.StatusNotFound)
		return
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// toVisitors leads to the visitors' screen of the sitting in hand.
func (s *server) toVisitors(w http.ResponseWriter, r *http.Request) {
	http.Redirect(w, r, "/s/"+s.live.Name()+"/visitors", http.StatusSeeOther)
}

// ok says whether the sitting is being recorded.
func (s *server) ok(w http.ResponseWriter, _ *http.Request) {
	if err := s.live.Trouble(); err != nil {
		http.Error(w, wordsOf(s.live.Rules(), err).words, http.StatusServiceUnavailable)
		return
	}
	_, _ = w.Write([]byte("ok\n")) // who asked may be gone
}

// bookOrPaper gives the register of a box as a page, or as a file to take away.
func (s *server) bookOrPaper(w http.ResponseWriter, r *http.Request) {
	box := boxOf(r)
	switch _, form, _ := strings.Cut(r.PathValue("box"), "."); form {
	case "":
		s.book(w, r)
	case "json":
		p, err := s.live.Present(r.Context(), sitting.Seat{Box: box, As: sitting.LooksOn})
		if err != nil {
			s.unwell(w, err)
			return
		}
		s.json(w, http.StatusOK, p.Book)
	case "csv":
		b, err := register.Of(s.live.Rules(), box, s.live.Header().Began, s.live.Entries(r.Context()))
		if err != nil {
			s.unwell(w, err)
			return
		}
		w.Header().Set("Content-Type", "text/csv; charset=utf-8")
		w.Header().Set("Content-Disposition", `attachment; filename="`+s.live.Name()+"-"+string(box)+`.csv"`)
		if err := b.WriteCSV(w); err != nil {
			s.log.Warn("a book was not taken away whole", "box", box, "err", err)
		}
	case "pdf":
		s.printed(w, r, box)
	default:
		http.Error(w, "A book is given as .csv, .json or .pdf.", http.StatusNotFound)
	}
}

// unwell answers where the sitting cannot be read.
func (s *server) unwell(w http.ResponseWriter, err error) {
	s.log.Error("the sitting could not be read", "err", err)
	http.Error(w, wordsOf(s.live.Rules(), err).words, http.StatusServiceUnavailable)
}

func (s *server) json(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	if err := json.NewEncoder(w).Encode(v); err != nil {
		s.log.Warn("an answer was not taken away whole", "err", err)
	}
}

// duty signs a person on at a box. The ticket is given as JSON and as a cookie, so that a page loaded anew keeps its
// seat; a browser without script is led to the box. A tablet that has the box already is given its ticket again.
func (s *server) duty(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, sitting.FrameLimit)
	box := boxOf(r)
	seat := sitting.Seat{Box: box, As: sitting.Work, Ticket: s.kept(r, box)}
	page := strings.Contains(r.Header.Get("Accept"), "text/html")
	var err error
	if seat.Ticket == "" || !s.live.Holds(r.Context(), seat) {
		if !s.mayEnter(w, r, box, page) {
			return
		}
		seat, err = s.live.TakeDuty(r.Context(), box, strings.TrimSpace(r.FormValue("who")))
	}
	if err != nil {
		words := wordsOf(s.live.Rules(), err)
		status := http.StatusServiceUnavailable
		if errors.Is(err, sitting.ErrTaken) {
			status = http.StatusConflict
		}
		if page {
			http.Error(w, words.words, status)
			return
		}
		s.json(w, status, map[string]string{"why": words.why, "words": words.words})
		return
	}
	s.keepTicket(w, r, s.cookie(box), seat.Ticket)
	if page {
		http.Redirect(w, r, "/s/"+s.live.Name()+"/box/"+string(box), http.StatusSeeOther)
		return
	}
	s.json(w, http.StatusOK, map[string]string{"box": string(box), "as": string(sitting.Work), "ticket": seat.Ticket})
}

func (s *server) cookie(box block.BoxID) string { return "seat-" + s.live.Name() + "-" + string(box) }

// keepTicket has a browser keep a ticket.
func (s *server) keepTicket(w http.ResponseWriter, r *http.Request, name, ticket string) {
	http.SetCookie(w, &http.Cookie{Name: name, Value: ticket, Path: "/s/" + s.live.Name() + "/",
		HttpOnly: true, Secure: r.TLS != nil, SameSite: http.SameSiteStrictMode, MaxAge: 30 * 24 * 3600})
}

// kept is the ticket that a browser holds for a box.
func (s *server) kept(r *http.Request, box block.BoxID) string { return s.keptAt(r, s.cookie(box)) }

func (s *server) keptAt(r *http.Request, name string) string {
	if c, err := r.Cookie(name); err == nil {
		return c.Value
	}
	return ""
}
