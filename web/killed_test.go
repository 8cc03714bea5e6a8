package web_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	osfile "os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/web/sitting"
)

// hand is a tablet at work on its box through kills: what it did, what it was told, and what it does not know of yet.
type hand struct {
	box     block.BoxID
	ticket  string
	socket  int
	next    uint64
	waiting map[uint64]map[string]any // acts without an answer; a tablet sends them again
	heard   []told
	patient time.Duration // how long it waits for a frame; 0: as long as the tests
	most    int           // how many acts it does by one socket; 0: 40
	bye     frame         // what the last socket was closed with, if the program said anything
}

// connect comes back as a tablet does: hello, the welcome, and what had no answer once more. It is nil where the program
// is being killed.
func (h *hand) connect(name, at string) (*websocket.Conn, error) {
	conn, _, err := websocket.DefaultDialer.Dial(at, nil)
	if err != nil {
		return nil, err
	}
	hello := map[string]any{"kind": "hello", "proto": 1, "sitting": name, "box": h.box, "as": "work", "ticket": h.ticket}
	if err := conn.WriteJSON(hello); err != nil {
		return nil, err
	}
	h.socket++
	for {
		kind, err := h.hear(conn)
		if err != nil {
			return nil, err
		}
		if kind == "welcome" {
			break
		}
	}
	for act := uint64(1); act <= h.next; act++ {
		if again, is := h.waiting[act]; is {
			if err := conn.WriteJSON(again); err != nil {
				return nil, err
			}
		}
	}
	return conn, nil
}

// hear takes one frame and notes it down.
func (h *hand) hear(conn *websocket.Conn) (kind string, err error) {
	wait := frameWait
	if h.patient > 0 {
		wait = h.patient
	}
	_ = conn.SetReadDeadline(time.Now().Add(wait)) // a broken socket shows at once
	var f frame
	if err := conn.ReadJSON(&f); err != nil {
		return "", err
	}
	beat := false
	switch f.Kind {
	case "answer":
		beat = h.waiting[f.Act]["do"] == "beat"
		delete(h.waiting, f.Act)
		fallthrough
	case "welcome", "ring", "news":
		if f.Kind == "news" && (f.Away != nil || f.Asks != nil) {
			break // who is on the wire is no fact of the record
		}
		h.heard = append(h.heard, told{conn: h.socket, kind: f.Kind, epoch: f.Epoch, seq: f.Seq, act: f.Act, ending: f.Ending,
			early: f.Early, beat: beat, rung: f.Circuit != "", at: f.At})
	case "close":
		h.bye = f
		return "", fmt.Errorf("closed: %s", f.Why)
	}
	return f.Kind, nil
}

// work acts and listens until the socket breaks, with at most some acts under way and no more than a tablet may send.
func (h *hand) work(conn *websocket.Conn, chance *rand.Rand) {
	defer func() { _ = conn.Close() }()
	most := h.most
	if most == 0 {
		most = 40
	}
	for sent := 0; ; {
		for ; len(h.waiting) < 4 && sent < most; sent++ {
			h.next++
			act := map[string]any{"kind": "act", "act": h.next, "pressed": sitting.MillisOf(time.Now())}
			switch chance.IntN(4) {
			case 0:
				act["do"], act["words"] = "remark", fmt.Sprintf("remark %d", h.next)
			case 1:
				act["do"], act["section"], act["show"] = "turn", downMain, []string{"line_clear", "occupied", "normal"}[chance.IntN(3)]
			default:
				act["do"], act["circuit"] = "beat", bells
			}
			h.waiting[h.next] = act
			h.heard = append(h.heard, told{conn: h.socket, kind: "sent", act: h.next, beat: act["do"] == "beat"})
			if conn.WriteJSON(act) != nil {
				sent = most // what it was told last can still be read
			}
		}
		if _, err := h.hear(conn); err != nil {
			return
		}
	}
}

// keptIn reads a record whole. A torn end is none of it; damage is an error.
func keptIn(t *testing.T, file string) []block.Entry {
	t.Helper()
	text, err := osfile.ReadFile(file)
	require.NoError(t, err)
	in, err := register.NewReader(bytes.NewReader(text))
	require.NoError(t, err)
	var kept []block.Entry
	for e, err := range in.Entries() {
		require.NoError(t, err)
		kept = append(kept, e)
	}
	return kept
}

// The real program is killed with SIGKILL at random moments while both signallers ring, turn and write, and sometimes
// its last line is torn besides: five times, or as often as TAILLAMP_KILLS says; the full run is 1,000, a new evening
// every hundred. After each kill every fact that any tablet was told is in the record, once and in its place; the
// program, which steps its record again when it opens it, opens it; both tablets come back with their old tickets and
// send again what had no answer (C9, C10, Q13).
func TestToldFactsSurviveAKill(t *testing.T) {
	kills := 5
	if n, err := strconv.Atoi(osfile.Getenv("TAILLAMP_KILLS")); err == nil {
		kills = n
	}
	const evening = 100
	p := build(t)
	facts, acts, torn, slowest := 0, uint64(0), 0, time.Duration(0)
	for done := 0; done < kills; {
		p.dir = t.TempDir()
		p.start()
		name := p.sitting()
		file := filepath.Join(p.dir, name+".jsonl")
		site := fmt.Sprintf("127.0.0.1:%d/s/%s", p.port, name)
		var hands []*hand
		for _, box := range []block.BoxID{ullathwick, ossenwaite} {
			hands = append(hands, &hand{box: box, ticket: takeDuty(t, "http://"+site+"/duty/"+string(box)), waiting: make(map[uint64]map[string]any)})
		}
		chance := rand.New(rand.NewPCG(uint64(done), 10))
		for n := 0; n < evening && done < kills; n++ {
			done++
			ends := make(chan struct{}, len(hands))
			began := time.Now()
			for i, h := range hands {
				conn, err := h.connect(name, "ws://"+site+"/wire")
				require.NoError(t, err, "kill %d: %s comes back", done, h.box)
				mine := rand.New(rand.NewPCG(uint64(done), uint64(i)))
				go func() {
					h.work(conn, mine)
					ends <- struct{}{}
				}()
			}
			slowest = max(slowest, time.Since(began))
			pause(time.Duration(chance.IntN(120_000)) * time.Microsecond)
			p.kill()
			for range hands {
				<-ends
			}
			kept := keptIn(t, file)
			histories := make(map[block.BoxID][]told)
			for _, h := range hands {
				histories[h.box] = h.heard
			}
			require.Empty(t, disagreements(kept, histories), "kill %d", done)
			if chance.IntN(3) == 0 {
				tear(t, file, chance)
				torn++
			}
			if n == evening-1 || done == kills {
				facts += len(kept)
			} else {
				p.start()
			}
		}
		for _, h := range hands {
			acts += h.next
		}
	}
	t.Logf("%d kills, %d of them with a torn line: %d acts sent, %d facts kept, nothing lost, doubled or reordered; both tablets back %v after the program answered, at the longest",
		kills, torn, acts, facts, slowest.Round(time.Millisecond))
}

// tear puts the beginning of a line behind the last whole one, as a power cut in the middle of a write leaves it.
func tear(t *testing.T, file string, chance *rand.Rand) {
	t.Helper()
	text, err := osfile.ReadFile(file)
	require.NoError(t, err)
	lines := bytes.SplitAfter(text, []byte("\n"))
	line := lines[max(len(lines)-2, 0)]
	half := line[:1+chance.IntN(len(line)-2)]
	f, err := osfile.OpenFile(file, osfile.O_APPEND|osfile.O_WRONLY, 0)
	require.NoError(t, err)
	_, err = f.Write(half)
	require.NoError(t, err)
	require.NoError(t, f.Close())
}
