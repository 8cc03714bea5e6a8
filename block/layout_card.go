package block

import (
	"slices"
	"strings"
)

// Warning tells whether the box's card lets it accept a train of that class under regulation 5 from the box in rear.
// A trolley is never accepted otherwise.
func (b Box) Warning(from BoxID, c Code) bool {
	if c.Answer == string(warningCode) {
		return true
	}
	return slices.ContainsFunc(b.Authorise, func(s string) bool {
		a, ok := parseAuthority(s)
		return ok && a.warning && a.box == from && (a.all || c.Freight)
	})
}

// ForwardShunt tells whether 3-3-2 toward that box stands on the card.
func (b Box) ForwardShunt(toward BoxID) bool {
	return slices.ContainsFunc(b.Authorise, func(s string) bool {
		a, ok := parseAuthority(s)
		return ok && !a.warning && a.box == toward
	})
}

// authority is one line of a box's card.
type authority struct {
	warning bool // else a forward shunt
	box     BoxID
	all     bool // trains of every kind; else goods trains only
}

// parseAuthority reads "warning from UL", "warning from UL for all" and "forward shunt toward QU".
func parseAuthority(s string) (authority, bool) {
	w := strings.Fields(s)
	switch {
	case len(w) == 3 && w[0] == "warning" && w[1] == "from":
		return authority{warning: true, box: BoxID(w[2])}, true
	case len(w) == 5 && w[0] == "warning" && w[1] == "from" && w[3] == "for" && (w[4] == "goods" || w[4] == "all"):
		return authority{warning: true, box: BoxID(w[2]), all: w[4] == "all"}, true
	case len(w) == 4 && w[0] == "forward" && w[1] == "shunt" && w[2] == "toward":
		return authority{box: BoxID(w[3])}, true
	}
	return authority{}, false
}

// whileOut reads `while = "MI out"`: the box that must be switched out for these lines to be worked.
func (b Between) whileOut() (BoxID, bool) {
	id, ok := strings.CutSuffix(b.While, " out")
	return BoxID(id), ok && id != ""
}
