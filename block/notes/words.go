package notes

import (
	"fmt"
	"strings"
)

// A word is one word of a line, or a text between quotation marks.
type word struct {
	text   string
	quoted bool
}

// split cuts a line into words and drops the comment. A text between quotation marks is one word, whatever is in it.
func split(line string) ([]word, error) {
	var out []word
	for rest := strings.TrimLeft(line, " \t\r"); rest != ""; rest = strings.TrimLeft(rest, " \t\r") {
		switch rest[0] {
		case '#':
			return out, nil
		case '"':
			end := strings.IndexByte(rest[1:], '"')
			if end < 0 {
				return nil, fmt.Errorf("a quotation mark is opened and not closed; close it with \"")
			}
			out = append(out, word{text: rest[1 : 1+end], quoted: true})
			rest = rest[end+2:]
		default:
			end := strings.IndexAny(rest, " \t\r#\"")
			if end < 0 {
				end = len(rest)
			}
			out = append(out, word{text: rest[:end]})
			rest = rest[end:]
		}
	}
	return out, nil
}

// join puts words together again, as one would write them.
func join(words []word) string {
	var b strings.Builder
	for i, w := range words {
		if i > 0 {
			b.WriteByte(' ')
		}
		if w.quoted {
			b.WriteString(`"` + w.text + `"`)
			continue
		}
		b.WriteString(w.text)
	}
	return b.String()
}

// form matches words against a pattern such as "OS turns UL clear". In the pattern a word in capitals takes any
// word and gives it its name; LINE and WORDS take one too; every other word must stand as it is.
type form struct {
	pattern []string
	make    func(p *parser, got map[string]word) error
}

func (f form) match(words []word) (map[string]word, bool) {
	if len(words) != len(f.pattern) {
		return nil, false
	}
	var got map[string]word
	for i, want := range f.pattern {
		if want == strings.ToUpper(want) && want[0] >= 'A' {
			if got == nil {
				got = make(map[string]word, 4)
			}
			got[want] = words[i]
			continue
		}
		if words[i].quoted || words[i].text != want {
			return nil, false
		}
	}
	return got, true
}
