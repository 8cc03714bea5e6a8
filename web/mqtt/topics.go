package mqtt

import (
	"strings"

	"taillamp/block"
)

// The last words of a topic but one: what is spoken of.
const (
	does   = "do"
	isAt   = "at"
	answer = "answer"
	bell   = "bell"
	needle = "needle"
	token  = "token"
	view   = "view"
)

// longestName is that of an instrument, in letters.
const longestName = 32

// plain tells whether a word can stand in a topic: small letters, digits and hyphens.
func plain(word string) bool {
	return word != "" && len(word) <= longestName && strings.Trim(word, "abcdefghijklmnopqrstuvwxyz0123456789-") == ""
}

// slug is a name as it stands in a topic.
func slug(name string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
			return r
		}
		return '-'
	}, strings.ToLower(name))
}

// topic is what is spoken of at a box.
func (w *Wires) topic(box block.BoxID, words ...string) string {
	return w.prefix + "/" + string(box) + "/" + strings.Join(words, "/")
}

// spokenBy reads a topic that an instrument speaks under: which box, whether an act or its coming and going, which
// instrument.
func spokenBy(prefix, topic string) (box block.BoxID, what, name string, ok bool) {
	parts := strings.Split(topic, "/")
	if len(parts) != 4 || parts[0] != prefix || parts[2] != does && parts[2] != isAt || !plain(parts[3]) {
		return "", "", "", false
	}
	return block.BoxID(parts[1]), parts[2], parts[3], true
}
