package block

import (
	_ "embed"
	"slices"
	"strings"
)

//go:embed rules/sources.toml
var sourcesText []byte

// sources is the embedded list, read once; nobody changes it.
var sources = mustReadSources(sourcesText)

func mustReadSources(text []byte) []Source {
	var f struct {
		Sources []Source `toml:"source"`
	}
	if _, flaws := fill(text, &f); len(flaws) > 0 {
		panic("block: the embedded list of sources: " + flaws.Error())
	}
	return f.Sources
}

// AllSources lists the publications that codes, rules and settings cite.
func AllSources() []Source { return slices.Clone(sources) }

// FindSource returns the publication of that key.
func FindSource(key string) (Source, bool) {
	for _, s := range sources {
		if s.Key == key {
			return s, true
		}
	}
	return Source{}, false
}

// What a citation may begin with instead of the key of a publication.
var unsourced = []string{"from memory", "common practice, no source", "our own design"}

// citedKeys gives the keys of the publications in a citation such as "SB-3, BC-E; from memory: regulation". Parts
// are divided by semicolons; each begins with keys divided by commas, or with words that say there is none.
func citedKeys(cite string) []string {
	var keys []string
	for part := range strings.SplitSeq(cite, ";") {
		part = strings.TrimSpace(part)
		if slices.ContainsFunc(unsourced, func(u string) bool { return strings.HasPrefix(part, u) }) {
			continue
		}
		for item := range strings.SplitSeq(part, ",") {
			key, _, _ := strings.Cut(strings.TrimSpace(item), " ")
			keys = append(keys, strings.TrimSuffix(key, ":"))
		}
	}
	return keys
}
