package block

// Severity is how grave an irregularity is, in three plain words.
type Severity string

// The three severities. Slowness is told and never counted as an error.
const (
	Tell      Severity = "told"      // courtesy, record, slowness
	Irregular Severity = "irregular" // a safeguard was left out
	Dangerous Severity = "dangerous" // two trains may meet, or one may run into an obstruction
)

// Rule is one line of the list of rules. Its name is also the name of the function that checks it.
type Rule struct {
	ID       RuleID   `toml:"id"`   // "R13", "TK-01"
	Name     string   `toml:"name"` // accepted-while-occupied
	Family   string   `toml:"-"`    // the data file it stands in: offering, accepting, …
	Severity Severity `toml:"severity"`
	Checked  string   `toml:"checked"` // act: here, by Step · later: by the reviewer · never: cannot occur here, NotWhen says why
	Says     string   `toml:"says"`    // one sentence a guest understands
	Instead  string   `toml:"instead"` // what correct working would have been
	Right    string   `toml:"right"`   // the worked example that shows it, see RightWorking
	NotWhen  string   `toml:"notWhen"` // the legal variation that must not trigger it
	Looks    string   `toml:"looks"`   // the evidence it needs
	Cite     string   `toml:"cite"`
	Grade    string   `toml:"grade"`
}
