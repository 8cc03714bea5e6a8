package block

// Ignoring gives the rules with the check of one rule switched off.
func Ignoring(r *Rules, id RuleID) *Rules {
	without := *r
	without.ignored = id
	return &without
}
