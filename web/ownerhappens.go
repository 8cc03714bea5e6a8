package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"taillamp/block"
	"taillamp/web/sitting"
)

// ownerToCome is what the owner will have done in time, and what he may put in.
type ownerToCome struct {
	Planned []ownerPlan
	Awaited []ownerOrder
	Clocked bool // a time is one of the district's clock; else it is so many minutes from now
	Offers  []ownerOffers
}

// ownerPlan is one thing planned.
type ownerPlan struct {
	Seq         uint64
	Time, Words string
}

// ownerOrder is something ordered that waits for its train.
type ownerOrder struct {
	block.Happening
	Words string
}

// ownerOffers are things of one sort that may be put in.
type ownerOffers struct {
	Sort string
	All  []ownerOffer
}

type ownerOffer struct{ Value, Name string }

// errNoMinutes is a number of minutes that is none.
var errNoMinutes = fmt.Errorf("web: not a number of minutes")

// happeningNames are what the kinds of happening are called.
var happeningNames = map[block.Place]string{
	block.HotBox: "Hot box", block.Divided: "Divided train", block.FailedEngine: "Engine failure", block.TokenFails: "Token failure",
	block.FogFalls: "Fog", block.RunsLate: "Late running", block.Special: "Special train", block.LampLost: "Missing tail lamp",
	block.WrongClass: "Train wrongly described to the box", block.OutEarly: "Train out of section given too early to the box",
	block.OutInBlock: "Train out of section given while the box blocks back", block.NeedleSticks: "Needle that sticks",
}

func (s *server) ownerToCome(o *sitting.Oversight) ownerToCome {
	to := ownerToCome{Clocked: s.live.Rules().Layout().Clock.Kind != "none"}
	for _, p := range o.Planned {
		to.Planned = append(to.Planned, ownerPlan{p.Seq, clockAt(s.live, p.Due), s.planWords(p.Plan)})
	}
	for _, h := range o.Awaited {
		to.Awaited = append(to.Awaited, ownerOrder{h, s.happeningWords(h)})
	}
	to.Offers = s.offers(o)
	return to
}

// offers are the cards, the instruments and the happenings that may be put in.
func (s *server) offers(o *sitting.Oversight) []ownerOffers {
	var cards, fail, mend, line []ownerOffer
	for n, c := range s.live.Rules().Layout().DealtCards() {
		cards = append(cards, ownerOffer{"deal " + strconv.Itoa(n), c.Name})
	}
	names := namesOf(s.live.Rules())
	seen := make(map[sitting.Failure]bool)
	for _, b := range o.Boxes {
		for _, i := range s.instruments(b) {
			f := sitting.Failure{Circuit: i.Circuit, Where: i.Where}
			if seen[f] {
				continue
			}
			seen[f] = true
			value := " " + string(i.Circuit) + " " + string(i.Where)
			words := s.instrumentWords(f, names)
			fail = append(fail, ownerOffer{"fail" + value, words + " fails"})
			if i.Failed {
				mend = append(mend, ownerOffer{"mend" + value, words + " is mended"})
			}
		}
	}
	for _, does := range block.Happenings() {
		line = append(line, ownerOffer{"happen " + string(does), happeningNames[does]})
	}
	all := []ownerOffers{{"Cards", cards}}
	if o.Simulates {
		all = append(all, ownerOffers{"On the line, told to nobody", line})
	}
	all = append(all, ownerOffers{"Instruments", fail})
	if len(mend) > 0 {
		all = append(all, ownerOffers{"To mend", mend})
	}
	return all
}

// putsIn does what the form asks for, at once or at its time.
func (s *server) putsIn(r *http.Request) error {
	p, minutes, err := s.planAsked(r)
	if err != nil {
		return err
	}
	at := strings.TrimSpace(r.PostFormValue("at"))
	if at == "" {
		return s.putsInNow(r, p, minutes)
	}
	text := "in " + at + " minutes"
	if s.live.Rules().Layout().Clock.Kind != "none" {
		text = "at " + at
	}
	if p.When, err = block.ParseLater(text); err != nil {
		return errNoTime
	}
	if err := s.live.Plan(r.Context(), p); err != nil {
		return err
	}
	return s.plansMend(r, p, minutes, p.When)
}

// planAsked reads what the form asks for, but for its time, and for how many minutes: 0 if it does not say.
func (s *server) planAsked(r *http.Request) (p block.Plan, minutes int, err error) {
	if text := strings.TrimSpace(r.PostFormValue("minutes")); text != "" {
		if minutes, err = strconv.Atoi(text); err != nil || minutes < 1 || minutes > block.MostMinutes {
			return p, 0, errNoMinutes
		}
	}
	does, what, _ := strings.Cut(r.PostFormValue("what"), " ")
	p.Does, p.To = block.PlanDoes(does), block.BoxID(r.PostFormValue("box"))
	switch p.Does {
	case block.Deal:
		all := s.live.Rules().Layout().DealtCards()
		n, err := strconv.Atoi(what)
		if err != nil || n < 0 || n >= len(all) {
			return p, 0, sitting.ErrNoAct
		}
		p.Card = all[n].Name
	case block.Fail, block.Mend:
		n := strings.LastIndex(what, " ")
		if n < 0 {
			return p, 0, sitting.ErrNoAct
		}
		p.Circuit, p.Where = block.CircuitID(what[:n]), block.Place(what[n+1:])
	case block.Happen:
		p.What = block.Happening{Does: block.Place(what), At: p.To, Train: block.TrainID(strings.TrimSpace(r.PostFormValue("train"))), Minutes: minutes}
		if p.What.Does == block.FogFalls {
			p.What.At = ""
		}
	default:
		return p, 0, sitting.ErrNoAct
	}
	return p, minutes, nil
}

func (s *server) putsInNow(r *http.Request, p block.Plan, minutes int) error {
	switch p.Does {
	case block.Deal:
		all := s.live.Rules().Layout().DealtCards()
		n := slices.IndexFunc(all, func(c block.Card) bool { return c.Name == p.Card })
		return s.live.Deal(r.Context(), all[n], p.To)
	case block.Happen:
		return s.live.Happen(r.Context(), p.What)
	}
	if err := s.live.Fail(r.Context(), sitting.Failure{Circuit: p.Circuit, Where: p.Where}, p.Does == block.Mend); err != nil {
		return err
	}
	now := block.Later{At: secondOf(s.live.District().At(s.live.Now()))}
	return s.plansMend(r, p, minutes, now)
}

// plansMend plans that an instrument made to fail for so many minutes is mended then.
func (s *server) plansMend(r *http.Request, p block.Plan, minutes int, from block.Later) error {
	if p.Does != block.Fail || minutes == 0 {
		return nil
	}
	p.Does = block.Mend
	switch length := time.Duration(minutes) * time.Minute; {
	case s.live.Rules().Layout().Clock.Kind == "none":
		p.When = block.Later{In: from.In + length}
	default:
		p.When = block.Later{At: from.At + int(length/time.Second)}
	}
	return s.live.Plan(r.Context(), p)
}

// secondOf is the time of day in seconds after midnight.
func secondOf(t time.Time) int { return t.Hour()*3600 + t.Minute()*60 + t.Second() }

// planWords tell what is planned.
func (s *server) planWords(p block.Plan) string {
	names := namesOf(s.live.Rules())
	switch p.Does {
	case block.Deal:
		words := "Card: " + p.Card
		for _, c := range s.live.Rules().Layout().DealtCards() {
			if c.Name == p.Card && len(c.To) == 0 {
				words += ", for " + names[p.To]
			}
		}
		return words
	case block.Happen:
		return s.happeningWords(p.What)
	case block.Mend:
		return s.instrumentWords(sitting.Failure{Circuit: p.Circuit, Where: p.Where}, names) + " is mended"
	}
	return s.instrumentWords(sitting.Failure{Circuit: p.Circuit, Where: p.Where}, names) + " fails"
}

func (s *server) happeningWords(h block.Happening) string {
	words := happeningNames[h.Does]
	if h.Train != "" {
		words += fmt.Sprintf(", train %s", h.Train)
	}
	if h.At != "" {
		words += ", " + namesOf(s.live.Rules())[h.At]
	}
	if h.Minutes > 0 {
		words += fmt.Sprintf(", %d minutes", h.Minutes)
	}
	return words
}

// happensWords tell of something that the owner has ordered.
func (s *server) happensWords(e block.Event) string {
	h, _ := block.HappeningOf(e)
	if e.Off {
		return s.happeningWords(h) + ": no more"
	}
	return s.happeningWords(h) + ": the line does it"
}

// plansWords tell of a plan made, or taken off the list; did is what the owner did before. Of one that was done nothing is
// told here: what was done is.
func (s *server) plansWords(e block.Event, did []block.Entry) string {
	if !e.Off {
		p, _ := block.PlanOf(e)
		return "Planned " + p.When.String() + ": " + s.planWords(p)
	}
	what := "what was planned"
	for _, d := range did {
		if p, ok := block.PlanOf(d.Event); ok && d.Seq == e.Line {
			what = s.planWords(p)
		}
	}
	switch e.Words {
	case "done":
		return ""
	case "withdrawn":
		return "Withdrawn: " + what
	}
	return "Could not be done: " + what
}

// instrumentWords name an instrument: "Bell between Ullathwick and Ossenwaite Junction".
func (s *server) instrumentWords(f sitting.Failure, names map[block.BoxID]string) string {
	what := "Bell"
	for _, c := range s.live.Rules().Circuits() {
		if c.ID != f.Circuit {
			continue
		}
		switch {
		case f.Where == block.AtPhone:
			what = "Telephone"
		case f.Where == block.AtNeedle && block.WithTokens(c.Method):
			what = "Token instruments"
		case f.Where == block.AtNeedle:
			what = "Needles"
		}
		if c.Method != "absolute" && f.Where != block.AtPhone && len(c.Sections) > 0 {
			what += " of the " + c.Sections[0].Line
		}
	}
	ends := endsOf(s.live.Rules(), f.Circuit)
	return fmt.Sprintf("%s between %s and %s", what, names[ends[0]], names[ends[1]])
}
