package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"taillamp/block"
)

// runRules prints every rule that a signaller can break: all, one by its id, or those whose text has some words.
func runRules(_ context.Context, args []string, std stdio) int {
	fs := newFlags("rules")
	asJSON := fs.Bool("json", false, "")
	asNotes := fs.Bool("notes", false, "")
	rest, err := parse(fs, args, 0, 99)
	if err != nil {
		return complain(std, err)
	}
	rules := askedRules(rest)
	if len(rules) == 0 && len(rest) > 0 {
		return complain(std, bad("no rule answers to %q", strings.Join(rest, " ")))
	}
	w := &errWriter{w: std.Out}
	if *asNotes {
		return showNotes(std, rules)
	}
	var cites []string
	for _, r := range rules {
		if *asJSON {
			writeJSON(w, ruleOf(r))
			continue
		}
		showRule(w, r)
		cites = append(cites, r.Cite)
	}
	showSources(w, cites, nil)
	if w.err != nil {
		return complain(std, w.err)
	}
	return exitGood
}

// showNotes writes the right working of one rule as notes, ready for taillamp play.
func showNotes(std stdio, rules []block.Rule) int {
	if len(rules) != 1 {
		return complain(std, misuse("write one rule, such as taillamp rules R38 --notes", "rules: --notes is for one rule, not for %d", len(rules)))
	}
	text, ok := rules[0].RightWorking()
	if !ok {
		return complain(std, bad("%s is not checked by this program, so it has no notes", rules[0].ID))
	}
	if _, err := io.WriteString(std.Out, text); err != nil {
		return complain(std, err)
	}
	return exitGood
}

func askedRules(asked []string) []block.Rule {
	if len(asked) == 1 {
		if r, ok := block.FindRule(block.RuleID(strings.ToUpper(asked[0]))); ok {
			return []block.Rule{r}
		}
	}
	var found []block.Rule
	for _, r := range block.AllRules() {
		if hasWords(strings.Join([]string{r.Name, r.Family, string(r.Severity), r.Says, r.Instead}, " "), asked) {
			found = append(found, r)
		}
	}
	return found
}

// showRule writes one rule for people.
func showRule(w io.Writer, r block.Rule) {
	fmt.Fprintf(w, "%s  %s, %s\n", pad(string(r.ID), 5), strings.ReplaceAll(r.Name, "-", " "), r.Severity)
	for _, part := range []struct{ label, text string }{
		{"", r.Says}, {"Right: ", r.Instead}, {"But not when: ", r.NotWhen}, {"Found: ", found(r.Checked)},
		{"Source: ", source(r.Cite, r.Grade)},
	} {
		if part.text == "" {
			continue
		}
		for _, l := range wrap(part.label+part.text, codesWidth-7) {
			fmt.Fprintf(w, "       %s\n", l)
		}
	}
	fmt.Fprintln(w)
}

// found says when a rule's breach is found.
func found(checked string) string {
	return map[string]string{"act": "at the moment of the act", "later": "by the review afterwards", "never": "not by this program"}[checked]
}

// ruleJSON is a line of `rules --json`.
type ruleJSON struct {
	ID       block.RuleID   `json:"id"`
	Name     string         `json:"name"`
	Family   string         `json:"family"`
	Severity block.Severity `json:"severity"`
	Checked  string         `json:"checked"`
	Says     string         `json:"says"`
	Instead  string         `json:"instead"`
	NotWhen  string         `json:"notWhen,omitempty"`
	Looks    string         `json:"looks,omitempty"`
	Cite     string         `json:"cite"`
	Grade    string         `json:"grade"`
}

func ruleOf(r block.Rule) ruleJSON {
	return ruleJSON{ID: r.ID, Name: r.Name, Family: r.Family, Severity: r.Severity, Checked: r.Checked, Says: r.Says,
		Instead: r.Instead, NotWhen: r.NotWhen, Looks: r.Looks, Cite: r.Cite, Grade: r.Grade}
}
