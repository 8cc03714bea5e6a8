package web_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// told is one thing that a tablet was told.
type told struct {
	conn   int    // which of its sockets, counted from one
	kind   string // welcome, answer, ring, news; sent: what it did itself
	epoch  string
	seq    uint64
	act    uint64 // of an answer
	ending block.Ending
	early  bool
	rung   bool // a bell sounded
	beat   bool // the act that was sent or answered is a tap of the bell: sound, and no fact before it is written
	at     sitting.Millis
}

// disagreements compares what the tablets of each box were told, in the order in which they were told it, with what is
// kept. It says of every fact that was lost, doubled or put in another order where it shows. It knows nothing of how the
// program works: only the promises of the wire.
func disagreements(kept []block.Entry, histories map[block.BoxID][]told) []string {
	var found []string
	say := func(form string, a ...any) { found = append(found, fmt.Sprintf(form, a...)) }
	type deed struct {
		seat string
		act  uint64
	}
	deeds := make(map[deed]uint64)
	bySeq := make(map[uint64]block.Entry)
	byAct := make(map[deed]uint64) // by the box instead of the seat
	latest := make(map[string]uint64)
	for i, e := range kept {
		if e.Seq != uint64(i+1) {
			say("record: line %d has the number %d", i+1, e.Seq)
		}
		bySeq[e.Seq] = e
		if e.Act == 0 {
			continue
		}
		d := deed{e.Seat, e.Act}
		if was, again := deeds[d]; again {
			say("doubled: act %d of %s is kept as %d and as %d", e.Act, e.Seat, was, e.Seq)
		} else if e.Act < latest[e.Seat] {
			say("reordered: act %d of %s is kept behind act %d", e.Act, e.Seat, latest[e.Seat])
		}
		byAct[deed{string(e.Event.By), e.Act}] = e.Seq
		deeds[d], latest[e.Seat] = e.Seq, max(e.Act, latest[e.Seat])
	}
	sounds := make(map[deed]bool) // beats that are not kept: they were heard at most
	for box, history := range histories {
		for _, t := range history {
			d := deed{string(box), t.act}
			if _, is := byAct[d]; t.kind == "sent" && t.beat && !is {
				sounds[d] = true
			}
		}
	}
	for box, history := range histories {
		answered := make(map[uint64]uint64)
		rung := make(map[string]bool)
		conn, last, lastNews := 0, uint64(0), uint64(0)
		for _, t := range history {
			switch {
			case t.kind == "sent":
				continue
			case t.kind == "answer":
				if t.seq == 0 {
					if seq, is := byAct[deed{string(box), t.act}]; is {
						say("%s: act %d was told not done, and is kept as %d", box, t.act, seq)
					}
					continue
				}
				if was, again := answered[t.act]; again && was != t.seq {
					say("doubled: %s was told %d and %d for act %d", box, was, t.seq, t.act)
				}
				answered[t.act] = t.seq
				e := bySeq[t.seq]
				_, elsewhere := byAct[deed{string(box), t.act}]
				if (e.Act != t.act || e.Event.By != box) && (!t.beat || elsewhere) {
					say("lost: act %d of %s was answered with %d, where act %d of %s is kept", t.act, box, t.seq, e.Act, e.Event.By)
				}
				continue
			case t.kind == "welcome":
				if t.seq > uint64(len(kept)+len(sounds)) { // its number counts beats, which are no facts before they are written
					say("lost: %s was welcomed at %d, and %d are kept", box, t.seq, len(kept))
				}
				conn, last, lastNews = t.conn, t.seq, t.seq
				continue
			case t.kind == "ring" && t.rung:
				// A beat is sound and no fact before it is written; yet none sounds twice.
				if once := fmt.Sprint(t.epoch, t.seq); rung[once] {
					say("doubled: %s heard %d twice", box, t.seq)
				} else {
					rung[once] = true
				}
			}
			if t.early {
				continue
			}
			if t.conn != conn {
				say("%s: told of %d before a welcome", box, t.seq)
			}
			switch {
			case t.seq < last:
				say("reordered: %s was told %d behind %d", box, t.seq, last)
			case t.seq > last+1:
				say("lost: %s was told %d next after %d", box, t.seq, last)
			case t.kind == "news" && t.seq == lastNews:
				say("doubled: %s was told the news of %d twice", box, t.seq)
			}
			last = max(last, t.seq)
			if t.kind != "news" {
				continue
			}
			lastNews = t.seq
			e, is := bySeq[t.seq]
			at := e.At
			if at.IsZero() {
				at = e.Event.At
			}
			if !is {
				say("lost: %s had news of %d, and %d are kept", box, t.seq, len(kept))
			} else if t.at != 0 && t.at != sitting.MillisOf(at) {
				say("changed: %s had news of %d at %v, which is kept as at %v", box, t.seq, t.at.Time(), at)
			}
		}
	}
	return found
}

// The checker finds nothing in a history that is right, and every kind of wrong in one that is not.
func TestDisagreementsAreFound(t *testing.T) {
	began := time.Date(2026, 3, 14, 19, 30, 0, 0, time.UTC)
	right := func() ([]block.Entry, map[block.BoxID][]told) {
		kept := []block.Entry{{Seq: 1, Mark: block.Open, At: began}}
		var history []told
		history = append(history, told{conn: 1, kind: "welcome", epoch: "a", seq: 1})
		for n := uint64(2); n <= 5; n++ {
			at := began.Add(time.Duration(n) * time.Second)
			kept = append(kept, block.Entry{Seq: n, Seat: "s", Act: n - 1, Event: block.Event{By: "OS", At: at}})
			history = append(history, told{conn: 1, kind: "ring", epoch: "a", seq: n, rung: true},
				told{conn: 1, kind: "news", epoch: "a", seq: n, at: sitting.MillisOf(at)},
				told{conn: 1, kind: "answer", epoch: "a", seq: n, act: n - 1, ending: block.Done})
		}
		return kept, map[block.BoxID][]told{"OS": history}
	}
	kept, heard := right()
	require.Empty(t, disagreements(kept, heard))
	heard["OS"] = append(heard["OS"], told{conn: 1, kind: "answer", epoch: "a", seq: 6, act: 5, ending: block.Done, beat: true})
	require.Empty(t, disagreements(kept, heard), "a beat that was only heard")
	for name, c := range map[string]struct {
		spoil func(kept []block.Entry, h []told) ([]block.Entry, []told)
		want  string
	}{
		"an act kept twice": {func(k []block.Entry, h []told) ([]block.Entry, []told) {
			again := k[3]
			again.Seq = 6
			return append(k, again), h
		}, "doubled: act 3"},
		"an answered beat kept elsewhere": {func(k []block.Entry, h []told) ([]block.Entry, []told) {
			h[3].beat, h[3].seq = true, 5
			return k, h[:4]
		}, "lost: act 1"},
		"an answered act lost":  {func(k []block.Entry, h []told) ([]block.Entry, []told) { return k[:4], h }, "lost: act 4"},
		"news of a fact lost":   {func(k []block.Entry, h []told) ([]block.Entry, []told) { return k[:4], h[:12] }, "lost: OS had news of 5"},
		"acts kept in disorder": {func(k []block.Entry, h []told) ([]block.Entry, []told) { k[2].Act, k[3].Act = 3, 2; return k, h[:1] }, "reordered: act 2"},
		"a number left out": {func(k []block.Entry, h []told) ([]block.Entry, []told) {
			k[2].Seq = 9
			return k, nil
		}, "record: line 3"},
		"a welcome to what is not kept": {func(k []block.Entry, h []told) ([]block.Entry, []told) { return k[:0], h[:1] }, "lost: OS was welcomed"},
		"news in disorder": {func(k []block.Entry, h []told) ([]block.Entry, []told) {
			return k, []told{h[0], h[2], h[5], h[2]}
		}, "reordered: OS was told 2"},
		"news left out":  {func(k []block.Entry, h []told) ([]block.Entry, []told) { return k, []told{h[0], h[5]} }, "lost: OS was told 3 next after 1"},
		"news twice":     {func(k []block.Entry, h []told) ([]block.Entry, []told) { return k, []told{h[0], h[2], h[2]} }, "doubled: OS was told the news of 2"},
		"a bell twice":   {func(k []block.Entry, h []told) ([]block.Entry, []told) { return k, []told{h[0], h[1], h[1]} }, "doubled: OS heard 2"},
		"another answer": {func(k []block.Entry, h []told) ([]block.Entry, []told) { h[6].act = 1; return k, h }, "doubled: OS was told 2 and 3"},
		"done all the same": {func(k []block.Entry, h []told) ([]block.Entry, []told) {
			h[3].seq = 0
			return k, h
		}, "OS: act 1 was told not done"},
		"a fact changed": {func(k []block.Entry, h []told) ([]block.Entry, []told) {
			k[1].Event.At = k[1].Event.At.Add(time.Hour)
			return k, h
		}, "changed: OS had news of 2"},
	} {
		kept, heard := right()
		kept, heard["OS"] = c.spoil(kept, heard["OS"])
		found := disagreements(kept, heard)
		require.NotEmpty(t, found, name)
		require.Contains(t, fmt.Sprint(found), c.want, name)
	}
}
