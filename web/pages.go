package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/block/review"
	"taillamp/web/sitting"
)

//go:embed pages/*.html
var pageFiles embed.FS

//go:embed static
var staticFiles embed.FS

// sheets are the templates of the pages, read once. The zero value is ready.
type sheets struct {
	once sync.Once
	all  *template.Template
	err  error
}

func (p *sheets) templates() (*template.Template, error) {
	p.once.Do(func() { p.all, p.err = template.ParseFS(pageFiles, "pages/*.html") })
	return p.all, p.err
}

// door shows the line and who is where.
func (s *server) door(w http.ResponseWriter, r *http.Request) {
	p, err := s.live.Present(r.Context(), sitting.Seat{As: sitting.Visiting})
	if err != nil {
		s.unwell(w, err)
		return
	}
	s.draw(w, "door.html", s.drawDoor(p.Door))
}

// box shows the block shelf of a box.
func (s *server) box(w http.ResponseWriter, r *http.Request) {
	if chooses(w, r) {
		return
	}
	box := boxOf(r)
	_, working := s.seatOf(r, box)
	p, err := s.live.Present(r.Context(), sitting.Seat{Box: box, As: sitting.LooksOn})
	if err != nil {
		s.unwell(w, err)
		return
	}
	as := sitting.LooksOn
	if working {
		as = sitting.Work
	} else if s.instructs(r) {
		as = sitting.Instructs
	}
	page := s.drawBox(p, as)
	page.Suits = suitsOf(r)
	page.ByHand = working && s.byHandAt(r, box)
	if page.Staffed && !working {
		page.Simulated = s.simulated(r.Context(), box)
		page.Standing = s.standing(p.View)
	}
	s.inTwo(w, r, &page)
	s.draw(w, "box.html", page)
}

// simulated tells whether a box is worked by a simulated signaller just now.
func (s *server) simulated(ctx context.Context, box block.BoxID) bool {
	p, err := s.live.Present(ctx, sitting.Seat{As: sitting.Visiting})
	return err == nil && slices.ContainsFunc(p.Door, func(d sitting.Staffing) bool { return d.Box == box && d.OnDuty && d.Simulated })
}

// book shows the register of a box, opened at its newest spread, at ?page=2 or where ?entry=17 stands. Who keeps it by hand
// is shown that instead.
func (s *server) book(w http.ResponseWriter, r *http.Request) {
	box := boxOf(r)
	if _, working := s.seatOf(r, box); working && s.byHandAt(r, box) {
		http.Redirect(w, r, "/s/"+s.live.Name()+"/hand/"+string(box), http.StatusSeeOther)
		return
	}
	p, err := s.live.Present(r.Context(), sitting.Seat{Box: box, As: sitting.BookLad})
	if err != nil {
		s.unwell(w, err)
		return
	}
	date := s.live.Header().Began.Format("Monday 2 January 2006")
	_, working := s.seatOf(r, box)
	if !working {
		_, working = s.keeperOf(r, box)
	}
	down, up := sidesOf(p.Book)
	of := spreadsOf(down, up)
	no, err := strconv.Atoi(r.FormValue("page"))
	if err != nil || no < 1 || no > of {
		no = of // the newest, unless another was asked for
	}
	if entry, err := strconv.ParseUint(r.FormValue("entry"), 10, 64); err == nil {
		if with := spreadWith(down, up, entry); with > 0 {
			no = with
		}
	}
	s.draw(w, "book.html", bookPage{Title: s.title, Name: namesOf(s.live.Rules())[box], Sitting: s.live.Name(), Box: box, Working: working, Instructs: !working && s.instructs(r),
		Seq: p.Seq, No: no, Of: of, Pages: spreadOf(s.live.Rules(), box, date, down, up, no)})
}

// findingsPage is what the review found, in order of time.
type findingsPage struct {
	Title, Who, Sitting string
	Findings            []findingCard
	PutIn               []putInLine
}

// putInLine is a fault that was put in for somebody to notice.
type putInLine struct {
	Time, Box, What string
	Noticed         bool
}

// findingCard is one finding, written out.
type findingCard struct {
	No  int
	Box string
	// Of the finding itself.
	BoxID                                                      block.BoxID
	Rule, Severity, Says, Instead, Cite, Grade, Train, Section string
	Notes                                                      string // right working, line by line
	Time                                                       string
	Evidence                                                   []uint64
	Cell                                                       uint64   // the entry of the box's book that it is about
	Answers                                                    []string // what the signaller of the box has said to it
	Mine                                                       bool     // the browser that asks works that box
}

// rightNotes is the worked example of what a rule asks for, without what stands there for the program.
func rightNotes(id block.RuleID) string {
	rule, _ := block.FindRule(id)
	text, _ := rule.RightWorking()
	var lines []string
	for _, l := range strings.Split(strings.TrimSpace(text), "\n") {
		if !strings.HasPrefix(l, "# source") {
			lines = append(lines, strings.TrimPrefix(l, "# Right working: "))
		}
	}
	return strings.Join(lines, "\n")
}

// findings reads the sitting as a reviewer does.
func (s *server) findings(w http.ResponseWriter, r *http.Request) {
	l := s.live
	page := findingsPage{Title: s.title, Sitting: l.Name(), Who: "what went against the regulations"}
	names := namesOf(l.Rules())
	half := register.Rounding(l.Rules().Layout().Settings.HalfMinutes)
	entries, err := l.Past(r.Context())
	if err != nil {
		s.unwell(w, err)
		return
	}
	put, err := review.PutInOf(l.Rules(), register.InOrder(entries))
	if err != nil {
		s.unwell(w, err)
		return
	}
	for _, p := range put {
		page.PutIn = append(page.PutIn, putInLine{half.Full(l.District().At(p.At)), names[p.Box], p.What, p.Noticed})
	}
	books := make(map[block.BoxID][]register.Line)
	answers := answersIn(entries)
	found, err := s.foundIn(entries)
	if err != nil {
		s.unwell(w, err)
		return
	}
	for _, f := range found {
		if _, read := books[f.Box]; !read {
			p, err := l.Present(r.Context(), sitting.Seat{Box: f.Box, As: sitting.LooksOn})
			if err != nil {
				s.unwell(w, err)
				return
			}
			books[f.Box] = p.Book
		}
		_, mine := s.seatOf(r, f.Box)
		key := answerKey(string(f.Rule), half.Full(l.District().At(f.At)))
		page.Findings = append(page.Findings, findingCard{Answers: answers[f.Box][key], Mine: mine, No: len(page.Findings) + 1, Box: names[f.Box], BoxID: f.Box,
			Rule: string(f.Rule), Severity: string(f.Severity), Says: f.Says, Instead: f.Instead, Cite: f.Cite, Grade: f.Grade, Notes: rightNotes(f.Rule),
			Train: string(f.Train), Section: string(f.Section), Time: half.Full(l.District().At(f.At)), Evidence: f.Evidence, Cell: cellOf(books[f.Box], f.Evidence)})
	}
	s.draw(w, "findings.html", page)
}

// cellOf is the entry of a book that evidence stands in, or that was written last before it: where the page is opened to
// show a finding. Zero: the book was still empty.
func cellOf(book []register.Line, evidence []uint64) uint64 {
	var last, before uint64
	for _, seq := range evidence {
		last = max(last, seq)
	}
	for _, l := range book {
		for _, c := range l.Cells {
			if slices.Contains(evidence, c.Seq) {
				return c.Seq
			}
			if c.Seq <= last {
				before = max(before, c.Seq)
			}
		}
	}
	return before
}

// draw writes a page, or nothing of it if the template fails.
func (s *server) draw(w http.ResponseWriter, name string, page any) {
	t, err := s.sheets.templates()
	var text bytes.Buffer
	if err == nil {
		err = t.ExecuteTemplate(&text, name, page)
	}
	if err != nil {
		s.log.Error("a page could not be drawn", "page", name, "err", err)
		http.Error(w, "This page could not be drawn.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	if _, err := w.Write(text.Bytes()); err != nil {
		s.log.Debug("a page was not taken away whole", "page", name, "err", err)
	}
}

// static serves the stylesheet, the scripts and the typeface.
func (s *server) static(w http.ResponseWriter, r *http.Request) {
	name := path.Clean(strings.TrimPrefix(r.URL.Path, "/"))
	text, err := fs.ReadFile(staticFiles, name)
	if err != nil {
		http.Error(w, "There is no such file here.", http.StatusNotFound)
		return
	}
	w.Header().Set("Content-Type", staticType(path.Ext(name)))
	w.Header().Set("Cache-Control", "no-cache")
	if strings.HasSuffix(name, ".woff2") {
		w.Header().Set("Cache-Control", "public, max-age=31536000")
	}
	sum := sha256.Sum256(text)
	tag := `"` + hex.EncodeToString(sum[:8]) + `"`
	w.Header().Set("ETag", tag) // so that a tablet asks, and is told it has it
	if strings.HasSuffix(name, ".woff2") {
		http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(text)) // it is compressed by itself
		return
	}
	send(w, r, text, func() []byte { return s.packed.file(tag, text) })
}

// staticType is the media type of a file by its ending. The machine's own list is not asked: it may not know .mjs.
func staticType(ext string) string {
	switch ext {
	case ".mjs":
		return "text/javascript; charset=utf-8"
	case ".css":
		return "text/css; charset=utf-8"
	case ".woff2":
		return "font/woff2"
	case ".svg":
		return "image/svg+xml"
	}
	return "text/plain; charset=utf-8"
}
