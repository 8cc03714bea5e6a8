package block

import (
	"slices"
	"strconv"
	"strings"
)

// What may come to pass out of course because the owner has it so: the Where of a Happens act.
const (
	HotBox       Place = "hot-box"          // smoke is seen from a wagon after the train has passed At
	Divided      Place = "divided"          // its last vehicles have broken away in the section before At
	FailedEngine Place = "failed-engine"    // it stands in the section before At, its engine dead
	TokenFails   Place = "token-failure"    // the token instrument of At gives no release
	FogFalls     Place = "fog"              // everywhere; Minutes until fogsignalmen are out
	RunsLate     Place = "late"             // it is ready at its first box so many minutes late
	Special      Place = "special"          // one more train, which runs as Train does
	LampLost     Place = "no-lamp"          // it comes to At without its tail lamp
	WrongClass   Place = "wrong-class"      // a neighbour of At describes a train wrongly
	OutEarly     Place = "early-out"        // … gives train out of section before he has seen the tail lamp
	OutInBlock   Place = "out-blocked-back" // … gives train out of section while At blocks back to him
	NeedleSticks Place = "needle-sticks"    // a needle of At's does not follow its handle for a while
)

// Happenings are the kinds, in the order in which a page lists them.
func Happenings() []Place {
	return []Place{HotBox, Divided, FailedEngine, TokenFails, FogFalls, RunsLate, Special, LampLost, WrongClass, OutEarly, OutInBlock, NeedleSticks}
}

// Happening is something out of course, as the owner orders it. What it comes to, a Befalls act says.
type Happening struct {
	Does    Place   // its kind
	At      BoxID   // which box it concerns; empty: the kind needs none, or the train says it
	Train   TrainID // which train; empty: the next that fits
	Minutes int     // by the district's clock; 0: as long as the kind usually takes
}

// MostMinutes is the longest that anything ordered lasts.
const MostMinutes = 240

// Event is the act of ordering it.
func (h Happening) Event() Event {
	e := Event{Do: Happens, Where: h.Does, By: h.At, Train: h.Train}
	if h.Minutes > 0 {
		e.Words = strconv.Itoa(h.Minutes) + " minutes"
	}
	return e
}

// HappeningOf reads such an act. False: it is none.
func HappeningOf(e Event) (Happening, bool) {
	h := Happening{Does: e.Where, At: e.By, Train: e.Train}
	if e.Do != Happens || !slices.Contains(Happenings(), e.Where) {
		return Happening{}, false
	}
	if e.Words == "" {
		return h, true
	}
	n, ok := strings.CutSuffix(e.Words, " minutes")
	m, err := strconv.Atoi(n)
	h.Minutes = m
	return h, ok && err == nil && m > 0 && m <= MostMinutes
}

// needsBox tells whether the kind is nothing without a box.
func (h Happening) needsBox() bool {
	return h.Does != FogFalls && h.Train == "" || slices.Contains([]Place{HotBox, Divided, FailedEngine, TokenFails}, h.Does)
}

// happens is the owner's order, or what an order has come to. Neither changes anything on an instrument.
func (a *act) happens() error {
	h, ok := HappeningOf(a.e)
	if a.e.Do == Befalls {
		h, ok = Happening{Does: a.e.Where, At: a.e.By, Train: a.e.Train}, slices.Contains(Happenings(), a.e.Where)
	}
	if !ok {
		return ErrNoSense
	}
	return a.canHappen(h)
}

// canHappen tells whether there are the box and the train.
func (a *act) canHappen(h Happening) error {
	if a.e.Do != Befalls && h.At == "" && h.needsBox() {
		return ErrNoSense
	}
	if _, is := a.r.boxNo[h.At]; h.At != "" && !is {
		return ErrNoSuchBox
	}
	if h.Train != "" && a.s.timetable != nil {
		if _, is := a.s.timetable.Find(h.Train); !is {
			return ErrNoTrain
		}
	}
	return nil
}
