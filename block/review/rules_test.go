package review_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// ruleFiles are the evenings that each break one rule: testdata/rules/R13.notes, and R13b.notes where the rule has a
// lighter or graver half.
func ruleFiles(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("../../testdata/rules/*.notes")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	return files
}

// ruleOf is the rule that a file is about.
func ruleOf(file string) block.RuleID {
	return block.RuleID(strings.TrimRight(strings.TrimSuffix(filepath.Base(file), ".notes"), "abc"))
}

// Each file of testdata/rules breaks its rule, and no other that it does not ask for. Source: the rule's own line of the
// reference, absolute block 7 or other methods 2.10, 5.5 and 9.5, which stands in the file.
func TestEachRuleIsFoundAlone(t *testing.T) {
	for _, file := range ruleFiles(t) {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".notes"), func(t *testing.T) {
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			rule := ruleOf(file)
			require.True(t, slices.ContainsFunc(wantOf(t, string(text)).require, func(f string) bool {
				return strings.HasPrefix(f, string(rule)+" ")
			}), "the file of %s asks for %s", rule, rule)
			asAsked(t, file)
		})
	}
}

// Every rule that can occur has such a file; those that cannot say why in their own line (notWhen).
func TestEveryRuleThatCanOccurHasAFile(t *testing.T) {
	var have []block.RuleID
	for _, file := range ruleFiles(t) {
		have = append(have, ruleOf(file))
	}
	can, cannot := 0, 0
	for _, r := range block.AllRules() {
		switch {
		case r.Family == "terminus":
		case r.Checked == "never":
			cannot++
			assert.NotContains(t, have, r.ID)
			t.Logf("%s %s: %s", r.ID, r.Name, r.NotWhen)
		default:
			can++
			assert.Contains(t, have, r.ID, "no file breaks %s %s", r.ID, r.Name)
		}
	}
	t.Logf("%d rules can occur, %d cannot", can, cannot)
}
