package web

import (
	"context"
	"errors"
	"net/http"
	"sync"
	"time"

	"github.com/gorilla/websocket"
	"golang.org/x/time/rate"

	"taillamp/block"
	"taillamp/sounds"
	"taillamp/web/sitting"
)

// The times of the wire.
const (
	helloWithin = 5 * time.Second         // from the opening of a socket to its first frame
	aliveEvery  = 2 * time.Second         // a sign of life, if nothing else was sent
	deadAfter   = 4500 * time.Millisecond // of silence, or of a frame that does not go out
	firstDelay  = 100                     // milliseconds that a bell sounds after the press, to begin with
)

// The codes that a socket is closed with.
const (
	closeBye       = 4000
	closeBadHello  = 4001
	closeTicket    = 4003
	closeSlow      = 4008
	closeTakenOver = 4009
	closeOver      = 4010
)

// forgiven is how many frames of no sense a tablet may send before its socket is closed.
const forgiven = 3

// answersWaiting is how many answers may lie before the writer; a tablet waits for its answers, so they are few.
const answersWaiting = 16

// hearing is one bell: where it stands, and of which circuit.
type hearing struct {
	box     block.BoxID
	circuit block.CircuitID
}

// voicesOf gives every bell of the district its voice, those wished for in the layout included.
func voicesOf(r *block.Rules) map[hearing]string {
	return voicesAmong(r, r.Layout().Settings.SameRoom, func(block.BoxID) bool { return true })
}

// voicesAmong gives voices to the bells of some boxes; in one room no two are alike, as far as the voices go.
func voicesAmong(r *block.Rules, sameRoom bool, among func(block.BoxID) bool) map[hearing]string {
	wishes := make(map[[2]block.BoxID]map[block.BoxID]string)
	for _, b := range r.Layout().Between {
		if len(b.Boxes) == 2 {
			wishes[[2]block.BoxID{b.Boxes[0], b.Boxes[1]}] = b.Hears
		}
	}
	var bells []hearing
	var instruments []sounds.Instrument
	for _, c := range r.Circuits() {
		for end, box := range c.Boxes {
			if !among(box) {
				continue
			}
			bells = append(bells, hearing{box, c.ID})
			instruments = append(instruments, sounds.Instrument{Box: string(box), Hears: string(c.Boxes[1-end]), Wish: wishes[c.Boxes][box]})
		}
	}
	voices := make(map[hearing]string, len(bells))
	for i, v := range sounds.Assign(instruments, sameRoom) {
		voices[bells[i]] = v
	}
	return voices
}

// tablet is one socket.
type tablet struct {
	s     *server
	conn  *websocket.Conn
	seat  sitting.Seat
	watch *sitting.Watch
	out   chan any      // answers on their way to the writer
	gone  chan struct{} // closed when the writer has ended
	began time.Time
	busy  sync.Mutex    // held by the reader from an act to its answer
	seq   uint64        // the last number sent; the writer's
	pace  *rate.Limiter // of its frames; the reader's
	bad   int           // frames of no sense so far; the reader's
}

// wire serves one tablet until its socket is closed.
func (s *server) wire(w http.ResponseWriter, r *http.Request) {
	up := websocket.Upgrader{ReadBufferSize: sitting.FrameLimit, WriteBufferSize: sitting.FrameLimit,
		Error: func(w http.ResponseWriter, r *http.Request, status int, reason error) {
			if status == http.StatusForbidden {
				s.turnedAway(r, "a page of another origin, at the wire")
			}
			http.Error(w, "The wire is for this program's own pages: "+reason.Error()+".", status)
		}}
	unplug, may := s.guard.plug(machineOf(r))
	if !may {
		http.Error(w, "Too many tablets are connected from here.", http.StatusTooManyRequests)
		s.turnedAway(r, "one tablet too many, at the wire")
		return
	}
	defer unplug()
	conn, err := up.Upgrade(w, r, nil) // a page of another origin is refused
	if err != nil {
		return // it has been answered
	}
	defer func() { _ = conn.Close() }() // nothing more can be lost by it
	conn.SetReadLimit(sitting.FrameLimit)
	t := &tablet{s: s, conn: conn, pace: rate.NewLimiter(rate.Limit(s.pace), int(framesMost*s.pace)), began: time.Now(),
		out: make(chan any, answersWaiting), gone: make(chan struct{})}
	if !t.hello(r) {
		return
	}
	if t.seat.As == sitting.Work {
		t.times()
		defer t.s.trips.forget(t.seat.Box)
	}
	go func() {
		defer close(t.gone)
		t.write()
	}()
	t.read(r.Context())
	t.watch.Close()
	<-t.gone
}

// hello takes the first frame and finds the tablet its seat.
func (t *tablet) hello(r *http.Request) bool {
	_ = t.conn.SetReadDeadline(time.Now().Add(helloWithin)) // a broken socket shows at the next read
	_, text, err := t.conn.ReadMessage()
	if err != nil {
		return false
	}
	f, err := sitting.Decode(text)
	switch {
	case err != nil || f.Kind != sitting.KindHello:
		t.bye(closeBadHello, "The first word on the wire must be hello.", false)
		return false
	case f.Proto != sitting.Protocol:
		t.bye(closeBadHello, "This page comes from another version of the program. Load it anew.", false)
		return false
	case f.Sitting != t.s.live.Name():
		t.bye(closeOver, "That sitting is not being worked here.", false)
		return false
	}
	t.seat = sitting.Seat{Box: f.Box, As: f.As}
	switch f.As {
	case sitting.Work:
		t.seat.Ticket = f.Ticket
		if f.Ticket == "" {
			t.seat.Ticket = t.s.kept(r, f.Box)
		}
	case sitting.BookLad, sitting.LooksOn, sitting.Visiting:
	case sitting.Instructs:
		if !t.s.instructs(r) {
			t.bye(closeTicket, "Only who has the owner's key watches as the instructor.", false)
			return false
		}
	default:
		t.bye(closeBadHello, "The wire knows work, book, watch, owner and visitor.", false)
		return false
	}
	t.watch, err = t.s.live.Watch(r.Context(), t.seat, f.Have)
	if err != nil {
		code, again := codeOf(err)
		if errors.Is(err, sitting.ErrWrongTicket) {
			t.s.turnedAway(r, "a tablet whose ticket is not that of "+string(f.Box))
		}
		t.bye(code, wordsOf(t.s.live.Rules(), err).words, again)
		return false
	}
	if outside(machineOf(r)) {
		t.watch.Far(r.Context())
	}
	return true
}

// codeOf is how a socket is closed for a reason, and whether the tablet is to come back.
func codeOf(why error) (code int, again bool) {
	switch {
	case errors.Is(why, sitting.ErrWrongTicket):
		return closeTicket, false
	case errors.Is(why, sitting.ErrSlow):
		return closeSlow, true
	case errors.Is(why, sitting.ErrTakenOver), errors.Is(why, sitting.ErrFreed), errors.Is(why, sitting.ErrRelieved):
		return closeTakenOver, false
	case errors.Is(why, sitting.ErrStopped), errors.Is(why, sitting.ErrLostRecord):
		return closeBye, true // it may be started again, or go on elsewhere
	}
	return closeOver, false
}

// read takes frames until the socket is closed or silent for too long.
func (t *tablet) read(ctx context.Context) {
	for {
		_ = t.conn.SetReadDeadline(time.Now().Add(deadAfter)) // a broken socket shows at the next read
		_, text, err := t.conn.ReadMessage()
		if err != nil {
			return
		}
		came := t.s.live.Now()
		f, err := sitting.Decode(text)
		if err != nil {
			f.Kind = ""
		}
		if !t.pace.Allow() {
			t.bad++
			if !t.say(sitting.Answered{Kind: sitting.KindAnswer, Act: f.Act, Ending: sitting.Impossible, Why: "too-fast",
				Words: "That was too much at once, and was not passed on."}) || t.bad >= forgiven {
				return
			}
			continue
		}
		if !t.take(ctx, f, came) {
			return
		}
	}
}

// take does what one frame asks. It is false when the socket is to be closed.
func (t *tablet) take(ctx context.Context, f sitting.FromTablet, came time.Time) bool {
	switch f.Kind {
	case sitting.KindAct:
		t.busy.Lock()
		defer t.busy.Unlock()
		a, known := t.act(ctx, f, came)
		return !known || t.say(a)
	case sitting.KindSync:
		return t.watch.Sync(ctx, f.Have) == nil
	case sitting.KindClock:
		return t.say(sitting.Clocks{Kind: sitting.KindClock, T0: f.T0, T1: sitting.MillisOf(came)})
	case sitting.KindAlive:
		return true
	case sitting.KindShows:
		err := t.s.live.Shows(ctx, t.seat, f.Shows)
		return err == nil || errors.Is(err, sitting.ErrWrongTicket) // nobody at work: it is nothing to anybody
	}
	t.bad++
	told := t.say(sitting.Answered{Kind: sitting.KindAnswer, Act: f.Act, Ending: sitting.Impossible, Why: "no-sense",
		Words: "The wire does not know that word."})
	return told && t.bad < forgiven
}

// act does one act and gives its answer. Where another process has the record now, or the disk failed and cannot be asked,
// nobody knows what came of the act: there is no answer, and the tablet asks again with the same number where and when the
// sitting goes on.
func (t *tablet) act(ctx context.Context, f sitting.FromTablet, came time.Time) (a sitting.Answered, known bool) {
	a = sitting.Answered{Kind: sitting.KindAnswer, Act: f.Act}
	e, err := f.Event()
	var got sitting.Answer
	if err == nil {
		e.At = came
		got, err = t.s.live.Act(ctx, t.seat, f.Act, e)
	}
	var unsure *sitting.UnsureError
	if errors.Is(err, sitting.ErrLostRecord) || errors.As(err, &unsure) {
		return a, false
	}
	if err != nil {
		w := wordsOf(t.s.live.Rules(), err)
		a.Ending, a.Why, a.Words = sitting.Impossible, w.why, w.words
		if errors.Is(err, sitting.ErrNotKept) || errors.Is(err, sitting.ErrBroken) {
			t.s.log.Error("the sitting has closed itself", "err", err)
		}
		return a, true
	}
	a.Seq, a.Ending, a.Why = got.Seq, got.Ending, string(got.Why)
	if got.Ending == block.Refused {
		a.Words = refusal(got.Why)
	}
	return a, true
}

// say puts an answer before the writer. It is false when he has ended.
func (t *tablet) say(frame any) bool {
	select {
	case t.out <- frame:
		return true
	case <-t.gone:
		return false
	}
}

// write sends news and answers until the watching ends, and then says why.
func (t *tablet) write() {
	alive := time.NewTicker(aliveEvery)
	defer alive.Stop()
	defer func() { _ = t.conn.Close() }() // so that the reader ends too
	quiet := true
	for {
		var frame any
		var news *sitting.News
		select {
		case n, ok := <-t.watch.News:
			if !ok {
				t.farewell()
				return
			}
			frame, news = t.frame(*n), n
		case frame = <-t.out:
		case <-alive.C:
			if t.seat.As == sitting.Work && !t.ping() {
				return
			}
			if !quiet {
				quiet = true
				continue
			}
			frame = sitting.SignOfLife{Kind: sitting.KindAlive, Seq: t.seq}
		}
		quiet = false
		if !t.send(frame) {
			return
		}
		t.carried(news)
	}
}

// carried tells who measures it how long a ring or a fact was on its way through the program: from the reading of the
// frame that asked for it until the frame that tells of it was handed to this tablet's socket.
func (t *tablet) carried(n *sitting.News) {
	if t.s.carried == nil || n == nil || n.Came.IsZero() || n.Beat && n.Ring == nil {
		return
	}
	t.s.carried(n.Beat, t.s.live.Now().Sub(n.Came))
}

// farewell sends the answers that still wait and says why this is the end.
func (t *tablet) farewell() {
	why := t.watch.Why()
	if errors.Is(why, context.Canceled) {
		return // the tablet went by itself
	}
	t.answers()
	t.busy.Lock() // an act that the end found under way has its answer too
	t.answers()
	t.busy.Unlock()
	code, again := codeOf(why)
	t.bye(code, wordsOf(t.s.live.Rules(), why).words, again)
}

// answers sends those that wait.
func (t *tablet) answers() {
	for {
		select {
		case frame := <-t.out:
			t.send(frame)
		default:
			return
		}
	}
}

// frame puts news into their frame.
func (t *tablet) frame(n sitting.News) any {
	if n.Present != nil {
		kind := sitting.KindPresent
		if t.seq == 0 {
			kind = sitting.KindWelcome
		}
		t.seq = n.Present.Seq
		return t.s.welcome(kind, t.seat.Box, n.Present)
	}
	if !n.Early {
		t.seq = n.Seq
	}
	if n.Beat {
		f := sitting.Rung{Kind: sitting.KindRing, Epoch: n.Epoch, Seq: n.Seq, Early: n.Early}
		if n.Ring != nil {
			f.Circuit, f.Pressed = n.Ring.Circuit, sitting.MillisOf(n.Ring.Pressed)
			f.Voice = t.s.voices[hearing{n.Ring.To, n.Ring.Circuit}]
		}
		if n.Press != nil {
			f.Sent, f.Pressed = n.Press.Circuit, n.Press.Pressed
		}
		return f
	}
	told := sitting.Told{Kind: sitting.KindNews, Epoch: n.Epoch, Seq: n.Seq, At: sitting.MillisOf(n.At), Changes: n.Changes,
		Lines: n.Lines, View: n.View, Notice: n.Notice, Door: n.Door, Fitted: n.Fitted, Phones: n.Phones, Clock: n.Time, Asks: n.Asks, Words: n.Words, Away: n.Away, Watched: n.Watched, Shows: n.Shows}
	if n.Fact == nil {
		return told
	}
	visit, err := t.s.visitedBy(n.Fact)
	if err != nil {
		t.s.log.Error("the visitors' screen could not be drawn", "err", err)
		return told
	}
	return struct {
		sitting.Told
		Visit *visited `json:"visit"`
	}{told, visit}
}

// welcome is the frame of the present; a page is drawn from it too.
func (s *server) welcome(kind string, box block.BoxID, p *sitting.Present) sitting.Welcome {
	w := sitting.Welcome{Kind: kind, Proto: sitting.Protocol, Program: s.prog, Epoch: p.Epoch, Seq: p.Seq, Acted: p.Acted,
		Now: sitting.MillisOf(s.live.Now()), Alive: int(aliveEvery.Milliseconds()), Delay: firstDelay,
		View: p.View, Book: p.Book, Notice: p.Notice, Door: p.Door, Clock: p.Time, Fitted: p.Fitted, Phones: p.Phones, Asks: p.Asks, Words: p.Words, Away: p.Away, Watched: p.Watched, Shows: p.Shows,
		Settings: sitting.SettingsOf(p.Settings), Missed: s.missedWords(box, p)}
	if err := s.live.Trouble(); err != nil {
		w.Trouble = wordsOf(s.live.Rules(), err).words
	}
	return w
}

// send writes one frame.
func (t *tablet) send(frame any) bool {
	if c, ok := frame.(sitting.Clocks); ok {
		c.T2 = sitting.MillisOf(t.s.live.Now())
		frame = c
	}
	text, err := sitting.Encode(frame)
	if err != nil {
		t.s.log.Error("a frame could not be written", "err", err)
		return false
	}
	_ = t.conn.SetWriteDeadline(time.Now().Add(deadAfter)) // a broken socket shows at the next write
	return t.conn.WriteMessage(websocket.TextMessage, text) == nil
}

// bye says the last word and closes the socket.
func (t *tablet) bye(code int, why string, again bool) {
	if !t.send(sitting.Closing{Kind: sitting.KindClose, Why: why, Again: again}) {
		return
	}
	end := websocket.FormatCloseMessage(code, "")
	_ = t.conn.WriteControl(websocket.CloseMessage, end, time.Now().Add(deadAfter)) // it may be gone already
}
