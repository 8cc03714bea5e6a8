package web

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/web/sitting"
)

// ownerPage is the whole line as its owner sees it.
type ownerPage struct {
	Title, Sitting, Paused string  // Paused: since when; empty: the evening goes on
	Speed                  float64 // of a scaled clock, while it is paused: at which it would go on; else 0
	Rows                   []ownerRow
	Did                    []ownerAct
	Simulates              bool
	Cards                  []ownerCard
	Sequence               ownerSequence
	ToCome                 ownerToCome
	Short                  []string // proposals for the boxes without a person
}

// ownerCard is one that may be dealt.
type ownerCard struct {
	No              int
	Name, Says, For string // For: the boxes that are told; empty: the owner chooses one
}

// deals deals a card, to the boxes that it names or to the one that was chosen.
func (s *server) deals(r *http.Request) error {
	all := s.live.Rules().Layout().DealtCards()
	no, err := strconv.Atoi(r.PostFormValue("card"))
	if err != nil || no < 0 || no >= len(all) {
		return sitting.ErrNoAct
	}
	return s.live.Deal(r.Context(), all[no], block.BoxID(r.PostFormValue("box")))
}

// ownerRow is one box.
type ownerRow struct {
	Box                   block.BoxID
	Name, Who, Ears, Wire string
	Deaf, Silent, Branch  bool
	Waits, Fitted         []string
	Free                  string // what freeing the box is called; empty: nobody is there
	Simulate              bool
	Tell                  bool   // there is a signaller to be told something
	Asks                  string // who asks for the box, and what for
	Instruments           []ownerInstrument
}

// ownerInstrument is what can be made to fail.
type ownerInstrument struct {
	Circuit block.CircuitID
	Where   block.Place
	Name    string
	Failed  bool
}

// ownerAct is one thing that the owner did.
type ownerAct struct{ Time, Words string }

// owner shows who is where, what every box waits for, and what the owner may do about it.
func (s *server) owner(w http.ResponseWriter, r *http.Request) {
	o, err := s.live.Oversee(r.Context())
	if err != nil {
		s.unwell(w, err)
		return
	}
	s.draw(w, "owner.html", s.drawOwner(o))
}

func (s *server) drawOwner(o *sitting.Oversight) ownerPage {
	page := ownerPage{Title: s.title, Sitting: s.live.Name(), Simulates: o.Simulates}
	if !o.Paused.IsZero() {
		page.Paused = clockAt(s.live, o.Paused)
		if s.live.Rules().Layout().Clock.Kind == "scaled" {
			page.Speed = s.live.District().Speed()
		}
	}
	for _, stop := range lineOf(s.live.Rules()) {
		at := slices.IndexFunc(o.Boxes, func(b sitting.Overseen) bool { return b.Box == stop.Box })
		if at >= 0 {
			row := s.ownerRow(o.Boxes[at])
			row.Branch = strings.HasPrefix(stop.Rails, "single")
			page.Rows = append(page.Rows, row)
		}
	}
	page.Short = s.shortHanded(o)
	page.Sequence = s.ownerSequence()
	page.ToCome = s.ownerToCome(o)
	names := shortNames(namesOf(s.live.Rules()))
	for n, c := range s.live.Rules().Layout().DealtCards() {
		card := ownerCard{No: n, Name: c.Name, Says: c.Says}
		for i, to := range c.To {
			if i > 0 {
				card.For += ", "
			}
			card.For += names[to]
		}
		page.Cards = append(page.Cards, card)
	}
	for _, e := range o.Did {
		if words := s.ownerDid(e.Event, o.Did); words != "" {
			page.Did = append(page.Did, ownerAct{clockAt(s.live, e.Event.At), words})
		}
	}
	return page
}

func (s *server) ownerRow(b sitting.Overseen) ownerRow {
	row := ownerRow{Box: b.Box, Name: b.Name, Simulate: b.Open && !b.Taken && !(b.OnDuty && b.Simulated)}
	since := register.Halves.Full(s.live.District().At(b.Since))
	switch {
	case !b.OnDuty && !b.Open:
		row.Who = "Switched out, nobody there"
	case !b.OnDuty:
		row.Who = "Nobody there"
	case b.Simulated:
		row.Who, row.Free = "A simulated signaller, since "+since, "Take him out"
	case b.Who != "":
		row.Who, row.Free = b.Who+", since "+since, "Free the box"
	default:
		row.Who, row.Free = "Somebody who gave no name, since "+since, "Free the box"
	}
	if b.OnDuty && !b.Simulated {
		row.Ears, row.Deaf = earWords(b.Ears), b.Ears != "heard"
		row.Wire, row.Silent = s.wireWords(b)
	}
	row.Tell = b.Taken
	if a := b.Asks; a != nil && !a.Allowed {
		row.Asks = "Somebody"
		if a.Who != "" {
			row.Asks = a.Who
		}
		if row.Asks += " asks to relieve him."; a.As == sitting.BookLad {
			row.Asks = strings.Replace(row.Asks, "relieve him", "keep the register", 1)
		}
	}
	if b.OnDuty && b.Wire == sitting.OffWire && s.live.Now().Sub(b.Silent) >= stranded {
		row.Fitted = append(row.Fitted, "Silent for a minute: wait, put a simulated signaller in, or free the box for another.")
	}
	if b.OnDuty {
		row.Waits = append(s.waits(b.View), b.Yard...)
	}
	row.Instruments = s.instruments(b)
	for _, i := range b.Fitted {
		row.Fitted = append(row.Fitted, fittedWords(i))
	}
	return row
}

// stranded is how long a tablet is silent until the owner is reminded what he may do. Nothing is done by itself.
const stranded = time.Minute

// wireWords tell how the tablet of a box stands with the program, and whether that is bad.
func (s *server) wireWords(b sitting.Overseen) (words string, bad bool) {
	switch b.Wire {
	case sitting.OnWire:
		words = "on the wire"
		if b.Far {
			words += ", from home"
		}
		if trip, bad := s.trips.words(b.Box); trip != "" {
			return words + ", " + trip, bad
		}
		return words, false
	case sitting.OffWire:
		return "tablet silent since " + clockAt(s.live, b.Silent), true
	case sitting.NeverCame:
		return "tablet not seen on the wire yet", true
	}
	return "no tablet", true
}

// waits are the signals that stand unanswered between a box and its neighbours, in words.
func (s *server) waits(v block.View) []string {
	var all []string
	for _, i := range v.Shelf {
		switch i.Called {
		case "":
		case v.Box:
			all = append(all, fmt.Sprintf("calls %s, unanswered since %s", i.Name, clockAt(s.live, i.CalledAt)))
		default:
			all = append(all, fmt.Sprintf("has a call from %s to answer, since %s", i.Name, clockAt(s.live, i.CalledAt)))
		}
		for _, p := range slices.Concat(i.Offers, i.Waiting) {
			code, since := s.codeMeans(i.Circuit, p), clockAt(s.live, p.First)
			if p.By == v.Box {
				all = append(all, fmt.Sprintf("waits for %s to answer “%s”, since %s", i.Name, code, since))
			} else {
				all = append(all, fmt.Sprintf("has not answered %s: “%s”, since %s", i.Name, code, since))
			}
		}
	}
	return all
}

// codeMeans is what a signal means, or its beats where the book does not say.
func (s *server) codeMeans(id block.CircuitID, p block.Pending) string {
	for _, c := range s.live.Rules().Circuits() {
		if c.ID == id {
			if code, ok := c.Book.Key(p.Key); ok && code.Means != "" {
				return code.Means
			}
		}
	}
	return p.Beats.String()
}

// instruments are those of a box that the owner can make fail: each bell, and the needles where there are any.
func (s *server) instruments(b sitting.Overseen) []ownerInstrument {
	var all []ownerInstrument
	add := func(i block.Instrument, where block.Place, name string) {
		f := sitting.Failure{Circuit: i.Circuit, Where: where}
		all = append(all, ownerInstrument{i.Circuit, where, name, slices.Contains(b.Failed, f)})
	}
	for _, i := range b.View.Shelf {
		to := i.Name
		if i.Method != "absolute" && len(i.Lines) > 0 {
			to += ", " + i.Lines[0].Line // between two boxes there may be more than one
		}
		add(i, block.AtBell, "Bell with "+to)
		if len(i.Lines) > 0 && (i.Method == "absolute" || i.Method == "permissive") {
			add(i, block.AtNeedle, "Needles with "+to)
		}
		if block.WithTokens(i.Method) {
			add(i, block.AtNeedle, "Token instruments with "+to)
		}
		if s.live.Rules().Layout().Settings.Telephone != "none" && !slices.ContainsFunc(all, func(o ownerInstrument) bool { return o.Name == "Telephone with "+i.Name }) {
			add(i, block.AtPhone, "Telephone with "+i.Name)
		}
	}
	return all
}

// ownerDid tells of one thing that the owner did; did is all of it. Empty: it is told otherwise.
func (s *server) ownerDid(e block.Event, did []block.Entry) string {
	names := namesOf(s.live.Rules())
	switch e.Do {
	case block.Duty:
		if e.Off {
			return names[e.By] + ": " + e.Words
		}
		return names[e.By] + ": a simulated signaller put in"
	case block.Fault:
		return s.faultWords(e, names)
	case block.Trains:
		return changeWords(e)
	case block.Happens:
		return s.happensWords(e)
	case block.Plans:
		return s.plansWords(e, did)
	case block.Pace:
		if e.Off {
			return "The evening paused"
		}
		if speed, ok := e.Speed(); ok {
			return fmt.Sprintf("The evening goes on, %g minutes of the layout in a real one", speed)
		}
		return "The evening goes on"
	case block.Remark:
		if strings.HasPrefix(e.Words, "To ") { // told to boxes
			return e.Words
		}
		return "Remark: " + e.Words
	}
	return string(e.Do)
}

func (s *server) faultWords(e block.Event, names map[block.BoxID]string) string {
	did := "made to fail"
	if e.Off {
		did = "mended"
	}
	return s.instrumentWords(sitting.Failure{Circuit: e.Circuit, Where: e.Where}, names) + " " + did
}

// ownerActs does what the owner asks for: one act, named by do.
func (s *server) ownerActs(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, sitting.FrameLimit)
	if err := s.ownersAct(r); err != nil {
		words := wordsOf(s.live.Rules(), err).words
		var taken *sitting.TakenError
		if errors.As(err, &taken) {
			words = "Somebody at a tablet has that box: free it first."
		}
		s.refuse(w, r, http.StatusConflict, words)
		return
	}
	s.done(w, r)
}

func (s *server) ownersAct(r *http.Request) error {
	ctx, box := r.Context(), block.BoxID(r.PostFormValue("box"))
	what := sitting.Failure{Circuit: block.CircuitID(r.PostFormValue("circuit")), Where: block.Place(r.PostFormValue("where"))}
	switch r.PostFormValue("do") {
	case "free":
		return s.live.Free(ctx, box)
	case "simulate":
		return s.live.Simulate(ctx, box, uint64(s.live.Now().UnixMilli()))
	case "deal":
		return s.deals(r)
	case "put":
		return s.putsIn(r)
	case "unplan":
		seq, err := strconv.ParseUint(r.PostFormValue("plan"), 10, 64)
		if err != nil {
			return sitting.ErrNoAct
		}
		return s.live.Unplan(ctx, seq)
	case "nomore":
		return s.live.NoMore(ctx, block.Happening{Does: block.Place(r.PostFormValue("does")), At: box, Train: block.TrainID(r.PostFormValue("train"))})
	case "tell":
		return s.live.Tell(ctx, []block.BoxID{box}, strings.TrimSpace(r.PostFormValue("words")))
	case "allow":
		return s.live.AllowByOwner(ctx, box, true)
	case "no":
		return s.live.AllowByOwner(ctx, box, false)
	case "fail":
		return s.live.Fail(ctx, what, false)
	case "mend":
		return s.live.Fail(ctx, what, true)
	case "add", "move", "withdraw":
		return s.resequence(r)
	case "pause":
		return s.live.Pause(ctx, true)
	case "go":
		if speed, err := strconv.ParseFloat(r.PostFormValue("speed"), 64); err == nil && speed != s.live.District().Speed() {
			return s.live.GoOn(ctx, speed)
		}
		return s.live.Pause(ctx, false)
	case "remark":
		return s.live.Note(ctx, strings.TrimSpace(r.PostFormValue("words")))
	}
	return sitting.ErrNoAct
}

// fittedWords tell how a real instrument of a box stands.
func fittedWords(i sitting.Instrument) string {
	words := "on the layout, " + i.Name + ": on the wire"
	if !i.On {
		words = "on the layout, " + i.Name + ": OFF THE WIRE"
	}
	if i.Says != "" {
		words += "; " + i.Says
	}
	return words
}
