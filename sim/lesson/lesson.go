package lesson

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"

	"taillamp/block"
	"taillamp/sim"
)

//go:embed lessons/*.toml districts/*.toml
var files embed.FS

// Lesson is one step of the ladder: one new idea.
type Lesson struct {
	No       int            `toml:"no"`
	Title    string         `toml:"title"`
	Teaches  string         `toml:"teaches"`  // the new idea, one sentence
	Notice   []string       `toml:"notice"`   // what is to be done, in order
	District string         `toml:"district"` // a file of districts, or an embedded layout
	Starts   string         `toml:"starts"`   // of an embedded layout's own sequence: the trains from that time on, "17.55"
	Box      block.BoxID    `toml:"box"`      // the learner's
	Also     []block.BoxID  `toml:"also"`     // further boxes that he works
	Mine     []Hand         `toml:"mine"`     // what the learner does; an old hand does the rest
	Rules    []block.RuleID `toml:"rules"`    // what the lesson stands on
	Mistake  Mistake        `toml:"mistake"`  // the one that the lesson is about
	Wants    []Want         `toml:"want"`
	Trains   []Train        `toml:"train"`
	Tasks    []Task         `toml:"task"`

	header block.Header
	rules  *block.Rules
}

// Want is something that must be shown so often, and never be done wrong.
type Want struct {
	What   Skill  `toml:"what"`
	Count  int    `toml:"count"`
	Within int    `toml:"within"` // seconds; 0: no limit
	Words  string `toml:"words"`  // "calls answered within 10 seconds"
}

// Mistake is what a learner does who has not understood: a rule broken, an act left undone, or roads counted wrongly.
type Mistake struct {
	Rule      block.RuleID `toml:"rule"`
	Leaves    Hand         `toml:"leaves"`
	Miscounts bool         `toml:"miscounts"` // believes that his yard has more roads than it has
}

// Train is one train of the lesson. Calls are its boxes in running order, each with its time, or its times of coming
// and going, and before them the line if it is not the main line: "OS Up Goods Loop 10.05 10.12".
type Train struct {
	No      string   `toml:"no"`
	Code    string   `toml:"code"`
	About   string   `toml:"about"`
	Freight bool     `toml:"freight"`
	MPH     float64  `toml:"mph"`
	Stock   string   `toml:"stock"` // the number of the train whose stock forms this one
	Calls   []string `toml:"calls"`
}

// Task is something that happens besides trains; see sim.Task.
type Task struct {
	Kind  sim.TaskKind `toml:"kind"`
	From  block.BoxID  `toml:"from"`
	After int          `toml:"after"` // seconds
}

// All are the lessons of the ladder, in order. They are read anew: a program that teaches nobody pays nothing.
func All() ([]*Lesson, error) {
	names, err := files.ReadDir("lessons")
	if err != nil {
		return nil, err
	}
	var all []*Lesson
	for _, f := range names {
		text, err := files.ReadFile("lessons/" + f.Name())
		if err != nil {
			return nil, err
		}
		l, err := Read(text)
		if err != nil {
			return nil, fmt.Errorf("lessons/%s: %w", f.Name(), err)
		}
		all = append(all, l)
	}
	slices.SortFunc(all, func(a, b *Lesson) int { return a.No - b.No })
	return all, nil
}

// Find is the lesson of that number.
func Find(no int) (*Lesson, error) {
	all, err := All()
	if err != nil {
		return nil, err
	}
	for _, l := range all {
		if l.No == no {
			return l, nil
		}
	}
	return nil, fmt.Errorf("there is no lesson %d; there are 1 to %d", no, len(all))
}

// Read reads one lesson. The error says in one sentence where and what is wrong, and what would be right.
func Read(text []byte) (*Lesson, error) {
	var l Lesson
	d := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields()
	if err := d.Decode(&l); err != nil {
		return nil, tomlError(err)
	}
	if err := l.prepare(); err != nil {
		return nil, err
	}
	return &l, l.check()
}

// tomlError puts the decoder's words in our form.
func tomlError(err error) error {
	var unknown *toml.StrictMissingError
	if errors.As(err, &unknown) && len(unknown.Errors) > 0 {
		row, _ := unknown.Errors[0].Position()
		return fmt.Errorf("line %d: a lesson has nothing called %s", row, strings.Join(unknown.Errors[0].Key(), "."))
	}
	var bad *toml.DecodeError
	if errors.As(err, &bad) {
		row, _ := bad.Position()
		return fmt.Errorf("line %d: %s", row, strings.TrimPrefix(bad.Error(), "toml: "))
	}
	return err
}

// check tells what would keep the lesson from being worked.
func (l *Lesson) check() error {
	box, ok := l.rules.Box(l.Box)
	switch {
	case l.No < 1:
		return errors.New("no: a lesson has a number from 1")
	case l.Title == "" || l.Teaches == "" || len(l.Notice) == 0:
		return errors.New("title, teaches, notice: a lesson says what it teaches and what is to be done")
	case !ok:
		return fmt.Errorf("box: %q is no box of %s", l.Box, l.District)
	case len(l.Wants) == 0:
		return errors.New("want: a lesson says what must be shown")
	case len(l.Rules) == 0:
		return errors.New("rules: a lesson names the rules that it stands on")
	case l.Mistake == Mistake{}:
		return errors.New("mistake: name a rule that is broken, a hand that is not moved, or miscounts")
	}
	for _, id := range append(slices.Clone(l.Rules), l.Mistake.Rule) {
		if _, ok := block.FindRule(id); !ok && id != "" {
			return fmt.Errorf("rules: no rule is called %s", id)
		}
	}
	for _, h := range append(slices.Clone(l.Mine), l.Mistake.Leaves) {
		if h != "" && !slices.Contains(Hands(), h) {
			return fmt.Errorf("mine: no hand is called %q; there are %s", h, listed(Hands()))
		}
	}
	for n, w := range l.Wants {
		if _, ok := skills[w.What]; !ok {
			return fmt.Errorf("want %d: nothing is known of %q", n+1, w.What)
		}
		if w.Count < 1 || w.Words == "" {
			return fmt.Errorf("want %d: say how often, and in which words", n+1)
		}
	}
	for n, t := range l.Tasks {
		if !slices.Contains(sim.TaskKinds(), t.Kind) {
			return fmt.Errorf("task %d: no task is called %q", n+1, t.Kind)
		}
		if !slices.ContainsFunc(l.rules.Circuits(), func(c block.Circuit) bool {
			return slices.Contains(c.Boxes[:], box.ID) && slices.Contains(c.Boxes[:], t.From)
		}) {
			return fmt.Errorf("task %d: %q is no neighbour of %s", n+1, t.From, l.Box)
		}
	}
	return nil
}

func listed[S ~string](all []S) string {
	var words []string
	for _, s := range all {
		words = append(words, string(s))
	}
	return strings.Join(words, ", ")
}

// Header is that of a sitting of the lesson. When it began is left open.
func (l *Lesson) Header() block.Header { return l.header }

// Learners tells whether a box is worked by the learner.
func (l *Lesson) Learners(box block.BoxID) bool { return box == l.Box || slices.Contains(l.Also, box) }

// Options are how the rest of the lesson's line is worked. Seed and Begins are left open.
func (l *Lesson) Options() sim.Options {
	o := sim.Options{Temper: sim.Brisk, Helps: func(box block.BoxID, a block.Advice) bool { return l.Learners(box) && !l.Does(a) }}
	for _, t := range l.Tasks {
		o.Tasks = append(o.Tasks, sim.Task{Kind: t.Kind, Box: l.Box, From: t.From, After: time.Duration(t.After) * time.Second})
	}
	return o
}
