package block

import "time"

// How long what is done without bells takes, when the instruments of a single line have failed. Common practice, no source.
const (
	pilotFound  = 15 * time.Minute // from the failure found to the pilotman's form at the end that found it
	pilotWalks  = 10 * time.Minute // for him to come to the other end on foot
	pilotWanted = 10 * time.Minute // for which a train waits before he is sent for
)

// pilotman is what his working asks of a box at a single line whose instruments have failed, and tells whether there was
// anything: his form, his going with the train accepted, his coming back for one that waits, his form withdrawn.
func (d *desk) pilotman(l *LineView) bool {
	m, failed := d.i.Pilot, l.Token.Failed
	act := func(where Place, off bool, train TrainID, due time.Time, why string) bool {
		if d.v.At.Before(due) {
			return false
		}
		d.add(Advice{Do: Pilot, Where: where, Off: off, Section: l.Section, Train: train, Since: due, Why: why})
		return true
	}
	switch {
	case m == nil && failed.IsZero():
		return false
	case m == nil && d.signsFirst(l) || m != nil && !m.Form && !failed.IsZero():
		due := failed.Add(pilotFound)
		if m != nil {
			due = due.Add(pilotWalks)
		}
		return act(Form, false, "", due, "The instruments give no release: sign the pilotman's form (Book, then Forms).")
	case m == nil:
		return false
	case failed.IsZero() && m.Form && !m.Riding && (base(l.Standing) == "IDLE" || !m.Far): // or he never came to the other end
		return act(Form, true, "", d.v.At, "The instruments are in order again: withdraw the pilotman's form.")
	case m.Form && m.Far && m.Here && l.Token.Mine && base(l.Standing) == "ACC":
		return act(Rides, false, l.Train, d.v.At, "The train is accepted: let the pilotman go with it.")
	case m.Form && m.Far && !m.Here && !m.Riding && base(l.Standing) == "IDLE":
		for _, s := range d.v.Sends {
			if s.Section == l.Section {
				return act(Comes, false, "", s.From.Add(pilotWanted), "Your train waits and the pilotman is at the other end: send for him.")
			}
		}
	}
	return false
}

// signsFirst tells whether the form is brought to this end first: he ends at the one from which a train is to go.
func (d *desk) signsFirst(l *LineView) bool {
	if base(l.Standing) == "ACC" {
		return !l.Token.Mine
	}
	return d.i.Side == "down"
}

// mayOffer tells whether a train can be given what it must have to go: a token, or the pilotman once both ends have his
// form.
func (d *desk) mayOffer(l *LineView) bool {
	if m := d.i.Pilot; m != nil {
		return m.Form && m.Far && m.Here
	}
	return l.Token.Failed.IsZero()
}
