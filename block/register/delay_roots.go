package register

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"
)

// roots follows each delay back to its beginning. A wait for a train that was itself waiting then leads back to that
// wait, else to what had made that train late; a wait for a train that ran to time, to what had made the waiting train
// late and brought it into the other's way. What leads back to nothing is a beginning.
func (f *finding) roots() {
	f.of = make([][]int, len(f.Runs))
	for n, d := range f.found {
		f.of[d.Run] = append(f.of[d.Run], n)
	}
	for n := range f.found {
		if led := f.ledBy(n); led >= 0 && !f.leadsTo(led, n) {
			f.found[n].Led = led
		}
	}
	for n := range f.found {
		f.found[n].Root = n
		for led := f.found[n].Led; led >= 0; led = f.found[led].Led {
			f.found[n].Root = led
		}
	}
}

// leadsTo tells whether one delay is already known to go back to another. Two trains may wait for each other's lateness;
// the one found first is then the beginning.
func (f *finding) leadsTo(n, back int) bool {
	for n >= 0 && n != back {
		n = f.found[n].Led
	}
	return n == back
}

func (f *finding) ledBy(n int) int {
	d := f.found[n]
	if d.Other >= 0 {
		if led := f.most(d.Other, d); led >= 0 {
			return led
		}
	}
	if d.Why == ByTrain {
		return f.most(d.Run, d)
	}
	return -1
}

// most finds the delay of a run that had most to do with another delay: by the time for which it went on during that, or,
// if it was over, by what it had lost and the train had not made up.
func (f *finding) most(run int, d Delay) int {
	late := f.lateAt(run, d.From)
	if late < runningLate {
		late = 0
	}
	best := -1
	var high time.Duration
	for _, n := range f.of[run] {
		o := f.found[n]
		if o == d {
			continue
		}
		count := overlap(o, d)
		if !o.Till.After(d.From) {
			count = min(o.Lost, late)
		}
		if count > high {
			best, high = n, count
		}
	}
	return best
}

func overlap(a, b Delay) time.Duration {
	from, till := a.From, a.Till
	if b.From.After(from) {
		from = b.From
	}
	if b.Till.Before(till) {
		till = b.Till
	}
	return till.Sub(from)
}

// lateAt is how late a run was at the last place that it had come to by a moment.
func (g *Graph) lateAt(run int, at time.Time) time.Duration {
	r := &g.Runs[run]
	var late time.Duration
	for _, s := range r.Stops {
		b, ok := r.bookedAt(s.Box)
		if !ok {
			continue
		}
		if s.Come.Known() && !s.Come.At.After(at) && !b.Come.IsZero() {
			late = s.Come.At.Sub(b.Come)
		}
		if s.Go.Known() && !s.Go.At.After(at) && !b.Go.IsZero() {
			late = s.Go.At.Sub(b.Go)
		}
	}
	return late
}

// Beginning is a delay that led to others, with what it cost in all.
type Beginning struct {
	Delay  int           // of the delays
	Own    time.Duration // lost by itself
	Caused time.Duration // lost by what it led to
	Trains int           // that lost time, its own among them
}

// Beginnings adds up what each first delay cost, the dearest first.
func Beginnings(delays []Delay) []Beginning {
	sums := make(map[int]*Beginning)
	trains := make(map[[2]int]bool)
	for n, d := range delays {
		b := sums[d.Root]
		if b == nil {
			b = &Beginning{Delay: d.Root}
			sums[d.Root] = b
		}
		if n == d.Root {
			b.Own += d.Lost
		} else {
			b.Caused += d.Lost
		}
		if key := [2]int{d.Root, d.Run}; !trains[key] {
			trains[key] = true
			b.Trains++
		}
	}
	var all []Beginning
	for _, b := range sums { // order does not matter: they are sorted below
		all = append(all, *b)
	}
	slices.SortFunc(all, func(x, y Beginning) int {
		return cmp.Or(cmp.Compare(y.Own+y.Caused, x.Own+x.Caused), cmp.Compare(x.Delay, y.Delay))
	})
	return all
}

// Tell says one delay in a sentence: who waited, where, for what, and the act that ended it.
func (g *Graph) Tell(d Delay) string {
	train := g.called(d.Run)
	lost := spoken(d.Lost)
	at := func(t time.Time) string { return g.rounding.Full(t) }
	place := g.nameOf(string(d.Box))
	ahead := g.nameOf(string(g.otherEnd(d.Section, d.Box)))
	switch d.Why {
	case ByTrain:
		return fmt.Sprintf("%s waited %s at %s, from %s, for %s on the %s; that was out of the way at %s.", upper(train), lost, place,
			at(d.From), g.called(d.Other), g.lineOf(d), at(d.Till))
	case ByBlock:
		return fmt.Sprintf("%s waited %s at %s, from %s, because the %s was blocked until %s.", upper(train), lost, place, at(d.From),
			g.lineOf(d), at(d.Till))
	case ByFailure:
		return fmt.Sprintf("%s waited %s at %s, from %s, because an instrument of the %s had failed.", upper(train), lost, place,
			at(d.From), g.lineOf(d))
	case ByAnswer:
		return fmt.Sprintf("%s waited %s at %s, from %s, because %s accepted it only at %s.", upper(train), lost, place, at(d.From),
			ahead, at(d.Till))
	case ByOffer:
		return fmt.Sprintf("%s waited %s at %s, from %s, because %s had not offered it on; the line to %s was free.", upper(train), lost, place,
			at(d.From), place, ahead)
	case ByStock:
		return fmt.Sprintf("%s started %s late from %s, because %s, of which it is formed, came only at %s.", upper(train), lost, place,
			g.called(d.Other), at(g.Runs[d.Other].ended()))
	case ByHome:
		return fmt.Sprintf("%s stood %s at the home signal of %s, from %s.", upper(train), lost, place, at(d.From))
	case ByRunning:
		return fmt.Sprintf("%s took %s longer than booked to %s, which it reached at %s.", upper(train), lost, place, at(d.Till))
	}
	return fmt.Sprintf("%s left %s %s after it might have gone, at %s.", upper(train), place, lost, at(d.Till))
}

func upper(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// called is how a train is spoken of: train 4, the express.
func (g *Graph) called(run int) string {
	if run < 0 || run >= len(g.Runs) {
		return "another train"
	}
	r := &g.Runs[run]
	if r.Train == "" {
		return "a " + handOf(r.Key).words + " train"
	}
	return "train " + string(r.Train)
}

func (g *Graph) nameOf(box string) string {
	for _, p := range g.Panels {
		for _, x := range p.Places {
			if string(x.Box) == box && x.Name != "" {
				return x.Name
			}
		}
	}
	return box
}

// lineOf names the line that a train waited for: "Down Main to Ossenwaite Junction".
func (g *Graph) lineOf(d Delay) string {
	sec, ok := g.rules.Section(d.Section)
	if !ok {
		return "line ahead"
	}
	return sec.Line + " to " + g.nameOf(string(g.otherEnd(d.Section, d.Box)))
}

// spoken is a time as people say it, to the half minute.
func spoken(d time.Duration) string {
	halves := int((d + 15*time.Second) / (30 * time.Second))
	switch {
	case halves < 2:
		return "half a minute"
	case halves == 2:
		return "1 minute"
	case halves%2 == 0:
		return fmt.Sprintf("%d minutes", halves/2)
	}
	return fmt.Sprintf("%d½ minutes", halves/2)
}

// chainWords is the most that a chain is told in.
const chainWords = 5

// Chain tells the longest chain of delays in at most five sentences: how it began, what followed, and what it cost. A
// chain of more links than fit leaves out the middle and says so. Without delays it is empty.
func (g *Graph) Chain(delays []Delay) []string {
	links := longestChain(delays)
	if len(links) == 0 {
		return nil
	}
	root := links[0]
	var total time.Duration
	trains := make(map[int]bool)
	for _, d := range delays {
		if d.Root == root {
			total += d.Lost
			trains[d.Run] = true
		}
	}
	var words []string
	for i, n := range links {
		if len(links) > chainWords-1 && i == chainWords-2 {
			words = append(words, fmt.Sprintf("%d more waits followed from that, the last of them of %s.", len(links)-i, g.called(delays[links[len(links)-1]].Run)))
			break
		}
		words = append(words, g.Tell(delays[n]))
	}
	if len(links) > 1 || len(trains) > 1 {
		words = append(words, fmt.Sprintf("In all it cost %d trains %s.", len(trains), spoken(total)))
	}
	return words
}

// longestChain is the chain of most links, of those as long the one whose beginning cost most.
func longestChain(delays []Delay) []int {
	cost := make(map[int]time.Duration)
	for _, d := range delays {
		cost[d.Root] += d.Lost
	}
	var best []int
	for n := range delays {
		links := []int{n}
		for m := n; m != delays[n].Root; {
			m = delays[m].Led
			links = append(links, m)
		}
		slices.Reverse(links)
		if len(links) > len(best) || len(links) == len(best) && cost[links[0]] > cost[best[0]] {
			best = links
		}
	}
	return best
}
