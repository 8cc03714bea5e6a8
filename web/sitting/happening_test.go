package sitting_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/review"
	"taillamp/web/sitting"
)

// card is one of those of any evening.
func card(t *testing.T, does block.Place) block.Card {
	t.Helper()
	for _, c := range block.UsualCards() {
		if c.Does == does {
			return c
		}
	}
	t.Fatalf("no card does %s", does)
	return block.Card{}
}

// happened are the acts of a kind in the record.
func (s *stage) happened(do block.Do) []block.Entry {
	s.t.Helper()
	var all []block.Entry
	for e, err := range s.live.Entries(s.t.Context()) {
		require.NoError(s.t, err)
		if e.Event.Do == do {
			all = append(all, e)
		}
	}
	return all
}

// noFindings asks that the review finds nothing.
func (s *stage) noFindings() {
	s.t.Helper()
	for f, err := range review.Of(s.live.Rules(), s.live.Entries(s.t.Context())) {
		require.NoError(s.t, err)
		s.t.Errorf("%s at %s %s train %s: %s", f.Rule, f.Box, f.At.Format("15:04:05"), f.Train, f.Says)
	}
}

// D15, H2: a card dealt is told to its box, and the line does what it says: the next train that fits has a hot box, UL rings 7
// and OS stops it. The record has the order as the owner's and what came of it as nobody's. Nothing is irregular. Without a
// company the card is words alone.
func TestLineDoesWhatACardSays(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	require.NoError(t, s.live.Deal(t.Context(), card(t, block.HotBox), ul))
	require.Empty(t, s.happened(block.Happens), "nobody is there to do it")
	require.Len(t, s.happened(block.Remark), 1)

	require.NoError(t, s.live.Employ(t.Context(), 1, nil))
	require.NoError(t, s.live.Deal(t.Context(), card(t, block.HotBox), ul))
	ordered := s.happened(block.Happens)
	require.Len(t, ordered, 1)
	require.Equal(t, "owner", ordered[0].Seat)
	s.passes(nil, time.Hour, func() bool { return len(s.happened(block.Befalls)) == 2 })
	befell := s.happened(block.Befalls)
	require.Equal(t, down, befell[0].Event.Section)
	require.NotEmpty(t, befell[0].Event.Train)
	require.Empty(t, befell[0].Seat)
	require.True(t, befell[1].Event.Off)
	stopped := s.happened(block.Driver)
	require.Len(t, stopped, 1)
	require.Equal(t, os, stopped[0].Event.By)
	require.Equal(t, befell[0].Event.Train, stopped[0].Event.Train)
	s.noFindings()
	require.ErrorIs(t, s.live.Deal(t.Context(), card(t, block.HotBox), "XX"), block.ErrNoSuchBox)
}

// moves lets time go by in steps of five seconds.
func (s *stage) moves(by time.Duration) {
	for range int(by / (5 * time.Second)) {
		s.clock.Move(5 * time.Second)
		s.settle()
	}
}

// D15, H2, D12: what the owner plans is done at its time by the district's clock, as his act; it stands on his list until then
// and can be withdrawn; a pause puts it off; after a stop of the program it is done all the same.
func TestPlannedAtATime(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	begins := s.live.District().At(s.clock.Now())
	second := func(minutes int) int {
		at := begins.Add(time.Duration(minutes) * time.Minute)
		return at.Hour()*3600 + at.Minute()*60
	}
	plan := func(minutes int, p block.Plan) {
		t.Helper()
		p.When.At = second(minutes)
		require.NoError(t, s.live.Plan(t.Context(), p))
	}
	plan(20, block.Plan{Does: block.Deal, Card: "Fog", To: os})
	plan(10, block.Plan{Does: block.Fail, Circuit: bell, Where: block.AtBell})
	plan(12, block.Plan{Does: block.Mend, Circuit: bell, Where: block.AtBell})
	plan(11, block.Plan{Does: block.Happen, What: block.Happening{Does: block.NeedleSticks, At: os}})
	require.NoError(t, s.live.Plan(t.Context(), block.Plan{Does: block.Deal, Card: "Late running", To: ul, When: block.Later{In: 15 * time.Minute}}))
	require.ErrorIs(t, s.live.Plan(t.Context(), block.Plan{Does: block.Deal, Card: "Fog", To: os, When: block.Later{At: second(0) - 60}}), sitting.ErrTimePast)
	require.ErrorIs(t, s.live.Plan(t.Context(), block.Plan{Does: block.Deal, Card: "Snow", To: os, When: block.Later{At: second(5)}}), sitting.ErrNoAct)
	list := func() (does []block.PlanDoes) {
		o, err := s.live.Oversee(t.Context())
		require.NoError(t, err)
		for _, p := range o.Planned {
			does = append(does, p.Does)
		}
		return does
	}
	require.Equal(t, []block.PlanDoes{block.Fail, block.Happen, block.Mend, block.Deal, block.Deal}, list())
	o, err := s.live.Oversee(t.Context())
	require.NoError(t, err)
	require.NoError(t, s.live.Unplan(t.Context(), o.Planned[3].Seq)) // the late train
	require.ErrorIs(t, s.live.Unplan(t.Context(), o.Planned[3].Seq), sitting.ErrAsItIs)
	require.NoError(t, s.live.Plan(t.Context(), block.Plan{Does: block.Deal, Card: "Late running", To: ul, When: block.Later{In: 15 * time.Minute}}))

	s.moves(9*time.Minute + 55*time.Second)
	require.Empty(t, s.happened(block.Fault))
	s.moves(5 * time.Second)
	broke := s.happened(block.Fault)
	require.Len(t, broke, 1)
	require.Equal(t, "owner", broke[0].Seat)
	require.Equal(t, begins.Add(10*time.Minute), s.live.District().At(broke[0].Event.At))
	s.moves(time.Minute)
	taken := s.happened(block.Plans)
	require.Equal(t, "could not be done", taken[len(taken)-1].Event.Words, "nobody is simulated whose needle might stick")

	require.NoError(t, s.live.Pause(t.Context(), true)) // at eleven minutes, for ten
	s.moves(5 * time.Minute)
	require.NoError(t, s.live.Close(t.Context()))
	s.again()
	s.moves(5 * time.Minute)
	require.Len(t, s.happened(block.Fault), 1, "nothing is done while the evening is paused")
	require.Equal(t, []block.PlanDoes{block.Mend, block.Deal, block.Deal}, list(), "and it stands in the record what is to come")
	require.NoError(t, s.live.Pause(t.Context(), false))
	s.moves(30 * time.Second)
	require.Len(t, s.happened(block.Fault), 1)
	s.moves(30 * time.Second)
	broke = s.happened(block.Fault)
	require.Len(t, broke, 2)
	require.True(t, broke[1].Event.Off)
	require.Equal(t, begins.Add(12*time.Minute), s.live.District().At(broke[1].Event.At))

	his := s.watch(s.duty(ul))
	waiting(his)
	s.moves(3 * time.Minute)
	said := s.happened(block.Remark)
	require.Len(t, said, 1)
	require.Equal(t, "To UL: Late running. The next train to start from you is ready ten minutes late.", said[0].Event.Words)
	require.Equal(t, "owner", said[0].Seat)
	require.Equal(t, begins.Add(15*time.Minute), s.live.District().At(said[0].Event.At), "ten minutes of the fifteen were a pause, that no clock counts")
	var told []string
	for _, n := range waiting(his) {
		if n.Words != nil {
			told = n.Words.All
		}
	}
	require.Len(t, told, 1, "his tablet shows it at that time")
	require.Equal(t, []block.PlanDoes{block.Deal}, list())

	require.NoError(t, s.live.Close(t.Context())) // the time comes while the program is stopped
	s.clock.Move(10 * time.Minute)
	s.again()
	require.Len(t, s.happened(block.Remark), 1)
	s.moves(10 * time.Second)
	require.Len(t, s.happened(block.Remark), 2, "it is done when the sitting goes on")
	require.Empty(t, list())
	s.moves(10 * time.Minute)
	require.Len(t, s.happened(block.Remark), 2, "and once")
}

// D15: the card of a special train adds it to the sequence, as the owner's act; it is offered, runs, and nothing is irregular.
func TestSpecialTrainDealt(t *testing.T) {
	s := newStage(t, sitting.NewMemory())
	require.NoError(t, s.live.Employ(t.Context(), 1, nil))
	require.NoError(t, s.live.Deal(t.Context(), card(t, block.Special), ul))
	added := s.happened(block.Trains)
	require.Len(t, added, 1)
	require.Equal(t, "owner", added[0].Seat)
	require.Equal(t, block.Added, added[0].Event.Where)
	require.Equal(t, block.TrainID("S1"), added[0].Event.Train)
	passed := func() bool {
		for _, e := range s.happened(block.Train) {
			if e.Event.Train == "S1" && e.Event.By == os && e.Event.Where == block.Passes {
				return true
			}
		}
		return false
	}
	s.passes(nil, 30*time.Minute, passed)
	s.passes(nil, 3*time.Minute, func() bool { return s.lineOf(os).Standing == "IDLE" && s.lineOf(os).Shows == block.Blocked })
	s.noFindings()
}
