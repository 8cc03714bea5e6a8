package web

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/block/review"
	"taillamp/web/sitting"
)

// Bookcase is where the kept sittings stand. It may be used by several goroutines.
type Bookcase interface {
	Names(ctx context.Context) ([]string, error)
	Look(ctx context.Context, name string) (sitting.Glance, error)
	Read(ctx context.Context, name string) (block.Header, iter.Seq2[block.Entry, error], error)
}

// spines remembers what was read of sittings that are over: they do not change any more.
type spines struct {
	mu   sync.Mutex
	read map[string]*spine
}

// spine is a kept sitting as it stands in the case.
type spine struct {
	Name, Title, Date, Length string
	Over                      bool
	Duty                      []string // boxes that had somebody on duty, with the names that were given
	Trains, Told, Wrong       int      // trains that ran; findings told only, and graver
	Spoilt                    string   // why it cannot be read to its end
	began                     time.Time
	words                     map[string]bool // by which it is found: trains, boxes, codes, names, in small letters
}

// casePage is the bookcase, or two of its sittings beside each other.
type casePage struct {
	Title, Asked string
	Spines       []*spine
	Beside       []*spine
}

// most is how many sittings the case shows at once, the newest.
const mostSpines = 100

// bookcase shows the kept sittings: /bookcase?find=3-1, and two of them beside each other: &with=a&with=b (F9).
func (s *server) bookcase(w http.ResponseWriter, r *http.Request) {
	page := casePage{Title: s.title, Asked: strings.TrimSpace(r.FormValue("find"))}
	names, err := s.shelf.Names(r.Context())
	if err != nil {
		s.unwell(w, err)
		return
	}
	for _, name := range names {
		p, err := s.spine(r.Context(), name)
		if err != nil {
			s.log.Warn("a kept sitting cannot be read", "name", name, "err", err)
			continue
		}
		if slices.Contains(r.URL.Query()["with"], name) && len(page.Beside) < 2 {
			page.Beside = append(page.Beside, p)
		}
		if p.has(page.Asked) {
			page.Spines = append(page.Spines, p)
		}
	}
	slices.SortStableFunc(page.Spines, func(a, b *spine) int { return b.began.Compare(a.began) })
	page.Spines = page.Spines[:min(len(page.Spines), mostSpines)]
	s.draw(w, "bookcase.html", page)
}

// fromBookcase gives a kept sitting to take away, as it is, or as its train graph: /bookcase/club-2026-11-26.svg.
func (s *server) fromBookcase(w http.ResponseWriter, r *http.Request) {
	name, form, _ := strings.Cut(r.PathValue("file"), ".")
	h, entries, err := s.shelf.Read(r.Context(), name)
	switch {
	case errors.Is(err, sitting.ErrNoSitting), errors.Is(err, sitting.ErrBadName):
		http.Error(w, "There is no such sitting in the bookcase: /bookcase shows those that there are.", http.StatusNotFound)
		return
	case err != nil:
		s.unwell(w, err)
		return
	}
	switch form {
	case "jsonl":
		text, sum, err := register.AppendHeader(nil, h)
		for e, bad := range entries {
			if err = errors.Join(err, bad); err != nil {
				break
			}
			text, sum, err = register.AppendEntry(text, sum, e)
		}
		if err != nil {
			s.unwell(w, err)
			return
		}
		w.Header().Set("Content-Type", "application/jsonl")
		w.Header().Set("Content-Disposition", `attachment; filename="`+name+`.jsonl"`)
		_, _ = w.Write(text) // who asked may be gone
	case "svg":
		rules, err := h.Rules()
		if err != nil {
			s.unwell(w, err)
			return
		}
		g, err := register.GraphOf(rules, h.Began, entries)
		if err != nil {
			s.unwell(w, err)
			return
		}
		w.Header().Set("Content-Type", "image/svg+xml")
		if err := g.WriteSVG(w); err != nil {
			s.log.Warn("a graph was not taken away whole", "err", err)
		}
	default:
		http.Error(w, "A sitting is given as .jsonl, its graph as .svg.", http.StatusNotFound)
	}
}

// spine reads a kept sitting, once if it is over.
func (s *server) spine(ctx context.Context, name string) (*spine, error) {
	s.spines.mu.Lock()
	defer s.spines.mu.Unlock()
	if p := s.spines.read[name]; p != nil {
		return p, nil
	}
	glance, err := s.shelf.Look(ctx, name)
	if err != nil {
		return nil, err
	}
	h, entries, err := s.shelf.Read(ctx, name)
	if err != nil {
		return nil, err
	}
	rules, err := h.Rules()
	if err != nil {
		return nil, err
	}
	p := spineOf(rules, h, name, entries)
	p.Over = glance.Over
	if p.Over {
		if s.spines.read == nil {
			s.spines.read = make(map[string]*spine)
		}
		s.spines.read[name] = p
	}
	return p, nil
}

// spineOf reads what stands on a spine.
func spineOf(rules *block.Rules, h block.Header, name string, entries iter.Seq2[block.Entry, error]) *spine {
	names := namesOf(rules)
	p := &spine{Name: name, Title: rules.Layout().Title, Date: h.Began.Format("Monday 2 January 2006, 15.04"), began: h.Began, words: map[string]bool{}}
	last := h.Began
	trains := make(map[block.TrainID]bool)
	duty := make(map[string]bool)
	seen := func(yield func(block.Entry, error) bool) {
		for e, err := range entries {
			if err == nil && e.Mark == "" {
				last = e.Event.At
				p.notes(e, names, trains, duty)
			}
			if !yield(e, err) {
				return
			}
		}
	}
	for f, err := range review.Of(rules, seen) {
		switch {
		case err != nil:
			p.Spoilt = "it can be read up to " + last.Format("15.04")
		case f.Severity == block.Tell:
			p.Told++
		default:
			p.Wrong++
		}
	}
	p.Trains = len(trains)
	p.Length = lengthWords(last.Sub(h.Began))
	return p
}

// notes takes from an entry what the sitting may be found by.
func (p *spine) notes(e block.Entry, names map[block.BoxID]string, trains map[block.TrainID]bool, duty map[string]bool) {
	find := func(words ...string) {
		for _, w := range words {
			p.words[strings.ToLower(w)] = true
		}
	}
	if e.Event.Do == block.Duty && !e.Event.Off && e.Outcome.Ending == block.Done {
		words := names[e.Event.By]
		find(string(e.Event.By), words)
		if e.Event.Words != "" {
			words += " (" + e.Event.Words + ")"
			find(strings.Fields(e.Event.Words)...)
		}
		if !duty[words] {
			duty[words] = true
			p.Duty = append(p.Duty, words)
		}
	}
	for _, c := range e.Outcome.Changes {
		if c.Train != nil && c.Train.Train != "" && !trains[c.Train.Train] {
			trains[c.Train.Train] = true
			find(string(c.Train.Train))
		}
		if c.Signal != nil && c.Signal.Key != "" {
			find(c.Signal.Beats.String())
		}
	}
}

// has tells whether a sitting is what was asked for: every word of it is one of its trains, boxes, codes or names, or
// stands in its title.
func (p *spine) has(asked string) bool {
	for _, w := range strings.Fields(strings.ToLower(asked)) {
		if !p.words[w] && !strings.Contains(strings.ToLower(p.Title+" "+p.Name), w) {
			return false
		}
	}
	return true
}

// lengthWords is how long a sitting lasted.
func lengthWords(d time.Duration) string {
	if d < time.Minute {
		return "less than a minute"
	}
	if d < time.Hour {
		return fmt.Sprintf("%d min", int(d.Minutes()))
	}
	return fmt.Sprintf("%d h %02d min", int(d.Hours()), int(d.Minutes())%60)
}
