package web

import (
	"strings"

	"taillamp/block"
)

// A signaller answers a finding with a remark in his own book that begins with its rule and time: "Of R38 at 15.42½: ". It
// takes no finding away; both are kept, and both are exported with the sitting (E8).

// answerKey is how such a remark begins.
func answerKey(rule, at string) string { return "Of " + rule + " at " + at + ": " }

// answersIn are the answers that stand in the books, by box and by how they begin.
func answersIn(entries []block.Entry) map[block.BoxID]map[string][]string {
	all := make(map[block.BoxID]map[string][]string)
	for i := range entries {
		e := &entries[i]
		if e.Event.Do != block.Remark || e.Event.By == "" || !strings.HasPrefix(e.Event.Words, "Of ") {
			continue
		}
		begins, words, is := strings.Cut(e.Event.Words, ": ")
		if !is {
			continue
		}
		if all[e.Event.By] == nil {
			all[e.Event.By] = make(map[string][]string)
		}
		all[e.Event.By][begins+": "] = append(all[e.Event.By][begins+": "], words)
	}
	return all
}
