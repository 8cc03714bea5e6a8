package block_test

import (
	"fmt"
	"iter"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/notes"
	"taillamp/block/review"
)

// evening is a cell that has been played: what was recorded and where it came to.
type evening struct {
	rules   *block.Rules
	entries []block.Entry
	state   block.State
	refused []string // the reasons, of whatever the apparatus refused
}

// bellAct is the short form of a code rung between A and B, in the letters of the reference's worked examples:
// "A 3-1" is A ringing 3-1 to B, "A 3-1=" is that and B's exact repetition.
var bellAct = regexp.MustCompile(`^([ABC])(?:>([ABC]))? ([0-9]+(?:-[0-9]+)*)(=?)$`)

// needleAct is the short form of a handle turned: "B clear" is B turning the needle of the line from A.
var needleAct = regexp.MustCompile(`^([AB]) (clear|occupied|blocked)$`)

// waitAct lets time go by: "+31s".
var waitAct = regexp.MustCompile(`^\+[0-9ms]+$`)

// together tells whether an act falls in the same second as the one before: "& B 1".
func together(act string) bool { return strings.HasPrefix(act, "& ") }

// between is the time from one act of a cell to the next.
const between = 3 * time.Second

// player plays acts on a bare double line of three boxes. Acts are read as notes once for a whole table, each but once:
// what a line of notes says does not hang on the lines before it.
type player struct {
	rules map[block.Level]*block.Rules
	said  map[string][]block.Event
}

// newPlayer reads every act that a table can need.
func newPlayer(t *testing.T, acts []string) player {
	t.Helper()
	p := player{rules: make(map[block.Level]*block.Rules), said: make(map[string][]block.Event)}
	for _, level := range levels {
		p.rules[level] = tableRules(t, level)
	}
	text := "boxes A B C\n"
	var lines []string
	for _, act := range acts {
		for _, line := range spelledOut(act) {
			if _, known := p.said[line]; !known {
				p.said[line] = nil
				lines = append(lines, line)
				text += "10:00 " + line + "\n"
			}
		}
	}
	n, err := notes.Read([]byte(text), nil)
	require.NoError(t, err)
	require.Len(t, n.Facts, len(lines))
	for i, f := range n.Facts {
		p.said[lines[i]] = f.Events
	}
	return p
}

// spelledOut is an act in lines of notes; a time to wait has none but its own.
func spelledOut(act string) []string {
	other := map[string]string{"A": "B", "B": "A", "C": "B"}
	act = strings.TrimPrefix(act, "& ")
	if waitAct.MatchString(act) {
		return []string{`C remarks "waiting"`}
	}
	if m := needleAct.FindStringSubmatch(act); m != nil {
		return []string{m[1] + " turns " + other[m[1]] + " " + m[2]}
	}
	m := bellAct.FindStringSubmatch(act)
	if m == nil {
		return []string{act}
	}
	to := m[2]
	if to == "" {
		to = other[m[1]]
	}
	lines := []string{m[1] + " rings " + to + " " + m[3]}
	if m[4] == "=" {
		lines = append(lines, to+" rings "+m[1]+" "+m[3])
	}
	return lines
}

// tableRules are the rules of the district in which a table is played. B may accept goods trains under the warning, and
// A may shunt into the section ahead.
func tableRules(t *testing.T, level block.Level) *block.Rules {
	t.Helper()
	l := block.BareLayout()
	l.Settings.Lamps = true
	for i, id := range []block.BoxID{"A", "B", "C"} {
		b := block.BareBox(id, block.Yards(i)*1760, 440)
		b.Staffed = true
		l.Boxes = append(l.Boxes, b)
	}
	l.Boxes[0].Authorise = []string{"forward shunt toward B"}
	l.Boxes[1].Authorise = []string{"warning from A for goods"}
	for i := 1; i < len(l.Boxes); i++ {
		d := block.DoubleLine(l.Boxes[i-1].ID, l.Boxes[i].ID, 1760)
		d.Level = level
		l.Between = append(l.Between, d)
	}
	r, err := block.NewRules(l, nil, nil)
	require.NoError(t, err)
	return r
}

// play plays the acts one after the other.
func (p player) play(t *testing.T, name string, level block.Level, acts []string) evening {
	t.Helper()
	e := evening{rules: p.rules[level]}
	at := notes.Day.Add(10 * time.Hour)
	e.state = e.rules.Opening(at)
	for _, act := range acts {
		if waitAct.MatchString(act) {
			d, err := time.ParseDuration(act[1:])
			require.NoError(t, err, "%s: %s", name, act)
			at = at.Add(d - between)
		}
		if together(act) {
			at = at.Add(-between)
		}
		for _, line := range spelledOut(act) {
			at = at.Add(between)
			require.NotEmpty(t, p.said[line], "%s: %s", name, line)
			for _, event := range p.said[line] {
				event.At = at
				next, out, err := e.rules.Step(e.state, event)
				require.NoError(t, err, "%s: %s", name, line)
				e.state = next
				e.entries = append(e.entries, block.Entry{Seq: uint64(len(e.entries) + 2), Event: event, Outcome: out})
				if out.Ending == block.Refused {
					e.refused = append(e.refused, string(out.Why))
				}
			}
		}
	}
	return e
}

// findings are what the reviewer finds, those that the acts proved at once among it, as rule, box, severity.
func (e evening) findings(t *testing.T) []string {
	t.Helper()
	var found []string
	for f, err := range review.Of(e.rules, each(e.entries)) {
		require.NoError(t, err)
		found = append(found, fmt.Sprintf("%s %s %s", f.Rule, f.Box, f.Severity))
	}
	return sorted(found)
}

func each(entries []block.Entry) iter.Seq2[block.Entry, error] {
	return func(yield func(block.Entry, error) bool) {
		for _, e := range entries {
			if !yield(e, nil) {
				return
			}
		}
	}
}

func (e evening) line(t *testing.T, id block.SectionID) block.LineState {
	t.Helper()
	l, ok := e.rules.Line(e.state, id)
	require.True(t, ok)
	return l
}

// see holds what else a cell gives against what is to be seen.
func (e evening) see(t *testing.T, name, what, of string) {
	t.Helper()
	l := e.line(t, "A-B Down Main")
	shelf := e.rules.View(e.state, "A").Shelf[0]
	var got string
	switch what {
	case "called": // attention called by that box, not answered yet
		got = string(shelf.Called)
	case "has": // and answered: the word is its
		got = string(shelf.Has)
	case "shows":
		got = string(l.Shows)
	case "code": // of the train offered or accepted
		for _, v := range shelf.Lines {
			if v.Section == l.Section.ID {
				got = v.Beats.String()
			}
		}
	case "offers": // how many of A's wait for an answer
		n := 0
		for _, o := range shelf.Offers {
			if o.By == "A" {
				n++
			}
		}
		got = fmt.Sprint(n)
	case "assist": // an assisting engine is out
		got = fmt.Sprint(l.Assist)
	case "seen": // trains seen to go in and not out
		got = fmt.Sprint(l.Seen)
	case "other": // the line from B to A
		got = e.line(t, "A-B Up Main").Standing
	case "refused":
		got = strings.Join(e.refused, ",")
	default:
		t.Fatalf("%s: nobody knows how to see %s", name, what)
	}
	if got != of {
		t.Errorf("%s: %s is %q, not %q", name, what, got, of)
	}
}
