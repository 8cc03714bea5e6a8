package block

import "embed"

//go:embed rules/right/*.notes
var rightFiles embed.FS

// RightWorking is a worked example, as notes, of what a rule asks for: what correct working would have been where it is
// found broken. It can be played without a finding. False: a rule that nothing checks has none.
func (r Rule) RightWorking() (string, bool) {
	if r.Right == "" {
		return "", false
	}
	text, err := rightFiles.ReadFile("rules/right/" + r.Right + ".notes")
	if err != nil {
		return "", false
	}
	return string(text), true
}
