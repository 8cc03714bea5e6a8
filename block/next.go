package block

import (
	"slices"
	"strings"
	"time"
)

// Advice is one act that a right signaller would do now, and why.
type Advice struct {
	Do      Do
	Circuit CircuitID
	Section SectionID
	Beats   Beats
	Key     CodeKey // what the code says
	Show    Aspect
	Train   TrainID
	Where   Place     // of a token, or of the pilotman
	Off     bool      // the opposite of the kind
	Held    bool      // the last beat is kept down: the release of a token. Hold is a second act
	Answers bool      // it answers what the other end rang
	Again   bool      // it was said before and met with silence
	Since   time.Time // from when it has been due; zero: not known
	Why     string    // for the person at the box, one sentence
}

// Event is the advised act, done by the box: a code as a whole.
func (a Advice) Event(by BoxID) Event {
	return Event{Do: a.Do, By: by, Circuit: a.Circuit, Section: a.Section, Beats: a.Beats, Show: a.Show, Train: a.Train,
		Where: a.Where, Off: a.Off}
}

// AskAgain is how long a right signaller waits for an answer before he rings again. Common practice, no source.
const AskAgain = 45 * time.Second

// OfferAgain is how long an offer may meet silence before it is repeated "at intervals" (regulation 4).
const OfferAgain = 2 * time.Minute

// Next says what a right signaller seeing v would do now, and why; several acts may be open, the most pressing first,
// and none may be. It is the only place where "what comes next" is written: simulated neighbours, coach and lessons all
// ask it. What stands on no instrument, v.Sends and v.Full, whoever asks must fill in.
func (r *Rules) Next(v View) []Advice {
	if !v.OnDuty || !v.Open || v.Paused {
		return nil
	}
	v = r.reaching(v)
	var all []Advice
	for i := range v.Shelf {
		n, ok := r.circuitNo[v.Shelf[i].Circuit]
		if !ok {
			continue
		}
		d := desk{r: r, v: &v, i: &v.Shelf[i], p: &r.circuits[n]}
		d.work()
		all = append(all, d.advice...)
	}
	slices.SortStableFunc(all, func(a, b Advice) int { return a.Pressing() - b.Pressing() })
	return all
}

// Pressing orders advice, the most pressing first: 0 a needle, for it ends an exchange; 1 train entering section, which
// is sent as the train goes; 2 answers; 3 what the box has to say of its own accord.
func (a Advice) Pressing() int {
	switch {
	case a.Do == Turn:
		return 0
	case a.Key == enteringSection && !a.Answers:
		return 1
	case a.Answers:
		return 2
	}
	return 3
}

// desk is one instrument as its signaller looks at it.
type desk struct {
	r      *Rules
	v      *View
	i      *Instrument
	p      *circuitPlan
	advice []Advice
}

func (d *desk) add(a Advice) {
	a.Circuit = d.i.Circuit
	if a.Beats != nil && a.Do == "" {
		a.Do = Rung
	}
	d.advice = append(d.advice, a)
}

// work brings the needles to agree with what has been said, takes what the other end says, then has its own say.
func (d *desk) work() {
	if withTokens(d.i.Method) {
		d.single()
		return
	}
	if d.i.Method == trackCircuitName {
		d.describes()
		return
	}
	if withStaff(d.i.Method) {
		d.onStaff()
		return
	}
	if d.i.Method == permissiveName {
		d.behind()
		return
	}
	d.needles()
	if d.entering() {
		return
	}
	if d.i.Called == d.i.To {
		d.add(Advice{Beats: Beats{1}, Key: callAttention, Answers: true, Since: d.i.CalledAt, Why: "He called attention: answer with one beat."})
		return
	}
	if d.answers() {
		return
	}
	if d.i.Has == d.i.To && d.v.At.Sub(d.i.HasSince) < AskAgain || d.waits() {
		return // he has the word; or he has not answered yet
	}
	if d.speaks(); len(d.advice) == 0 {
		d.saysOther()
	}
}

// answers repeats what the other end has rung, and tells whether there was anything.
func (d *desk) answers() bool {
	for _, w := range d.i.Waiting {
		if w.By == d.i.To {
			d.add(Advice{Beats: d.answer(w), Key: w.Key, Section: w.Section, Answers: true, Since: w.First, Why: "He rang " + w.Beats.String() + ", " + d.means(w.Key) + ": repeat it."})
			return true
		}
	}
	for _, w := range d.i.Offers {
		if w.By == d.i.To && w.Again {
			d.add(Advice{Beats: w.Beats, Key: w.Key, Section: w.Section, Train: w.Train, Answers: true, Since: w.First, Why: "The train is accepted already; he rings " + w.Beats.String() + ", " + d.means(w.Key) + ": repeat it."})
			return true
		}
		if w.By == d.i.To && d.mayAccept(w) && d.aheadAccepted(w) && d.clearAhead() {
			d.add(Advice{Beats: w.Beats, Key: w.Key, Section: w.Section, Train: w.Train, Answers: true, Since: w.First, Why: "He offers " + d.means(w.Key) + " and the line is clear to the clearing point: accept by exact repetition."})
			return true
		}
	}
	return false
}

// answer is the code that answers a signal.
func (d *desk) answer(w Pending) Beats {
	if c, ok := d.p.book.Key(w.Key); ok && c.Answer != "" && c.Answer != "repeat" {
		if a, ok := d.p.book.Key(CodeKey(c.Answer)); ok {
			return a.Beats
		}
	}
	return w.Beats
}

func (d *desk) means(k CodeKey) string {
	if c, ok := d.p.book.Key(k); ok {
		return c.Means
	}
	return string(k)
}

// mayAccept tells whether line clear may be given: nothing in the section or known to be, nothing in its way.
func (d *desk) mayAccept(w Pending) bool {
	if d.i.Method != absoluteName {
		return !slices.Contains(d.v.Full, w.Section)
	}
	l := d.line(w.Section)
	return l != nil && l.ToMe && (l.Standing == "OFF" || l.Standing == "OFW") && l.Shows == Blocked && l.Foul == "" &&
		len(l.Trains) == 0 && !slices.Contains(d.v.Full, l.Section) && !d.loadsMeet(w)
}

// loadsMeet tells whether an exceptional load is offered that may not pass the one on the other line.
func (d *desk) loadsMeet(w Pending) bool {
	for n := range d.i.Lines {
		l := &d.i.Lines[n]
		if s := base(l.Standing); l.Section == w.Section || s == "IDLE" || s == "OFF" || s == "OFW" {
			continue
		}
		if mine, his := loadOf(w.Key), loadOf(l.Key); mine > 0 && his > 0 && (mine > 1 || his > 1) {
			return true
		}
	}
	return false
}

func (d *desk) line(id SectionID) *LineView {
	for n := range d.i.Lines {
		if d.i.Lines[n].Section == id {
			return &d.i.Lines[n]
		}
	}
	return nil
}

func (d *desk) needles() {
	if d.i.Method != absoluteName {
		return
	}
	for n := range d.i.Lines {
		if d.i.Lines[n].ToMe {
			d.needle(&d.i.Lines[n])
		}
	}
}

// needle is the indicator of a line toward this box brought to agree with what the bells have said.
func (d *desk) needle(l *LineView) {
	turn := func(show Aspect, why string) {
		if l.Shows != show {
			d.add(Advice{Do: Turn, Section: l.Section, Show: show, Why: why})
		}
	}
	switch l.Standing {
	case "ACC", "ACW":
		turn(Clear, "The train is accepted: turn the indicator to line clear.")
	case "LINE", "DOUBT":
		turn(Occupied, "The train has entered the section: turn the indicator to train on line.")
	case "IDLE", "OFF":
		turn(Blocked, "The section is clear and nothing is accepted: turn the indicator back to line blocked.")
	default:
		if strings.Contains(l.Standing, "+bb") || strings.Contains(l.Standing, "+danger") {
			turn(Occupied, "The line is obstructed: keep the indicator at train on line.")
		}
	}
}

// waits tells whether this box has rung something that is not answered, and rings again if it has waited too long.
func (d *desk) waits() bool {
	if d.i.Called != "" && d.i.Called != d.i.To {
		if d.v.At.Sub(d.i.CalledAt) >= AskAgain {
			d.add(Advice{Beats: Beats{1}, Key: callAttention, Since: d.i.CalledAt.Add(AskAgain), Again: true, Why: "Your call was not answered: call attention again."})
		}
		return true
	}
	for _, w := range d.i.Waiting {
		if w.By == d.i.To {
			continue
		}
		if d.v.At.Sub(w.First) >= AskAgain {
			d.add(Advice{Beats: w.Beats, Key: w.Key, Section: w.Section, Since: w.First.Add(AskAgain), Again: true, Why: "Your signal was not repeated: give it again."})
		}
		return true
	}
	return false
}

// hasWord tells whether this box called attention, was answered no longer ago than an answer is good for, and has not
// said its say.
func (d *desk) hasWord() bool {
	return d.i.Has == d.v.Box && d.v.At.Sub(d.i.HasSince) <= d.r.attention
}

// entering is the 2 of a train that has gone: it is rung at once, whatever else is being said.
func (d *desk) entering() bool {
	if d.i.Method != absoluteName {
		return false
	}
	for n := range d.i.Lines {
		if l := &d.i.Lines[n]; !l.ToMe && l.Going && l.Standing != "IDLE" {
			d.says(l, enteringSection, "", "The train has passed your section signal: give train entering section.")
			return true
		}
	}
	return false
}

// speaks is what this box has to say of its own accord: out of section, then trains to offer.
func (d *desk) speaks() {
	if d.i.Method != absoluteName {
		return
	}
	for n := range d.i.Lines {
		l := &d.i.Lines[n]
		switch stands := base(l.Standing); {
		case l.ToMe && l.Out && stands == "LINE":
			d.says(l, outOfSection, "", "The train has passed complete with its tail lamp, beyond the clearing point: give train out of section.")
			return
		case !l.ToMe && l.Unasked && (stands == "ENT" || stands == "LINE"): // common practice, no source
			d.says(l, cancelling, "", "You gave train entering section for a train that was not accepted. If none has gone, cancel it.")
			return
		}
	}
	d.offers()
}

func base(standing string) string {
	b, _, _ := strings.Cut(standing, "+")
	return b
}

// offers is a train that is to go on by one of these lines.
func (d *desk) offers() {
	for _, s := range d.v.Sends {
		l := d.line(s.Section)
		if l == nil || l.ToMe || s.From.After(d.v.At) || d.i.Danger {
			continue
		}
		open := d.open(l)
		switch {
		case l.Standing == "IDLE" && l.Shows == Blocked:
		case open != nil && l.Standing == "OFF" && open.Beats.Equal(s.Beats) && d.v.At.Sub(open.First) >= OfferAgain:
		default:
			continue // the line is taken, or the offer has been made and meets silence
		}
		if !d.hasWord() {
			d.calls(l, "You have a train to offer: call attention.")
			d.repeats(open)
			return
		}
		key, _ := d.classOf(s.Beats)
		d.add(Advice{Beats: s.Beats, Key: key, Section: l.Section, Train: s.Train, Since: s.From, Again: open != nil, Why: "The section is clear: ask is line clear for " + d.means(key) + "."})
		return
	}
}

// repeats marks the call just advised as one for an offer that was made before.
func (d *desk) repeats(open *Pending) {
	if n := len(d.advice); n > 0 && open != nil {
		d.advice[n-1].Again = true
	}
}

// open is this box's own offer on a line, not answered yet.
func (d *desk) open(l *LineView) *Pending {
	for n := range d.i.Offers {
		if w := &d.i.Offers[n]; w.By != d.i.To && w.Section == l.Section {
			return w
		}
	}
	return nil
}

// classOf is the train class that a code speaks of on this circuit.
func (d *desk) classOf(b Beats) (CodeKey, bool) {
	for _, c := range d.p.byBeats[string(b)] {
		if c.Train {
			return c.Key, true
		}
	}
	return "", false
}

// says rings a signal, after calling attention if the book wants it and the word has not been given yet.
func (d *desk) says(l *LineView, key CodeKey, train TrainID, why string) {
	c, ok := d.p.book.Key(key)
	if !ok {
		return
	}
	if c.Attention && !d.hasWord() {
		d.calls(l, why+" Call attention first.")
		return
	}
	d.add(Advice{Beats: c.Beats, Key: key, Section: l.Section, Train: train, Why: why})
}

func (d *desk) calls(l *LineView, why string) {
	d.add(Advice{Beats: Beats{1}, Key: callAttention, Section: l.Section, Why: why})
}

// saysOther gives a signal that concerns no train.
func (d *desk) saysOther() {
	for _, s := range d.v.Says {
		if s.Circuit != d.i.Circuit || s.From.After(d.v.At) {
			continue
		}
		c, ok := d.p.book.Key(s.Key)
		if !ok {
			continue
		}
		if !d.hasWord() {
			d.add(Advice{Beats: Beats{1}, Key: callAttention, Since: s.From, Why: "You have " + c.Means + " to signal: call attention."})
		} else {
			d.add(Advice{Beats: c.Beats, Key: s.Key, Since: s.From, Why: "Give " + c.Means + "."})
		}
		return
	}
}
