package web

import (
	"strings"

	"taillamp/block"
)

// onlooker says in words for people who know nothing of signalling what the bells have said. Nobody is named but the
// boxes, and nothing is said of a line but what was signalled and by whom.
type onlooker struct {
	rules *block.Rules
	names map[block.BoxID]string
}

func newOnlooker(r *block.Rules) *onlooker { return &onlooker{r, shortNames(namesOf(r))} }

// says tells one signal as visitors are told it; empty where there is nothing to tell.
func (o *onlooker) says(s *block.Signal) string {
	me, him := o.names[s.By], o.names[o.other(s)]
	train := "the " + trainWords(o.means(s))
	if s.Sense == block.Answer {
		return o.answers(s, me, him, train)
	}
	if s.Sense != block.Own {
		return ""
	}
	switch {
	case s.Did == block.Called:
		return me + " calls " + him + ": are you listening?"
	case o.isTrain(s):
		return me + " asks " + him + ": may I send you " + train + "?"
	case s.Did == block.Entering || s.Key == "entering-section":
		return me + " tells " + him + ": the train is on its way to you."
	case s.Did == block.OutOf || s.Key == "out-of-section":
		return me + " tells " + him + ": your train has come, and it is complete."
	case s.Key == "obstruction-danger":
		return me + " tells " + him + ": stop everything, there is danger on the line!"
	case s.Did == block.Cancelled || s.Key == "cancelling":
		return me + " tells " + him + ": forget my last question, that train does not come now."
	}
	if means := o.means(s); means != "" {
		return me + " signals to " + him + ": " + first(means) + "."
	}
	return ""
}

// answers tells an answer.
func (o *onlooker) answers(s *block.Signal, me, him, train string) string {
	switch {
	case o.isTrain(s) && (s.Did == block.Accepted || s.Did == block.AcceptedW):
		return me + " answers " + him + ": yes, send " + train + "."
	case o.isTrain(s):
		return me + " repeats the question of " + him + "."
	case s.Did == block.Entering || s.Key == "entering-section":
		return me + " answers " + him + ": I know that it is coming."
	case s.Did == block.OutOf || s.Key == "out-of-section":
		return me + " answers " + him + ": thank you, noted."
	case s.Key == "obstruction-danger":
		return me + " answers " + him + ": everything is being stopped."
	case s.Key == "":
		return ""
	case s.Key == "call-attention":
		return me + " answers " + him + ": I am listening."
	}
	return me + " answers " + him + ": understood."
}

// other is the box at the other end of a signal's bells.
func (o *onlooker) other(s *block.Signal) block.BoxID {
	for _, c := range o.rules.Circuits() {
		if c.ID == s.Circuit {
			if c.Boxes[0] == s.By {
				return c.Boxes[1]
			}
			return c.Boxes[0]
		}
	}
	return ""
}

func (o *onlooker) code(circuit block.CircuitID, key block.CodeKey) (block.Code, bool) {
	for _, c := range o.rules.Circuits() {
		if c.ID == circuit {
			code, ok := c.Book.Key(key)
			if !ok {
				return block.Code{}, false
			}
			return code, true
		}
	}
	return block.Code{}, false
}

func (o *onlooker) isTrain(s *block.Signal) bool {
	c, ok := o.code(s.Circuit, s.Key)
	return ok && c.Train
}

func (o *onlooker) means(s *block.Signal) string {
	c, _ := o.code(s.Circuit, s.Key)
	return c.Means
}

// first is the first thing that a line of a code book says.
func first(means string) string {
	for _, end := range []string{";", ",", " or ", " that ", " with ", " in "} {
		means, _, _ = strings.Cut(means, end)
	}
	return means
}

// trainWords is a class of train as a visitor would call it.
func trainWords(means string) string {
	words := first(means)
	for _, itself := range []string{"engine", "bus", "stock", "train", "wagons", "trolley", "car"} {
		if strings.Contains(words, itself) {
			return words
		}
	}
	if words == "" {
		return "train"
	}
	return words + " train"
}
