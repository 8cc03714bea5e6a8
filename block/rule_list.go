package block

import (
	"embed"
	"slices"
)

//go:embed rules/*.toml
var ruleFiles embed.FS

// ruleFamilies are the data files of the rules, in the order in which lists print them.
var ruleFamilies = []string{
	"bells", "offering", "accepting", "needle", "entering", "out", "cancelling", "blocking", "emergencies", "duty",
	"switching", "pilotman", "fog", "failures", "token", "staff", "trackcircuit", "permissive", "terminus", "close",
}

// rules is the embedded list, read once; nobody changes it.
var rules = mustReadRules(ruleFamilies)

func mustReadRules(families []string) []Rule {
	var all []Rule
	for _, family := range families {
		text, err := ruleFiles.ReadFile("rules/" + family + ".toml")
		if err != nil {
			panic("block: the embedded rules " + family + ": " + err.Error())
		}
		var f struct {
			Rules []Rule `toml:"rule"`
		}
		if _, flaws := fill(text, &f); len(flaws) > 0 {
			panic("block: the embedded rules " + family + ": " + flaws.Error())
		}
		for _, r := range f.Rules {
			r.Family = family
			all = append(all, r)
		}
	}
	return all
}

// AllRules lists every rule, family by family.
func AllRules() []Rule { return slices.Clone(rules) }

// FindRule returns the rule of that id.
func FindRule(id RuleID) (Rule, bool) {
	for _, r := range rules {
		if r.ID == id {
			return r, true
		}
	}
	return Rule{}, false
}
