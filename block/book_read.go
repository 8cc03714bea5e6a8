package block

import (
	"fmt"
	"regexp"
	"slices"

	"github.com/pelletier/go-toml/v2"
)

// bookFile is a code book as its file writes it.
type bookFile struct {
	Name    string   `toml:"name"`
	Title   string   `toml:"title"`
	Include []string `toml:"include,omitempty"` // embedded books whose signals come after this one's own
	Sources []Source `toml:"source,omitempty"`
	Codes   []Code   `toml:"code"`
}

func (c *Code) setDefaults() {
	c.Bearing, c.Attention, c.Answer = ToAdvance, true, "repeat"
}

// ReadCodeBook reads a code book. The error is of type Flaws and holds every flaw of the file. A book may
// include embedded ones; of a key that both have, its own row stands.
func ReadCodeBook(text []byte) (*CodeBook, error) {
	return readBook(text, nil)
}

// readBook reads a book; within names the books being read around it, so that none includes itself.
func readBook(text []byte, within []string) (*CodeBook, error) {
	var f bookFile
	lines, flaws := fill(text, &f)
	if lines.broken {
		return nil, flaws // nothing of it was understood
	}
	r := bookReader{lines: lines, flaws: flaws, marred: marred(flaws), book: &CodeBook{Name: f.Name, Title: f.Title, Codes: f.Codes, Sources: f.Sources}}
	r.checkHead(&f)
	r.include(f.Include, within)
	r.book.index()
	for i := range f.Codes {
		r.checkCode(i, &f.Codes[i])
	}
	if len(r.flaws) > 0 {
		return nil, r.flaws.orNil()
	}
	return r.book, nil
}

type bookReader struct {
	lines  tomlLines
	flaws  Flaws
	marred map[string]bool // tables with a key that is not understood: what they lack is not said again
	book   *CodeBook
}

func (r *bookReader) wrong(path, what, right string) {
	if !r.marred[path] {
		r.flaws.add(max(1, r.lines.line(path)), path, what, right) // what is missing is missing from the beginning
	}
}

// missing is wrong for something that is not there.
func (r *bookReader) missing(path, what, right string) {
	if !r.marred[outside(path)] {
		r.wrong(path, what, right)
	}
}

func (r *bookReader) checkHead(f *bookFile) {
	if f.Name == "" {
		r.missing("name", "the book has no name", `write name = "our-branch" at its top`)
	}
	if len(f.Codes) == 0 && len(f.Include) == 0 {
		r.missing("code", "the book has no codes", "begin each with [[code]]")
	}
	seen := make(map[CodeKey]bool)
	for i, c := range f.Codes {
		if seen[c.Key] && c.Key != "" {
			r.wrong(element("code", i)+".key", fmt.Sprintf("the key %s is there twice", c.Key), "give every code a key of its own")
		}
		seen[c.Key] = true
	}
}

// include takes up the signals of other books behind the book's own.
func (r *bookReader) include(names, within []string) {
	for i, name := range names {
		path := element("include", i)
		if slices.Contains(within, name) {
			r.wrong(path, "the book includes itself by way of "+name, "leave that name out")
			continue
		}
		b, err := embeddedBook(name, within)
		if err != nil {
			r.wrong(path, "no embedded book is called "+quoted(name), rightWord(name, append(BookNames(), parts...)))
			continue
		}
		for _, c := range b.Codes {
			if !slices.ContainsFunc(r.book.Codes, func(own Code) bool { return own.Key == c.Key }) {
				r.book.Codes = append(r.book.Codes, c)
			}
		}
	}
}

var keyForm = regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`)

func (r *bookReader) checkCode(i int, c *Code) {
	at := func(field string) string { return element("code", i) + "." + field }
	who := "the code " + string(c.Key)
	switch {
	case c.Key == "" && !r.said(at("key")):
		who = "this code"
		r.missing(at("key"), "the code has no key", `write key = "branch-passenger"`)
	case !keyForm.MatchString(string(c.Key)):
		r.wrong(at("key"), quoted(string(c.Key))+" is no key", "write small letters and hyphens, such as branch-passenger")
	}
	if c.Beats == nil && !r.said(at("beats")) {
		r.missing(at("beats"), who+" has no beats", `write beats = "3-1"`)
	}
	if c.Means == "" {
		r.missing(at("means"), who+" has no meaning", `write means = "ordinary passenger train"`)
	}
	switch c.Bearing {
	case ToAdvance, ToRear, EitherWay:
	default:
		r.wrong(at("bearing"), quoted(string(c.Bearing))+" is no bearing", "it is forward, back or both")
	}
	if _, ok := r.book.Key(CodeKey(c.Answer)); !ok && c.Answer != "repeat" && c.Answer != "none" {
		r.wrong(at("answer"), "no code of this book has the key "+quoted(c.Answer), "the answer is repeat, none or the key of another code")
	}
	r.checkGrade(at, c)
	r.checkClash(i, c)
}

// said tells whether the file has the key at all: a value of the wrong kind has its flaw already.
func (r *bookReader) said(path string) bool {
	_, ok := r.lines.at[path]
	return ok
}

func (r *bookReader) checkGrade(at func(string) string, c *Code) {
	switch c.Grade {
	case "S", "M", "P":
	case "":
		r.missing(at("grade"), "the code "+string(c.Key)+" has no grade", "write S for sourced, M for from memory or P for practice of our own")
	default:
		r.wrong(at("grade"), quoted(c.Grade)+" is no grade", "it is S for sourced, M for from memory or P for practice of our own")
	}
	if c.Cite == "" {
		r.missing(at("cite"), "the code "+string(c.Key)+" has no source", `name a publication, or write "from memory" or "common practice, no source"`)
		return
	}
	for _, key := range citedKeys(c.Cite) {
		if _, ok := r.source(key); !ok {
			r.wrong(at("cite"), "no publication has the key "+quoted(key), "add it to this book as [[source]] with key and publication")
		}
	}
	if c.Grade == "S" && len(citedKeys(c.Cite)) == 0 {
		r.wrong(at("grade"), "grade S says that a publication was read, and none is named", "name it in cite, or write grade M or P")
	}
}

func (r *bookReader) source(key string) (Source, bool) {
	if s, ok := FindSource(key); ok {
		return s, true
	}
	i := slices.IndexFunc(r.book.Sources, func(s Source) bool { return s.Key == key })
	if i < 0 {
		return Source{}, false
	}
	return r.book.Sources[i], true
}

// checkClash refuses two classes of train with the same beats: nobody could tell them apart.
func (r *bookReader) checkClash(i int, c *Code) {
	if !c.Train || c.Beats == nil {
		return
	}
	for j, other := range r.book.Codes {
		if i != j && other.Train && other.Beats.Equal(c.Beats) && (j < i || j >= len(r.book.Codes)) {
			r.wrong(element("code", i)+".beats", fmt.Sprintf("%s is rung for %s already", c.Beats, other.Key), "give one of the two other beats")
		}
	}
}

// Text is the book as a file that includes no other. ReadCodeBook gives an equal book back.
func (c *CodeBook) Text() []byte {
	text, err := toml.Marshal(bookFile{Name: c.Name, Title: c.Title, Sources: c.Sources, Codes: c.Codes})
	if err != nil {
		panic("block: a book that cannot be written: " + err.Error()) // no value of ours is unwritable
	}
	return text
}
