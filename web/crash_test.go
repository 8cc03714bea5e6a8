package web_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	osfile "os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/register"
)

// The real program is killed while a signaller works, each time at another point with acts under way, and started again
// in the same folder: three times, or as often as TAILLAMP_KILLS says; the full run is 100. Every act that was answered is in the record, none is there twice, and the same ticket goes on
// (A13, B4).
func TestAnsweredActsSurviveAKill(t *testing.T) {
	p := build(t)
	p.start()
	name := p.sitting()
	at := fmt.Sprintf("127.0.0.1:%d/s/%s", p.port, name)
	ticket := takeDuty(t, "http://"+at+"/duty/OS")
	answered := make(map[uint64]uint64) // act → number in the record
	next := uint64(1)
	kills := 3
	if n, err := strconv.Atoi(osfile.Getenv("TAILLAMP_KILLS")); err == nil {
		kills = n
	}
	chance := rand.New(rand.NewPCG(uint64(kills), 9))
	for range kills {
		c := dial(t, "ws://"+at+"/wire")
		c.say(map[string]any{"kind": "hello", "proto": 1, "sitting": name, "box": "OS", "as": "work", "ticket": ticket})
		welcome := c.until("welcome")
		for act := range answered {
			require.LessOrEqual(t, act, welcome.Acted, "an answered act is remembered")
		}
		unanswered := 0
		for act := uint64(1); act < next; act++ { // what had no answer is sent again, as a tablet does
			if answered[act] == 0 {
				c.say(remarkAct(act))
				unanswered++
			}
		}
		for range 60 {
			c.say(remarkAct(next))
			next++
			unanswered++
		}
		for leave := chance.IntN(60); unanswered > leave; unanswered-- {
			f := c.until("answer")
			require.Equal(t, block.Done, f.Ending, f.Words)
			if was, again := answered[f.Act]; again {
				require.Equal(t, was, f.Seq)
			}
			answered[f.Act] = f.Seq
		}
		p.kill()
		p.start()
	}
	p.kill()

	text, err := osfile.ReadFile(filepath.Join(p.dir, name+".jsonl"))
	require.NoError(t, err)
	in, err := register.NewReader(bytes.NewReader(text))
	require.NoError(t, err)
	kept := make(map[uint64]uint64)
	opened := 0
	for e, err := range in.Entries() {
		require.NoError(t, err)
		if e.Mark == block.Open {
			opened++
		}
		if e.Event.Do == block.Remark {
			require.Zero(t, kept[e.Act], "act %d is there once", e.Act)
			kept[e.Act] = e.Seq
			require.Equal(t, fmt.Sprintf("remark %d", e.Act), e.Event.Words)
		}
	}
	require.Equal(t, kills+1, opened)
	for act, seq := range answered {
		require.Equal(t, seq, kept[act], "act %d", act)
	}
}

func remarkAct(n uint64) map[string]any {
	return map[string]any{"kind": "act", "act": n, "do": "remark", "words": fmt.Sprintf("remark %d", n)}
}

// sitting is the name of the one sitting in the program's folder.
func (p *program) sitting() string {
	p.t.Helper()
	files, err := filepath.Glob(filepath.Join(p.dir, "*.jsonl"))
	require.NoError(p.t, err)
	require.Len(p.t, files, 1)
	return strings.TrimSuffix(filepath.Base(files[0]), ".jsonl")
}
