package block_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// A box that accepts beyond the next one's home signal offers a train on before it accepts it, and accepts it when line
// clear has come: arrangement F2 for two close stations, both on absolute block and with tokens (reference, other
// methods, 7.2 and 7.4: from memory).
func TestCloseBoxAsksAheadFirst(t *testing.T) {
	for _, method := range []string{"absolute", "token"} {
		t.Run(method, func(t *testing.T) {
			l := block.BareLayout()
			for i, id := range []block.BoxID{"A", "B", "C"} {
				b := block.BareBox(id, block.Yards(i)*1760, 440)
				if b.Staffed = true; id == "B" {
					b.Accepts = "beyond"
				}
				l.Boxes = append(l.Boxes, b)
				if i > 0 {
					l.Between = append(l.Between, block.DoubleLine(l.Boxes[i-1].ID, id, 1760))
				}
			}
			if method == "token" {
				require.NoError(t, block.SetMethod(l, method, "A", "B", nil))
				require.NoError(t, block.SetMethod(l, method, "B", "C", nil))
				for i := range l.Between {
					l.Between[i].Lines[0].Tokens = map[block.BoxID]int{l.Between[i].Boxes[0]: 2, l.Between[i].Boxes[1]: 2}
				}
			}
			r, err := block.NewRules(l, nil, nil)
			require.NoError(t, err)
			now := time.Date(1961, 10, 17, 15, 30, 0, 0, time.UTC)
			s := r.Opening(now)
			var order []string
			for range 40 {
				for _, box := range []block.BoxID{"A", "B", "C"} {
					now = now.Add(3 * time.Second)
					v := r.View(s, box)
					v.At = now
					if box == "A" {
						v.Sends = []block.Sending{{Section: v.Shelf[0].Lines[len(v.Shelf[0].Lines)-1].Section, Beats: block.Beats{4}}}
					}
					advice := r.Next(v)
					if len(advice) == 0 || advice[0].Where == block.Handed {
						continue
					}
					e := advice[0].Event(box)
					e.At = now
					next, o, err := r.Step(s, e)
					require.NoError(t, err)
					require.Empty(t, o.Irregular, "%s: %s", box, advice[0].Why)
					s = next
					for _, c := range o.Changes {
						if c.Signal != nil && (c.Signal.Did == block.Offered || c.Signal.Did == block.Accepted) {
							order = append(order, string(box)+" "+string(c.Signal.Did))
						}
					}
				}
			}
			require.Equal(t, []string{"A offered", "B offered", "C accepted", "B accepted"}, order)
		})
	}
}
