package block

import "strings"

// PutInFor begins the remark of nobody's that says which fault was put in for the signaller of a box to notice: "Put in for
// OS: R38 by UL".
const PutInFor = "Put in for "

// PutIn reads such a remark: for whom, what, and if it is a rule broken by order, which and by whom.
func PutIn(e Event) (box BoxID, what string, rule RuleID, by BoxID, ok bool) {
	if e.Do != Remark || e.By != "" {
		return "", "", "", "", false
	}
	rest, is := strings.CutPrefix(e.Words, PutInFor)
	id, what, both := strings.Cut(rest, ": ")
	if !is || !both {
		return "", "", "", "", false
	}
	if r, who, ordered := strings.Cut(what, " by "); ordered {
		rule, by = RuleID(r), BoxID(who)
	}
	return BoxID(id), what, rule, by, true
}
