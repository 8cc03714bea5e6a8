package web

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"net/http"
	"slices"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"taillamp/block"
	"taillamp/sim/lesson"
	"taillamp/web/sitting"
	"taillamp/web/syllabus"
)

// school holds the lessons that are being taken. Each is a small sitting of its own beside the one in hand, kept in
// memory only: nothing of it reaches another box or the evening's record.
type school struct {
	of    *server
	host  *sitting.Host
	mu    sync.Mutex
	no    int
	bench []*bench // oldest first
}

// bench is one lesson that is being taken.
type bench struct {
	lesson  *lesson.Lesson
	live    *sitting.Live
	routes  http.Handler
	learner syllabus.ID
	noted   atomic.Bool // on his sheet stands how it ended
}

// benches is how many lessons may be taken at a time: twice as many as a class has learners (H5 asks for twenty).
const benches = 40

var errSchoolFull = errors.New("every bench is taken: wait until somebody has ended his lesson")

func newSchool(s *server) *school {
	return &school{of: s, host: sitting.NewHost(sitting.NewMemory(), sitting.NewRealClock(), s.prog)}
}

// find is the bench of a sitting's name, nil if there is none.
func (c *school) find(name string) *bench {
	if c == nil {
		return nil
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if at := slices.IndexFunc(c.bench, func(b *bench) bool { return b.live.Name() == name }); at >= 0 {
		return c.bench[at]
	}
	return nil
}

// begin opens a bench for a lesson, its neighbours at work, and notes on the learner's sheet that he takes it.
func (c *school) begin(ctx context.Context, l *lesson.Lesson, learner syllabus.ID) (*bench, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if err := c.makeRoom(ctx); err != nil {
		return nil, err
	}
	c.no++
	h := l.Header()
	h.Seed = rand.Uint64()
	live, err := c.host.Open(ctx, fmt.Sprintf("lesson-%d-%d", l.No, c.no), h)
	if err != nil {
		return nil, err
	}
	o := l.Options()
	o.Seed = h.Seed
	if err := live.Teach(ctx, o, append([]block.BoxID{l.Box}, l.Also...)); err != nil {
		return nil, err
	}
	s := newServer(Config{Live: live, Title: fmt.Sprintf("Lesson %d", l.No), Program: c.of.prog, Log: c.of.log}, c.of.common)
	b := &bench{lesson: l, live: live, learner: learner}
	s.bench, b.routes = b, s.routes()
	c.bench = append(c.bench, b)
	if err := c.of.learners.Begin(learner, l.No, live.Header().Began); err != nil { // the lesson is good without
		c.of.log.Warn("a lesson does not stand on its learner's sheet", "lesson", l.No, "err", err)
	}
	return b, nil
}

// judge tells how its lesson stands.
func (b *bench) judge(ctx context.Context) (lesson.Verdict, error) {
	return b.lesson.Judge(b.live.Header().Began, b.live.Entries(ctx))
}

// notes writes on the learner's sheet how a lesson ended, once it has.
func (s *server) notes(b *bench, v lesson.Verdict) {
	if !v.Over || b.noted.Swap(true) {
		return
	}
	err := s.learners.End(b.learner, syllabus.Try{Lesson: b.lesson.No, Began: b.live.Header().Began, Ended: v.At, Shown: v.Passed, Said: v.Words})
	if err != nil && !errors.Is(err, syllabus.ErrNoSheet) { // he may have been forgotten meanwhile
		s.log.Warn("how a lesson ended does not stand on its learner's sheet", "lesson", b.lesson.No, "err", err)
	}
}

// tooOld is how long a lesson may last before its bench is given to somebody else.
const tooOld = 2 * time.Hour

// makeRoom ends the lessons that are over: those that have lasted too long.
func (c *school) makeRoom(ctx context.Context) error {
	for len(c.bench) > 0 && (len(c.bench) >= benches || time.Since(c.bench[0].live.Header().Began) > tooOld) {
		if len(c.bench) >= benches && time.Since(c.bench[0].live.Header().Began) < tooOld/4 {
			return errSchoolFull
		}
		if v, err := c.bench[0].judge(ctx); err == nil {
			c.of.notes(c.bench[0], v)
		}
		if err := c.bench[0].live.End(ctx); err != nil {
			return err
		}
		c.bench = c.bench[1:]
	}
	return nil
}

// lessonsPage is the ladder of lessons as a printed syllabus.
type lessonsPage struct {
	Title   string
	Mine    *mySheet // nil: he has none yet
	Lessons []lessonRow
}

type lessonRow struct {
	*lesson.Lesson
	Stands []ruleRow // the rules that it stands on
	Tries  []tryRow  // as they stand on his sheet
}

// ruleRow is a rule with what is known of its source (G13).
type ruleRow struct{ ID, Instead, Known string }

// lessons shows what can be learnt.
func (s *server) lessons(w http.ResponseWriter, r *http.Request) {
	all, err := lesson.All()
	if err != nil {
		s.unwell(w, err)
		return
	}
	key, sheet, has := s.sheetOf(r)
	page := lessonsPage{Title: s.title}
	if has {
		page.Mine = &mySheet{Name: sheet.Name, Key: key}
	}
	for _, l := range all {
		row := lessonRow{Lesson: l, Tries: s.triesOn(sheet, l.No)}
		for _, id := range l.Rules {
			if r, ok := block.FindRule(id); ok {
				row.Stands = append(row.Stands, ruleRow{string(id), r.Instead, knownWords(r.Grade)})
			}
		}
		page.Lessons = append(page.Lessons, row)
	}
	s.draw(w, "lessons.html", page)
}

// knownWords say how well a rule is known.
func knownWords(grade string) string {
	switch grade {
	case "S":
		return "from a printed source"
	case "M":
		return "from memory"
	}
	return "common practice, no source"
}

// beginLesson opens a bench and says where it is. A browser without script is led there.
func (s *server) beginLesson(w http.ResponseWriter, r *http.Request) {
	no, err := strconv.Atoi(r.PathValue("no"))
	if err != nil {
		http.Error(w, "Lessons have numbers: /lessons lists them.", http.StatusNotFound)
		return
	}
	l, err := lesson.Find(no)
	if err != nil {
		http.Error(w, "There is no such lesson: /lessons lists those that there are.", http.StatusNotFound)
		return
	}
	b, err := s.school.begin(r.Context(), l, s.learns(w, r))
	switch {
	case errors.Is(err, errSchoolFull):
		http.Error(w, "Every bench is taken. Wait until somebody has ended a lesson.", http.StatusServiceUnavailable)
	case err != nil:
		s.unwell(w, err)
	default:
		s.json(w, http.StatusOK, map[string]string{"sitting": b.live.Name(), "box": string(l.Box)})
	}
}

// lessonNow is how a lesson stands, for the slip on the learner's shelf.
type lessonNow struct {
	lesson.Verdict
	Orders []string `json:"orders"`
	Next   int      `json:"next,omitempty"` // the lesson after this one; 0: this is the last
}

// lessonStands tells how far the learner is. Nothing is recorded by asking.
func (s *server) lessonStands(w http.ResponseWriter, r *http.Request) {
	if s.bench == nil {
		http.Error(w, "No lesson is being taken here: /lessons lists those that there are.", http.StatusNotFound)
		return
	}
	v, err := s.bench.judge(r.Context())
	if err != nil {
		s.unwell(w, err)
		return
	}
	s.notes(s.bench, v)
	now := lessonNow{Verdict: v}
	if now.Orders, err = s.live.Orders(r.Context(), boxOf(r)); err != nil {
		s.unwell(w, err)
		return
	}
	next := s.bench.lesson.No + 1
	if _, err := lesson.Find(next); err == nil {
		now.Next = next
	}
	s.json(w, http.StatusOK, now)
}
