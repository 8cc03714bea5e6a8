package block

import (
	"fmt"
	"slices"
	"strings"
)

// How the owner changes the sequence in the course of an evening: the Where of a Trains act.
const (
	Added     Place = "added"     // Words: a Slot, behind "like" the train whose run it has, and behind "is" its code if another
	Retimed   Place = "moved"     // Words: a Slot
	Withdrawn Place = "withdrawn" // it does not run
)

// like parts a slot from the train whose run is taken over, ofClass that from the code of a class of its own.
const (
	like    = " like "
	ofClass = " is "
)

// Slot is a place in the sequence: at a time at which a train leaves its first box, or next behind another train.
type Slot struct {
	At     int     // seconds after midnight, where Behind is empty
	Behind TrainID // next behind that train, and at its time if it has one
}

// String gives the slot as it stands in the record: "at 16.40", "behind 7".
func (p Slot) String() string {
	if p.Behind != "" {
		return "behind " + string(p.Behind)
	}
	return "at " + ClockText(p.At)
}

// ParseSlot reads "at 16.40" or "behind 7".
func ParseSlot(text string) (Slot, error) {
	word, rest, _ := strings.Cut(text, " ")
	switch rest = strings.TrimSpace(rest); {
	case word == "behind" && rest != "":
		return Slot{Behind: TrainID(rest)}, nil
	case word == "at":
		if at, ok := parseClock(rest); ok {
			return Slot{At: at}, nil
		}
	}
	return Slot{}, fmt.Errorf("%w: %q is no place in the sequence", ErrNoSense, text)
}

// AddTrain is the act of adding a train that runs as another does.
func AddTrain(train, as TrainID, to Slot) Event {
	return Event{Do: Trains, Where: Added, Train: train, Words: to.String() + like + string(as)}
}

// AddTrainOf is the act of adding a train of a class of its own, offered by that code, that runs as another does.
func AddTrainOf(train, as TrainID, code Beats, to Slot) Event {
	e := AddTrain(train, as, to)
	e.Words += ofClass + code.String()
	return e
}

// MoveTrain is the act of giving a train another place.
func MoveTrain(train TrainID, to Slot) Event {
	return Event{Do: Trains, Where: Retimed, Train: train, Words: to.String()}
}

// Withdraw is the act of taking a train out of the sequence.
func Withdraw(train TrainID) Event { return Event{Do: Trains, Where: Withdrawn, Train: train} }

// mostNumber is how long a train's number may be.
const mostNumber = 8

// Find gives a train of the sequence, one that was taken off included.
func (t *Timetable) Find(train TrainID) (Working, bool) {
	for _, list := range [][]Working{t.Workings, t.Off} {
		if i := find(list, train); i >= 0 {
			return list[i], true
		}
	}
	return Working{}, false
}

func find(list []Working, train TrainID) int {
	return slices.IndexFunc(list, func(w Working) bool { return w.Train == train })
}

// After gives the sequence as it stands after an event; t is not changed. Of an event that is no Trains act it is t.
// The error is ErrNoTrain, ErrThereIs, ErrFormsAnother, ErrNoClass or ErrNoSense.
func (t *Timetable) After(e Event) (*Timetable, error) {
	if e.Do != Trains {
		return t, nil
	}
	i := find(t.Workings, e.Train)
	next := &Timetable{Workings: slices.Clone(t.Workings), Off: t.Off, classes: t.classes}
	switch e.Where {
	case Withdrawn:
		if i < 0 {
			return nil, ErrNoTrain
		}
		if slices.ContainsFunc(t.Workings, func(w Working) bool { return w.StockOf == e.Train }) {
			return nil, ErrFormsAnother
		}
		w := t.Workings[i]
		w.Change, w.place = Withdrawn, i
		next.Workings = slices.Delete(next.Workings, i, i+1)
		next.Off = append(slices.Clip(t.Off), w)
		return next, nil
	case Retimed:
		if i < 0 {
			return nil, ErrNoTrain
		}
		w := t.Workings[i]
		next.Workings = slices.Delete(next.Workings, i, i+1)
		if w.Change != Added {
			w.Change = Retimed
		}
		return next, next.put(w, e.Words)
	case Added:
		slot, as, ok := strings.Cut(e.Words, like)
		as, code, other := strings.Cut(as, ofClass)
		n := find(t.Workings, TrainID(as))
		if _, is := t.Find(e.Train); is {
			return nil, ErrThereIs
		}
		if e.Train == "" || len(e.Train) > mostNumber || strings.ContainsAny(string(e.Train), " ,\"\n") || !ok {
			return nil, ErrNoSense
		}
		if n < 0 {
			return nil, ErrNoTrain
		}
		w := t.Workings[n]
		w.Train, w.Change, w.StockOf, w.row = e.Train, Added, "", 0
		if w.Note = ""; len(w.Calls) > 0 { // what has no times, a trolley, stays what it is called
			w.About = "special, runs as " + as
		}
		if other {
			c, ok := t.class(w.From, code)
			if !ok {
				return nil, ErrNoClass
			}
			w.Class, w.Code, w.Freight = c.Class, c.Beats, c.Freight
		}
		return next, next.put(w, slot)
	}
	return nil, ErrNoSense
}

// class is the train of that code in the books of the lines that leave a box.
func (t *Timetable) class(from BoxID, code string) (Code, bool) {
	i := slices.IndexFunc(t.classes[from], func(c Code) bool { return c.Beats.String() == code })
	if i < 0 {
		return Code{}, false
	}
	return t.classes[from][i], true
}

// Classes are the codes of trains in the books of the lines at a box, in their order.
func (t *Timetable) Classes(from BoxID) []Code { return t.classes[from] }

// withClasses gives the sequence with the classes that a train added to it may have.
func (r *Rules) withClasses(t *Timetable) *Timetable {
	t = &Timetable{Workings: t.Workings, Off: t.Off, classes: make(map[BoxID][]Code)}
	for _, c := range r.circuits {
		for _, n := range c.boxes {
			box := r.boxes[n].ID
			for _, code := range c.book.Codes {
				same := func(other Code) bool { return other.Beats.Equal(code.Beats) }
				if code.Train && !slices.ContainsFunc(t.classes[box], same) {
					t.classes[box] = append(t.classes[box], code)
				}
			}
		}
	}
	return t
}

// put places a train, its times moved with it.
func (t *Timetable) put(w Working, text string) error {
	slot, err := ParseSlot(text)
	if err != nil {
		return err
	}
	i, at := 0, slot.At
	if slot.Behind != "" {
		b := find(t.Workings, slot.Behind)
		if b < 0 {
			return ErrNoTrain
		}
		i, at = b+1, t.Workings[b].Starts()
	} else {
		for n := range t.Workings { // behind all that are no later: sort keeps a train without times there
			if s := t.Workings[n].Starts(); s != noTime && s <= at {
				i = n + 1
			}
		}
	}
	if s := w.Starts(); s != noTime && at != noTime {
		if w.Calls, err = shifted(w.Calls, at-s); err != nil {
			return err
		}
	}
	t.Workings = slices.Insert(t.Workings, i, w)
	t.sort()
	return nil
}

// Starts is when a train leaves its first box, in seconds after midnight; -1 without times.
func (w *Working) Starts() int {
	if len(w.Calls) == 0 {
		return noTime
	}
	return max(w.Calls[0].Depart, w.Calls[0].Pass)
}

// latest is the end of the district's day, as parseClock reads it.
const latest = 30 * 3600

// shifted gives a train's points so many seconds later.
func shifted(calls []PointTime, by int) ([]PointTime, error) {
	calls = slices.Clone(calls)
	for i := range calls {
		for _, at := range []*int{&calls[i].Arrive, &calls[i].Pass, &calls[i].Depart} {
			if *at == noTime {
				continue
			}
			if *at += by; *at < 0 || *at >= latest {
				return nil, fmt.Errorf("%w: the train would run outside the day", ErrNoSense)
			}
		}
	}
	return calls, nil
}

// Timetable is the sequence as it stands: as booked, and as the owner has changed it since.
func (s State) Timetable() *Timetable { return s.timetable }

// trains is the owner's change of the sequence.
func (a *act) trains() (err error) {
	if a.e.By != "" {
		return ErrNotYours
	}
	next, err := a.s.timetable.After(a.e)
	if err == nil {
		a.s.timetable = next
	}
	return err
}

// changed writes what of the sequence is no more as it was booked.
func (d *dump) changed(t *Timetable) {
	for n, w := range slices.Concat(t.Workings, t.Off) {
		if w.Change != "" {
			d.word(string(w.Change))
			d.word(string(w.Train))
			d.num(n)
			d.num(w.Starts())
		}
	}
}

// WithOff gives all trains in the order of the sequence, those that were taken off in the places that they had.
func (t *Timetable) WithOff() []Working {
	if len(t.Off) == 0 {
		return t.Workings
	}
	all := &Timetable{Workings: slices.Clone(t.Workings)}
	for _, w := range t.Off {
		all.Workings = slices.Insert(all.Workings, min(w.place, len(all.Workings)), w)
	}
	all.sort()
	return all.Workings
}
