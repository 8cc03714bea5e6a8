package web

import (
	"errors"
	"fmt"
	"strings"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/web/sitting"
)

// saying is what a person is told: a short word for the page's script and a sentence for the eye.
type saying struct{ why, words string }

// wordsOf puts an error of the sitting or of the rules into words.
func wordsOf(r *block.Rules, err error) saying {
	var differs *register.DiffersError
	if errors.As(err, &differs) {
		return saying{"differs", fmt.Sprintf("This sitting was recorded by other rules: entry %d comes out otherwise today. "+
			"It can be read, but not gone on with.", differs.Seq)}
	}
	var taken *sitting.TakenError
	if errors.As(err, &taken) && taken.Who != "" {
		return saying{"taken", "That box is worked by " + taken.Who + ", who must sign off before another can take it."}
	}
	var unsure *sitting.UnsureError
	if errors.As(err, &unsure) {
		return saying{"unsure", "The disk refused, and nobody knows whether that was recorded. The sitting is closed; stop the trains and treat the bells as failed."}
	}
	for _, s := range sayings() {
		if errors.Is(err, s.err) {
			return s.saying
		}
	}
	return saying{"cannot", "That could not be done, and nothing was recorded."}
}

type said struct {
	err error
	saying
}

func sayings() []said {
	return []said{
		{sitting.ErrStale, saying{"stale", "That came too late and was not passed on. Do it again if it is still right."}},
		{sitting.ErrForgotten, saying{"forgotten", "That was done before; what came of it stands in the book."}},
		{sitting.ErrWrongTicket, saying{"ticket", "This tablet does not have that box. Take duty at the door."}},
		{sitting.ErrTaken, saying{"taken", "That box has a signaller, who must sign off before another can take it."}},
		{sitting.ErrNotForSeat, saying{"looks-on", "This tablet looks on. To work the box, take duty at the door."}},
		{sitting.ErrAsItIs, saying{"as-it-is", "It is so already, or cannot be as things stand."}},
		{sitting.ErrNobodyOn, saying{"nobody-on", "Nobody has answered the telephone: there is nobody to hear it."}},
		{sitting.ErrNoAct, saying{"no-act", "A tablet cannot do that. Load the page anew."}},
		{sitting.ErrLostRecord, saying{"moved", "Not recorded: this sitting goes to another machine. Treat the bells as failed until the line is back."}},
		{sitting.ErrNotKept, saying{"not-recorded", "Not recorded: the disk refused. The sitting is closed; stop the trains and treat the bells as failed."}},
		{sitting.ErrOver, saying{"over", "The sitting is over. The books stay open for reading."}},
		{sitting.ErrStopped, saying{"stopped", "The program has been stopped. The bells are dead until it is started again."}},
		{sitting.ErrSlow, saying{"slow", "This tablet fell behind and begins again."}},
		{sitting.ErrTakenOver, saying{"taken-over", "The box was taken over on another tablet."}},
		{sitting.ErrRelieved, saying{"relieved", "You are relieved, and signed off in the book. Thank you."}},
		{sitting.ErrFreed, saying{"freed", "The owner has freed this box: this tablet no longer works it."}},
		{sitting.ErrBroken, saying{"broken", "A fault in the program has closed the sitting. Stop the trains and treat the bells as failed."}},
		{block.ErrNoSuchBox, saying{"no-box", "There is no such box on this line."}},
		{block.ErrNoSuchLine, saying{"no-line", "There is no such line between two boxes."}},
		{block.ErrNotYours, saying{"not-yours", "That instrument stands in another box."}},
		{block.ErrOffDuty, saying{"off-duty", "Nobody is on duty in this box. Take duty at the door."}},
		{block.ErrOnDuty, saying{"on-duty", "Somebody is on duty in that box already."}},
		{block.ErrCutOut, saying{"cut-out", "Those two boxes do not work with one another at present."}},
		{block.ErrNoTrain, saying{"no-train", "By the book that train is not there."}},
		{errNoTime, saying{"no-time", "Write a time of day such as 16.40 or 16:40."}},
		{errNoMinutes, saying{"no-minutes", "Write a number of minutes from 1 to 240."}},
		{errNoNumber, saying{"no-number", "Give the train a number or mark of its own, without spaces, such as 31."}},
		{sitting.ErrTimePast, saying{"time-past", "That time has passed. Write a later one, or leave it empty for now."}},
		{sitting.ErrNoCompany, saying{"no-company", "No simulated train is there to do it. Put a simulated signaller in first, or deal a card."}},
		{sitting.ErrUnderWay, saying{"under-way", "That train has been offered already: it is on its way, and stays in the sequence."}},
		{block.ErrThereIs, saying{"there-is", "A train of that number is in the sequence, or was: give it another."}},
		{block.ErrNoClass, saying{"no-class", "That class is in no code book where the train begins: choose another, or another train to run as."}},
		{block.ErrFormsAnother, saying{"forms-another", "Another train is formed of its stock: withdraw that one first."}},
		{block.ErrNoPilotman, saying{"no-pilotman", "The pilotman is not at this box, or has no form here yet."}},
		{block.ErrGivenUp, saying{"given-up", "That line is given up to the engineers already."}},
		{block.ErrNotGivenUp, saying{"not-given-up", "That line is not given up to the engineers."}},
		{block.ErrNoSwitch, saying{"no-switch", "This box has no closing switch."}},
		{block.ErrNoEntry, saying{"no-entry", "There is no such entry in this box's book."}},
		{block.ErrNoInstrument, saying{"no-instrument", "That line has no such instrument: it carries bells only."}},
		{block.ErrPaused, saying{"paused", "The evening is paused."}},
	}
}

// refusal says in words what in the apparatus refused.
func refusal(why block.Reason) string {
	switch why {
	case block.NoLineClear:
		return "The signal is locked: the indicator does not show line clear."
	case block.AlreadyUsed:
		return "The signal is locked: it has been pulled once for this line clear."
	case block.Sequence:
		return "The handle is locked: it turns only from blocked to clear, to occupied, and back."
	case block.TrainNotOut:
		return "The handle is held until the train has worked the treadle."
	case block.HomeNotOn:
		return "The handle is locked: the home signal must be put back to danger first."
	case block.BerthTaken:
		return "The handle is locked: a train stands at the home signal."
	case block.Collared:
		return "A reminder is on it. Take that off first."
	case block.NoRelease:
		return "The instrument is locked: the other end gives no release."
	case block.NoToken:
		return "The magazine is empty: no token can be drawn here."
	case block.TokenOut:
		return "The instrument is locked: a token of this section is out."
	case block.WrongEnd:
		return "This instrument takes a token from the other end only: it must go through, or be walked there."
	case block.NotDrawn:
		return "The signal is locked: no token is drawn here."
	case block.WrongToken:
		return "That token belongs to another section and does not fit."
	case block.NoStaff:
		return "The ticket box is locked: its key is the staff, and that is not here."
	case block.TicketBoxOpen:
		return "The staff is held in the lock: lock the ticket box first."
	case block.SwitchLocked:
		return "The closing switch is locked: a token or a train is out."
	case block.Failed:
		return "The instrument has failed."
	}
	return "The apparatus would not move."
}

// missedWords tells a tablet that was away what rang meanwhile, codes of the same meaning together.
func (s *server) missedWords(box block.BoxID, p *sitting.Present) string {
	if p.Unknown {
		return "unknown"
	}
	var all []string
	for i := 0; i < len(p.Missed); {
		n := 1
		for i+n < len(p.Missed) && p.Missed[i+n].By == p.Missed[i].By && p.Missed[i+n].Beats.Equal(p.Missed[i].Beats) {
			n++
		}
		all = append(all, s.missedOne(p.Missed[i+n-1], n))
		i += n
	}
	return strings.Join(all, "; ")
}

func (s *server) missedOne(h block.Heard, times int) string {
	name := string(h.By)
	if b, ok := s.live.Rules().Box(h.By); ok {
		name = b.Name
	}
	how := ""
	switch {
	case times == 2:
		how = " twice, the last time"
	case times > 2:
		how = fmt.Sprintf(" %d times, the last time", times)
	}
	half := register.Rounding(s.live.Rules().Layout().Settings.HalfMinutes)
	words := fmt.Sprintf("%s rang %s%s at %s", name, h.Beats, how, half.Full(s.live.District().At(h.First)))
	if means := s.means(h); means != "" && s.live.Rules().Layout().Settings.Meanings {
		words += ": " + means
	}
	return words
}

// means is what a code means, where the book leaves no doubt.
func (s *server) means(h block.Heard) string {
	if len(h.Keys) != 1 {
		return ""
	}
	for _, c := range s.live.Rules().Circuits() {
		if c.ID == h.Circuit {
			if code, ok := c.Book.Key(h.Keys[0]); ok {
				return code.Means
			}
		}
	}
	return ""
}
