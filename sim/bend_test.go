package sim_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/sim"
)

// district is what a mistake needs to be possible at all.
type district struct {
	warnings, shunts, cautions, collars bool   // authorised, or acts that the sitting has
	loads                               bool   // every train is an exceptional load, and Up trains run from D to C alone
	other                               bool   // a permissive line answers with a code of its own when it is occupied
	closes, out                         bool   // box C has a closing switch, and is out all day
	single                              string // three boxes on a single line worked so, or two with a permissive line between them
	near                                string // box C stands 470 yards from B, whose clearing point is 600 from its home signal; up to what B accepts
}

// needs says for which mistakes the plain district will not do.
var needs = map[block.RuleID]district{
	"R20": {warnings: true}, "R21": {warnings: true, cautions: true}, "R22": {warnings: true, collars: true},
	"R23": {warnings: true}, "R24": {loads: true}, "R56": {shunts: true}, "R57": {shunts: true},
	"R59": {cautions: true}, "R60": {cautions: true},
	"SS-01": {near: "beyond"}, "SS-02": {near: "clearing"},
	"TK-01": {single: "token"}, "TK-02": {single: "token"}, "TK-03": {single: "token"}, "TK-04": {single: "token"}, "TK-05": {single: "token"},
	"TK-06": {single: "token"}, "TK-07": {single: "token"}, "TK-08": {single: "token"}, "TK-09": {single: "token"}, "TK-10": {single: "token"},
	"TK-11": {single: "token"}, "TK-12": {single: "token"},
	"PM-01": {single: "permissive"}, "PM-02": {single: "permissive", other: true}, "PM-03": {single: "permissive"},
	"PM-04": {single: "permissive", cautions: true}, "PM-05": {single: "permissive"}, "PM-06": {single: "permissive"},
	"OC-01": {closes: true}, "OC-02": {closes: true}, "OC-03": {closes: true, out: true}, "OC-06": {closes: true},
}

// entailed are the findings of other rules that a mistake must bring with it, and why.
var entailed = map[block.RuleID]map[block.RuleID]string{
	"R02":   {"R11": late, "R12": late},
	"R03":   {"R12": late},
	"R06":   {"R03": "somebody left it unanswered, or it need not have been made sure of"},
	"R07":   {"R04": "what is said means nothing by the book", "R40": "who talks gives no section up meanwhile"},
	"R11":   {"R12": late},
	"R12":   {"R11": late},
	"TK-04": {"TK-01": "who has the token of another section has none of this one"},
	"R13":   {"R08": "no train can be accepted that is not offered"},
	"R16":   {"R08": "no train can be accepted that is not offered"},
	"R30":   {"R12": "the second train must wait behind the first, and is offered on when that has gone"},
	"R37":   {"R08": "no train can be accepted that is not offered"},
}

const late = "who does nothing for two minutes is late with the next thing, too"

// bentDistrict is five boxes on a double line, as the mistake needs them, with so many trains.
func bentDistrict(t testing.TB, d district, seed uint64, trains int) *block.Rules {
	t.Helper()
	if d.single != "" {
		return bentBranch(t, d, seed, trains)
	}
	l := block.BareLayout()
	l.Settings.Lamps, l.Settings.Cautions, l.Settings.Collars = true, d.cautions, d.collars
	ids := []block.BoxID{"A", "B", "C", "D", "E"}
	for i, id := range ids {
		b := block.BareBox(id, block.Yards(i)*3520, 440)
		for _, n := range []int{i - 1, i + 1} {
			if n < 0 || n >= len(ids) {
				continue
			}
			if d.warnings {
				b.Authorise = append(b.Authorise, "warning from "+string(ids[n])+" for all")
			}
			if d.shunts {
				b.Authorise = append(b.Authorise, "forward shunt toward "+string(ids[n]))
			}
		}
		b.Switch, b.Out = d.closes && id == "C", d.out && id == "C"
		between := block.Yards(3520)
		if d.near != "" && id == "B" {
			b.Clearing, b.Accepts = 600, d.near
		}
		if d.near != "" && i > 1 {
			b.At -= 3050
		}
		if d.near != "" && id == "C" {
			between = 470
		}
		l.Boxes = append(l.Boxes, b)
		if i > 0 {
			l.Between = append(l.Between, block.DoubleLine(ids[i-1], id, between))
		}
	}
	book, err := block.FindCodeBook("1960-letters")
	require.NoError(t, err)
	rows, times := sequence(rand.New(rand.NewPCG(seed, 7)), ids, trains)
	if d.loads {
		rows, times = exceptional(rand.New(rand.NewPCG(seed, 7)), trains)
	}
	if d.out {
		times = regexp.MustCompile(`(?m)^\d+,\d+,C,.*\n`).ReplaceAllString(times, "")
		times = regexp.MustCompile(`(?m),\d+,\d+,$`).ReplaceAllString(times, ",,,") // times over C do not hold
	}
	if d.near != "" { // lest two near boxes offer each other the same code at once, which neither could tell from an acceptance
		rows = regexp.MustCompile(`(?m)^(\d+),[A-Z],[\d-]+,,Up,`).ReplaceAllString(rows, "$1,H,1-4,,Up,")
	}
	table, err := block.ReadTimetable([]byte(rows), []byte(times))
	require.NoError(t, err)
	r, err := block.NewRules(l, []*block.CodeBook{book}, table)
	require.NoError(t, err)
	return r
}

// exceptional is a sequence of exceptional loads. Through loads both ways would bar each other's road for good: the Up
// ones have one section only.
func exceptional(c *rand.Rand, trains int) (rows, times string) {
	var r, s strings.Builder
	r.WriteString("train,class,code,description,direction,from,to,max_mph,start_s,stop_s,freight,length_yd,load,stock_of,note\n")
	s.WriteString("train,seq,box,line,arrive,pass,depart,where,minimum_s,run_s,note\n")
	at := 15*3600 + 35*60
	for n := 1; n <= trains; n++ {
		at += 30 * (1 + c.IntN(8))
		way, name := []string{"A", "B", "C", "D", "E"}, "Down"
		if n%2 == 0 {
			way, name = []string{"D", "C"}, "Up"
		}
		fmt.Fprintf(&r, "%d,X,2-6-2,,%s,%s,%s,35,45,30,yes,200,,,\n", n, name, way[0], way[len(way)-1])
		for i, box := range way {
			when := clock(at + 240*i)
			switch i {
			case 0:
				fmt.Fprintf(&s, "%d,1,%s,,,,%s,,,,\n", n, box, when)
			case len(way) - 1:
				fmt.Fprintf(&s, "%d,%d,%s,%s Main,%s,,,,206,206,\n", n, i+1, box, name, when)
			default:
				fmt.Fprintf(&s, "%d,%d,%s,%s Main,,%s,,,206,206,\n", n, i+1, box, name, when)
			}
		}
	}
	return r.String(), s.String()
}

// bentTrains is how many trains each day has.
const bentTrains = 10

// bentRun is one day with one mistake ordered.
type bentRun struct {
	box      block.BoxID // that made it; empty: the moment did not come
	at       time.Time
	findings []review.Finding
	entries  []block.Entry
	rules    *block.Rules
}

func bend(t testing.TB, rule block.RuleID, seed uint64) bentRun {
	t.Helper()
	r := bentDistrict(t, needs[rule], seed, bentTrains)
	run := bentRun{rules: r}
	c := rand.New(rand.NewPCG(seed, 11))
	from := evening.Add(time.Duration(c.IntN(40*60)) * time.Second)
	if slices.Contains([]block.RuleID{"OC-01", "OC-02", "OC-06"}, rule) {
		from = evening.Add(6 * time.Hour) // when all trains are home
	}
	temper := []sim.Temper{sim.Brisk, sim.Steady}[seed%2]
	run.entries = work(t, r, sim.Options{Seed: seed, Begins: evening, Temper: temper, Bends: func(*block.Rules) []sim.Bend {
		b, ok := sim.Mistake(rule)
		require.True(t, ok)
		b.From = from
		b.Made = func(box block.BoxID, at time.Time) { run.box, run.at = box, at }
		return []sim.Bend{b}
	}})
	for f, err := range review.Of(r, seq(run.entries)) {
		require.NoError(t, err)
		run.findings = append(run.findings, f)
	}
	return run
}

func (b bentRun) found(rule block.RuleID) bool {
	return slices.ContainsFunc(b.findings, func(f review.Finding) bool { return f.Rule == rule && f.Box == b.box })
}

// arrived counts the trains that reached the end of their run.
func (b bentRun) arrived() int {
	n := 0
	for _, e := range b.entries {
		if k, ok := b.rules.Timetable().Find(e.Event.Train); ok && e.Event.Where == block.Passes && e.Event.By == k.To {
			n++
		}
	}
	return n
}

// ordered are the rules that a simulated signaller can be ordered to break.
func ordered() []block.RuleID {
	var ids []block.RuleID
	for _, r := range block.AllRules() {
		if _, ok := sim.Mistake(r.ID); ok {
			ids = append(ids, r.ID)
		}
	}
	return ids
}

// Every rule of absolute block that can occur can be ordered broken; of the others it is said why not.
func TestEveryRuleCanBeOrderedBroken(t *testing.T) {
	for _, r := range block.AllRules() {
		_, can := sim.Mistake(r.ID)
		switch r.Family {
		case "staff", "trackcircuit", "terminus", "fog", "failures":
			assert.False(t, can, "%s %s", r.ID, r.Name)
		default:
			assert.Equal(t, r.Checked != "never" && r.ID != "PM-07", can, "%s %s", r.ID, r.Name)
		}
		assert.Equal(t, can, sim.NotOrdered(r.ID) == "", "%s %s", r.ID, r.Name)
		if !can {
			t.Logf("%s %s: %s", r.ID, r.Name, sim.NotOrdered(r.ID))
		}
	}
}

// Every mistake that can be ordered of a right signaller is found where it was made, and nothing else is found that it
// does not entail (E5). The right working that it is set in is that of TestRightSignallersHaveNoFinding. TAILLAMP_RUNS
// says how many days with the mistake made each rule gets; the full run is 20.
func TestMistakesAreFound(t *testing.T) {
	runs := uint64(2)
	if n, err := strconv.ParseUint(os.Getenv("TAILLAMP_RUNS"), 10, 32); err == nil {
		runs = n
	}
	only := regexp.MustCompile(os.Getenv("TAILLAMP_RULE"))
	table := make([]string, len(ordered()))
	t.Run("rules", func(t *testing.T) {
		for n, rule := range ordered() {
			if !only.MatchString(string(rule)) {
				continue
			}
			t.Run(string(rule), func(t *testing.T) {
				t.Parallel()
				table[n] = bends(t, rule, runs)
			})
		}
	})
	t.Log("\nrule   made found  besides, entailed\n" + strings.Join(table, ""))
}

// bends makes the mistake on so many days, and is a line of the table.
func bends(t *testing.T, rule block.RuleID, runs uint64) string {
	var made, found uint64
	besides := make(map[block.RuleID]int)
	for seed := uint64(1); made < runs && seed <= 5*runs+5; seed++ {
		run := bend(t, rule, seed)
		if run.box == "" {
			continue
		}
		made++
		if !needs[rule].out { // else the day ends with the mistake
			assert.Equal(t, bentTrains, run.arrived(), "seed %d: %s at %s: trains that reached the end of their run", seed, rule, run.box)
		}
		if run.found(rule) {
			found++
		} else {
			t.Logf("seed %d: %s at %s made %s and not found", seed, rule, run.box, run.at.Format("15:04:05"))
		}
		for _, f := range run.findings {
			if f.Rule == rule && f.Box == run.box {
				continue
			}
			besides[f.Rule]++
			if _, ok := entailed[rule][f.Rule]; !ok {
				t.Errorf("seed %d: %s at %s made %s, and besides %s at %s %s train %s: %s", seed, rule, run.box, run.at.Format("15:04:05"),
					f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
			}
		}
	}
	assert.Equal(t, runs, made, "%s: days on which the moment came", rule)
	assert.GreaterOrEqual(t, float64(found), 0.95*float64(made), "%s: days on which it was found", rule)
	var more []string
	for id, n := range besides {
		more = append(more, fmt.Sprintf("%s %d", id, n))
	}
	slices.Sort(more)
	return fmt.Sprintf("%-6s %4d %5d  %s\n", rule, made, found, strings.Join(more, ", "))
}

// The districts that mistakes need are worked by right signallers without a finding, too.
func TestRightSignallersOfBentDistricts(t *testing.T) {
	for _, rule := range ordered() {
		if d, other := needs[rule]; other {
			t.Run(string(rule), func(t *testing.T) {
				t.Parallel()
				for seed := range uint64(4) {
					r := bentDistrict(t, d, seed, bentTrains)
					run := bentRun{rules: r, entries: work(t, r, sim.Options{Seed: seed, Begins: evening})}
					assert.Equal(t, bentTrains, run.arrived(), "seed %d: trains that reached the end of their run", seed)
					for f, err := range review.Of(r, seq(run.entries)) {
						require.NoError(t, err)
						t.Errorf("seed %d: %s at %s %s train %s: %s", seed, f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
					}
				}
			})
		}
	}
}
