package web

import (
	"bytes"
	"fmt"
	"html/template"
	"net/http"
	"time"

	"taillamp/block"
	"taillamp/block/register"
)

// graphPage is the sitting as a train graph, what delayed what, and the same trains as a table.
type graphPage struct {
	Title, Sitting string
	Picture        template.HTML   // our own drawing
	Chain          []string        // the longest chain of delays
	Beginnings     []beginningLine // the dearest
	Besides        string          // what all the others cost; empty: there are none
	Delays         []delayLine
	Trains         []trainLine
}

// dearest is how many delays that led to others are shown at once. Every delay stands below them, folded.
const dearest = 12

// beginningLine is a delay that led to others.
type beginningLine struct {
	Minutes int
	Trains  int
	Words   string
}

// delayLine is one spell that a train lost.
type delayLine struct {
	No    int
	Words string
	Led   int // the number of the one it goes back to; 0: none
}

// trainLine is a train as it ran.
type trainLine struct {
	Train, Class string
	Places       []placeTime
	Late         int
}

// placeTime is a train at a box: when it came and went, as booked and as worked.
type placeTime struct {
	Box                block.BoxID
	Name, Booked, Time string
	Bell               bool // the time is by the bell alone
}

// graphPicture gives the graph as a picture to keep.
func (s *server) graphPicture(w http.ResponseWriter, r *http.Request) {
	g, err := s.graphNow(r.Context())
	if err != nil {
		s.unwell(w, err)
		return
	}
	w.Header().Set("Content-Type", "image/svg+xml")
	w.Header().Set("Cache-Control", "no-store")
	if err := g.WriteSVG(w); err != nil {
		s.log.Debug("a graph was not taken away whole", "err", err)
	}
}

// graph shows the graph with its words.
func (s *server) graph(w http.ResponseWriter, r *http.Request) {
	g, err := s.graphNow(r.Context())
	if err != nil {
		s.unwell(w, err)
		return
	}
	var picture bytes.Buffer
	if err := g.WriteSVG(&picture); err != nil {
		s.unwell(w, err)
		return
	}
	s.draw(w, "graph.html", s.drawGraph(g, template.HTML(picture.String())))
}

func (s *server) drawGraph(g *register.Graph, picture template.HTML) graphPage {
	page := graphPage{Title: s.title, Sitting: s.live.Name(), Picture: picture}
	delays := g.Delays()
	page.Chain = g.Chain(delays)
	var rest int
	var lost time.Duration
	for n, b := range register.Beginnings(delays) {
		if n >= dearest {
			rest, lost = rest+1, lost+b.Own+b.Caused
			continue
		}
		page.Beginnings = append(page.Beginnings, beginningLine{Minutes: int((b.Own + b.Caused).Round(time.Minute).Minutes()),
			Trains: b.Trains, Words: g.Tell(delays[b.Delay])})
	}
	if rest > 0 {
		page.Besides = fmt.Sprintf("%d smaller ones cost %.0f minutes together; they stand under every delay.", rest, lost.Minutes())
	}
	for n, d := range delays {
		page.Delays = append(page.Delays, delayLine{No: n + 1, Words: g.Tell(d), Led: d.Led + 1})
	}
	half := register.Rounding(s.live.Rules().Layout().Settings.HalfMinutes)
	names := namesOf(s.live.Rules())
	for i := range g.Runs {
		run := &g.Runs[i]
		t := trainLine{Train: string(run.Train), Class: run.Class, Late: int(run.Late(len(run.Stops) - 1).Minutes())}
		for _, stop := range run.Stops {
			p := placeTime{Box: stop.Box, Name: names[stop.Box], Time: span(half, stop.Come.At, stop.Go.At),
				Bell: stop.Come.Known() && !stop.Come.Seen || !stop.Come.Known() && !stop.Go.Seen}
			for _, b := range run.Booked {
				if b.Box == stop.Box {
					p.Booked = span(half, b.Come, b.Go)
				}
			}
			t.Places = append(t.Places, p)
		}
		page.Trains = append(page.Trains, t)
	}
	return page
}

// span writes when a train came and went, once if that is the same.
func span(half register.Rounding, came, went time.Time) string {
	a, b := half.Full(came), half.Full(went)
	switch {
	case a == "" || a == b:
		return b
	case b == "":
		return a
	}
	return fmt.Sprintf("%s–%s", a, b)
}
