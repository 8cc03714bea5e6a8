package web

import (
	"errors"
	"net/http"
	"strings"

	"taillamp/sim/lesson"
	"taillamp/web/sitting"
	"taillamp/web/syllabus"
)

// A learner's sheet is his who holds its key: a browser keeps it, and he may type it at another tablet. Only he and whoever
// leads the evening, by the owner's key, see what stands there.

// learnerCookie is where a browser keeps the key of a sheet.
const learnerCookie = "learner"

// sheetID is what the sheet of a key is filed under, however the key was typed.
func sheetID(key string) syllabus.ID { return syllabus.IDOf(plainKey(key)) }

// mySheet is what the ladder tells a learner of his own sheet.
type mySheet struct{ Name, Key string }

// tryRow is one try as it is read.
type tryRow struct {
	When, How string
	Shown     bool
	Said      []string
}

// sheetOf is the sheet of whoever asks, with its key. False: he has none.
func (s *server) sheetOf(r *http.Request) (key string, sheet syllabus.Sheet, has bool) {
	c, err := r.Cookie(learnerCookie)
	if err != nil {
		return "", sheet, false
	}
	sheet, has = s.learners.Of(sheetID(c.Value))
	return c.Value, sheet, has
}

// learns is who begins a lesson. Who has no sheet is given a key for one.
func (s *server) learns(w http.ResponseWriter, r *http.Request) syllabus.ID {
	key, _, has := s.sheetOf(r)
	if !has {
		key = sitting.NewKey()
		s.keepSheet(w, r, key)
	}
	return sheetID(key)
}

// keepSheet has a browser keep the key of a sheet, or, empty, let go of it.
func (s *server) keepSheet(w http.ResponseWriter, r *http.Request, key string) {
	c := &http.Cookie{Name: learnerCookie, Value: key, Path: "/lessons", HttpOnly: true, Secure: r.TLS != nil,
		SameSite: http.SameSiteStrictMode, MaxAge: 365 * 24 * 3600}
	if key == "" {
		c.MaxAge = -1
	}
	http.SetCookie(w, c)
}

// triesOn are the tries of one lesson, as they stand on a sheet.
func (s *server) triesOn(sheet syllabus.Sheet, no int) []tryRow {
	var rows []tryRow
	for _, t := range sheet.Of(no, false) {
		row := tryRow{When: t.Began.In(s.live.Header().Began.Location()).Format("2 January 2006, 15.04"), Shown: t.Shown, Said: t.Said}
		switch {
		case t.Ended.IsZero():
			row.How = "begun, and not ended"
		case t.Shown:
			row.How = "shown"
		default:
			row.How = "not yet"
		}
		rows = append(rows, row)
	}
	return rows
}

// sheetActs does what a learner asks for with his own sheet: do is name, take (the sheet that he has at another tablet),
// away (somebody else takes this tablet) or forget.
func (s *server) sheetActs(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, sitting.FrameLimit)
	key, _, has := s.sheetOf(r)
	do, id := r.PostFormValue("do"), sheetID(key)
	var err error
	switch {
	case do == "take":
		s.takesSheet(w, r)
		return
	case !has && do != "forget": // of one that is damaged something may be left
		err = syllabus.ErrNoSheet
	case do == "name":
		err = s.learners.Name(id, strings.TrimSpace(r.PostFormValue("name")))
	case do == "away":
		s.keepSheet(w, r, "")
	case do == "forget":
		if err = s.learners.Forget(id); err == nil {
			s.keepSheet(w, r, "")
		}
	default:
		err = sitting.ErrNoAct
	}
	if err != nil {
		s.sheetRefused(w, r, err)
		return
	}
	http.Redirect(w, r, "/lessons", http.StatusSeeOther)
}

// takesSheet has a browser keep the sheet whose key was typed.
func (s *server) takesSheet(w http.ResponseWriter, r *http.Request) {
	key := r.PostFormValue("key")
	opens, wait := s.wrongSheets.compare(machineOf(r), s.live.Now(), func() bool {
		_, has := s.learners.Of(sheetID(key))
		return has
	})
	switch {
	case wait:
		w.Header().Set("Retry-After", "60")
		s.refuse(w, r, http.StatusTooManyRequests, "Too many wrong keys came from here: wait a minute and try again.")
	case !opens:
		s.refuse(w, r, http.StatusForbidden, "No sheet has that key. It stands on the lessons' page of the tablet that has the sheet.")
	default:
		s.keepSheet(w, r, key)
		http.Redirect(w, r, "/lessons", http.StatusSeeOther)
	}
}

func (s *server) sheetRefused(w http.ResponseWriter, r *http.Request, err error) {
	switch {
	case errors.Is(err, syllabus.ErrNoSheet):
		s.refuse(w, r, http.StatusNotFound, "There is no such sheet: it may have been forgotten.")
	case errors.Is(err, syllabus.ErrLongName):
		s.refuse(w, r, http.StatusBadRequest, "A name has forty letters at most.")
	case errors.Is(err, sitting.ErrNoAct):
		s.refuse(w, r, http.StatusBadRequest, "A sheet can be named, taken, put away or forgotten.")
	default:
		s.log.Error("a learner's sheet could not be kept", "err", err)
		s.refuse(w, r, http.StatusServiceUnavailable, "The sheet could not be kept: the disk would not. It is as it was.")
	}
}

// learnersPage is every learner's sheet, for whoever leads the lessons.
type learnersPage struct {
	Title, Sitting string
	Learners       []learnerRow
}

type learnerRow struct {
	ID          syllabus.ID
	Name, Since string
	Lessons     []learnersLesson
}

type learnersLesson struct {
	No    int
	Title string
	Tries []tryRow
}

// learnersSheets shows them.
func (s *server) learnersSheets(w http.ResponseWriter, _ *http.Request) {
	all, err := lesson.All()
	if err != nil {
		s.unwell(w, err)
		return
	}
	page := learnersPage{Title: s.title, Sitting: s.live.Name()}
	for _, l := range s.learners.All() {
		row := learnerRow{ID: l.ID, Name: l.Name, Since: l.Since.In(s.live.Header().Began.Location()).Format("2 January 2006")}
		if row.Name == "" {
			row.Name = "A learner without a name"
		}
		for _, k := range all {
			row.Lessons = append(row.Lessons, learnersLesson{k.No, k.Title, s.triesOn(l.Sheet, k.No)})
		}
		page.Learners = append(page.Learners, row)
	}
	s.draw(w, "learners.html", page)
}

// forgetsLearner takes the sheet of a learner away, as he asked.
func (s *server) forgetsLearner(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, sitting.FrameLimit)
	if err := s.learners.Forget(syllabus.ID(r.PostFormValue("learner"))); err != nil {
		s.sheetRefused(w, r, err)
		return
	}
	http.Redirect(w, r, s.ownerPath()+"/learners", http.StatusSeeOther)
}
